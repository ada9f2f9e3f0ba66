//! Common layouts, and the text that an engine file of one begins with.
//!
//! A layout is cylinders and banks alone. No dimension of any maker's engine is in it.

/// A layout of cylinders.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CylinderLayout {
    /// Its name in a command, e.g. `v8`.
    pub name: &'static str,
    /// What a person reads.
    pub title: &'static str,
    /// The banks, each with its cylinders from front to rear.
    pub banks: &'static [&'static [u32]],
}

/// The layouts that are offered. Numbering follows no maker: odd and even numbers on the two banks,
/// or one bank after the other (common practice, no source).
pub const LAYOUTS: &[CylinderLayout] = &[
    layout("single", "Single", &[&[1]]),
    layout("inline-2", "Inline 2", &[&[1, 2]]),
    layout("inline-3", "Inline 3", &[&[1, 2, 3]]),
    layout("inline-4", "Inline 4", &[&[1, 2, 3, 4]]),
    layout("inline-6", "Inline 6", &[&[1, 2, 3, 4, 5, 6]]),
    layout("flat-4", "Flat 4, odd and even", &[&[1, 3], &[2, 4]]),
    layout(
        "flat-4-by-bank",
        "Flat 4, bank by bank",
        &[&[1, 2], &[3, 4]],
    ),
    layout("flat-6", "Flat 6, odd and even", &[&[1, 3, 5], &[2, 4, 6]]),
    layout(
        "flat-6-by-bank",
        "Flat 6, bank by bank",
        &[&[1, 2, 3], &[4, 5, 6]],
    ),
    layout("v2", "V2", &[&[1], &[2]]),
    layout("v4", "V4, odd and even", &[&[1, 3], &[2, 4]]),
    layout("v4-by-bank", "V4, bank by bank", &[&[1, 2], &[3, 4]]),
    layout("v6", "V6, odd and even", &[&[1, 3, 5], &[2, 4, 6]]),
    layout("v6-by-bank", "V6, bank by bank", &[&[1, 2, 3], &[4, 5, 6]]),
    layout("v8", "V8, odd and even", &[&[1, 3, 5, 7], &[2, 4, 6, 8]]),
    layout(
        "v8-by-bank",
        "V8, bank by bank",
        &[&[1, 2, 3, 4], &[5, 6, 7, 8]],
    ),
    layout(
        "v12",
        "V12, odd and even",
        &[&[1, 3, 5, 7, 9, 11], &[2, 4, 6, 8, 10, 12]],
    ),
    layout(
        "v12-by-bank",
        "V12, bank by bank",
        &[&[1, 2, 3, 4, 5, 6], &[7, 8, 9, 10, 11, 12]],
    ),
];

const fn layout(
    name: &'static str,
    title: &'static str,
    banks: &'static [&'static [u32]],
) -> CylinderLayout {
    CylinderLayout { name, title, banks }
}

impl CylinderLayout {
    /// The layout of this name.
    #[must_use]
    pub fn named(name: &str) -> Option<&'static CylinderLayout> {
        LAYOUTS.iter().find(|layout| layout.name == name)
    }

    /// How many cylinders it has.
    #[must_use]
    pub fn cylinders(&self) -> u32 {
        self.banks
            .iter()
            .flat_map(|bank| bank.iter())
            .fold(0, |count, _| count.saturating_add(1))
    }
}

/// The text that an engine file begins with: cylinders and banks where a layout is chosen, and every
/// common key behind a `#`. `name` is the engine's, left out where it is empty; `metric` chooses the
/// units.
#[must_use]
pub fn template(layout: Option<&CylinderLayout>, name: &str, metric: bool) -> String {
    let units = if metric { "metric" } else { "inch" };
    let title = layout.map_or("Cylinders and banks", |layout| layout.title);
    let name = match name {
        "" => "# name = \"\"".to_owned(),
        name => format!("name = {}", toml_edit::Value::from(name)),
    };
    let cylinders = match layout {
        Some(layout) => {
            let banks: Vec<String> = layout
                .banks
                .iter()
                .map(|bank| format!("{bank:?}"))
                .collect();
            let count = layout.cylinders();
            format!("cylinders = {count}\nbanks = [{}]", banks.join(", "))
        }
        None => "# cylinders = 8\n# banks = [[1, 3, 5, 7], [2, 4, 6, 8]]".to_owned(),
    };
    let order: Vec<String> = (1..=layout.map_or(8, CylinderLayout::cylinders))
        .map(|one| one.to_string())
        .collect();
    let order = order.join(", ");
    let rest = if metric { in_mm(REST) } else { REST.to_owned() };
    format!(
        "# Engine file: every value with its unit. A line behind # does not count yet.\n\
         # {title}: no maker's dimensions.\n\
         \n\
         {name}\n\
         units = \"{units}\"\n\
         {cylinders}\n\
         # firing_order = [{order}]  # every cylinder once, as they fire\n\
         {rest}"
    )
}

/// The same keys with lengths in mm, their comments still in one column.
fn in_mm(keys: &str) -> String {
    let lines = keys.lines().map(|line| {
        let line = line.replace("\"0.000 in\"", "\"0.00 mm\" ");
        format!("{}\n", line.trim_end())
    });
    lines.collect()
}

/// The keys that are asked for, in the trade's order, each behind a `#`.
const REST: &str = r##"
# bore = "0.000 in"          # heads alone need no bore and no stroke
# stroke = "0.000 in"
# rod = "0.000 in"           # centre to centre
# block_height = "0.000 in"  # crank axis to deck

[gasket]
# bore = "0.000 in"          # diameter of the opening
# thickness = "0.000 in"     # compressed

[piston]
# compression_height = "0.000 in"  # pin axis to the flat
# crown = "0.0 cc"           # as its maker states it: dome positive, dish negative

[head]
# nominal_chamber = "0.0 cc" # what it should be

[targets]
# compression = 10.0
# deck = "0.000 in"          # below the deck is positive

[tolerances]
# chamber_spread = "0.0 cc"  # largest less smallest
# deck_spread = "0.000 in"
# compression_spread = 0.1
# least_chamber = "0.0 cc"   # each chamber; also most_chamber
# least_deck = "0.000 in"    # each cylinder; also most_deck
# most_compression = 11.0    # each cylinder; also least_compression
# least_quench = "0.000 in"
# most_quench = "0.000 in"

[card]
# customer = ""
# order = ""
# block = ""                 # what the block is marked with
# measured_by = ""           # initials
"##;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Engine;

    #[test]
    fn every_template_is_an_engine_file_with_its_layout_and_without_dimensions() {
        for layout in LAYOUTS {
            for metric in [false, true] {
                let text = template(Some(layout), "Bench \"1\"", metric);
                let engine = Engine::from_toml(&text).unwrap_or_else(|e| panic!("{text}\n{e}"));
                let banks: Vec<&[u32]> = engine.banks.iter().map(|b| &*b.cylinders).collect();
                assert_eq!(banks, layout.banks, "{}", layout.name);
                assert_eq!(engine.name, "Bench \"1\"");
                assert!(engine.bore.is_none() && engine.gasket.bore.is_none());
                assert!(engine.card.is_empty());
            }
        }
    }

    #[test]
    fn every_key_of_a_template_is_a_key_of_an_engine_file() {
        let text = template(CylinderLayout::named("v8"), "t", false);
        let live = text
            .replace(
                "# firing_order = [1, 2, 3]",
                "firing_order = [1, 8, 4, 3, 6, 5, 7, 2]",
            )
            .lines()
            .map(|line| match line.strip_prefix("# ") {
                Some(rest) if rest.contains(" = ") => format!("{rest}\n"),
                _ => format!("{line}\n"),
            })
            .collect::<String>();
        let faults = Engine::from_toml(&live).expect_err("zero is no bore");
        let unknown = |message: &str| message.contains("not known");
        assert!(
            faults.faults.iter().all(|f| !unknown(&f.message)),
            "{faults}"
        );
    }
}
