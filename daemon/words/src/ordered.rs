//! What was ordered beside what came: in a sentence, in a table, and read from an order's sheet.

use benchhand_blueprint::Figure;
use benchhand_blueprint::decide::VerdictAnswer;
use benchhand_blueprint::report::{OrderedReport, OrderedSize};

use benchhand_wire::{OrderShown, PartOrdered};

use crate::day_and_minute;
use crate::sheet::PrintedFigure;
use crate::stated::{bare, both, half_width, sentence, unit_after};
use crate::told::{ToldTable, ToldText};

/// A size as it is typed and read from a sheet: its name, and values with their units.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TypedSize {
    /// `dome`, `dish`, `height`, `bore` or `skirt`.
    pub part: String,
    /// The value.
    pub value: String,
    /// The tolerance on either side; `None` where none is stated.
    pub tolerance: Option<String>,
}

/// The figures of an order: the name of each on the sheet, and its name in a command.
const ON_SHEET: [(&str, &str); 3] = [
    ("Bore", "bore"),
    ("Compression height", "height"),
    ("Skirt diameter", "skirt"),
];

/// The sizes that an order's sheet orders, read from its printed figures. An empty size is not
/// ordered. The ± behind a printed size says how well the size is known; it is no tolerance.
pub fn sizes_on(sheet: &[PrintedFigure]) -> Vec<TypedSize> {
    let text = |name: &str| {
        let found = sheet.iter().find(|one| one.name == name);
        found.map(|one| one.text.as_str())
    };
    let crown = text("shape")
        .zip(text("dome or dish"))
        .map(|(shape, volume)| TypedSize {
            part: match shape {
                "flat top" => "dome".to_owned(),
                shape => shape.to_owned(),
            },
            value: volume.to_owned(),
            tolerance: text("tolerance")
                .and_then(|told| told.strip_prefix("± "))
                .map(str::to_owned),
        });
    let others = ON_SHEET.iter().filter_map(|(name, part)| {
        let told = text(name)?;
        let (value, unit) = (told.split(" ±").next()?, told.rsplit(' ').next()?);
        Some(TypedSize {
            part: (*part).to_owned(),
            value: match value.ends_with(unit) {
                true => value.to_owned(),
                false => format!("{value} {unit}"),
            },
            tolerance: None,
        })
    });
    crown.into_iter().chain(others).collect()
}

/// What a size is called.
pub fn name(size: OrderedSize) -> &'static str {
    match size {
        OrderedSize::Crown => "dome or dish",
        OrderedSize::Height => "compression height",
        OrderedSize::Bore => "bore",
        OrderedSize::Skirt => "skirt",
        OrderedSize::Rod => "rod",
    }
}

/// A size with its unit: a dome or a dish by its word, without a sign.
fn told(size: OrderedSize, figure: &Figure, write: impl Fn(&Figure) -> String) -> String {
    match size {
        OrderedSize::Crown => {
            let shape = match figure.value {
                dish if dish < 0.0 => "dish ",
                dome if dome > 0.0 => "dome ",
                _ => "flat top ",
            };
            let size = Figure {
                value: figure.value.abs(),
                ..figure.clone()
            };
            format!("{shape}{}", write(&size))
        }
        _ => write(figure),
    }
}

/// What was ordered, with its tolerance: `dish 4.21 ± 0.12 cc`.
pub fn order_told(size: OrderedSize, ordered: &Figure, tolerance: Option<&Figure>) -> String {
    let with_tolerance = |figure: &Figure| match tolerance {
        None => bare(figure),
        Some(tolerance) => format!(
            "{} ± {}{}",
            crate::stated::plain(figure),
            crate::stated::plain(tolerance),
            unit_after(figure.unit)
        ),
    };
    told(size, ordered, with_tolerance)
}

/// A size by the words of the trade: `crown/3` is the dome or dish of cylinder 3.
fn size_named(name: &str) -> String {
    let (word, cylinder) = match name.split_once('/') {
        Some((word, cylinder)) => (word, format!(" of cylinder {cylinder}")),
        None => (name, String::new()),
    };
    let word = match word {
        "crown" => "dome or dish",
        other => other,
    };
    format!("{word}{cylinder}")
}

/// An order in a line: when, from whom, by whom, and what.
pub fn line(order: &OrderShown) -> String {
    let part = |one: &PartOrdered| match one.replaced {
        true => format!("{} (no longer)", one.told),
        false => one.told.clone(),
    };
    let mut told: Vec<String> = order.parts.iter().map(part).collect();
    let taken = order.taken_back.iter();
    told.extend(taken.map(|name| format!("taken back: {}", size_named(name))));
    let named = |before: &str, said: &Option<String>| {
        said.as_ref()
            .map_or(String::new(), |said| format!("{before}{said}"))
    };
    format!(
        "entry {}, {}{}{}{}: {}{}",
        order.id,
        day_and_minute(&order.at),
        named(", ordered on ", &order.on),
        named(" from ", &order.from),
        named(" by ", &order.by),
        told.join("; "),
        named(" – ", &order.note),
    )
}

/// A sentence that a part is not as it was ordered, with both sizes.
pub fn not_as_ordered(one: &OrderedReport) -> String {
    let ordered = order_told(one.size, &one.ordered, one.tolerance.as_ref());
    let measured = one.measured.as_ref();
    let measured = measured.map_or("not measured".to_owned(), |found| {
        told(one.size, found, sentence)
    });
    let off = one.difference.as_ref().map_or(String::new(), |off| {
        let more = match one.size {
            OrderedSize::Crown if off.value < 0.0 => "more dish, or less dome",
            OrderedSize::Crown => "more dome, or less dish",
            _ if off.value < 0.0 => "less",
            _ => "more",
        };
        let off = Figure::new(off.value.abs(), Some(0.0), off.unit);
        format!(": {} {more} than ordered", bare(&off))
    });
    format!("{measured}, ordered {ordered}{off}")
}

/// Whether a part is as it was ordered, in words.
pub fn judged(one: &OrderedReport) -> &'static str {
    match (one.answer, &one.measured, &one.tolerance) {
        (_, None, _) => "not measured yet",
        (_, _, None) => "no tolerance stated",
        (Some(VerdictAnswer::Within), ..) => "OK",
        (Some(VerdictAnswer::Outside), ..) => "NOT OK",
        _ if open_by_the_unstated(one) => "too close to call, with what nobody stated",
        _ => "too close to call",
    }
}

/// Whether the ± that is shown would tell, and only what nobody stated leaves it open.
fn open_by_the_unstated(one: &OrderedReport) -> bool {
    let (Some(off), Some(tolerance)) = (&one.difference, &one.tolerance) else {
        return false;
    };
    let Some(width) = half_width(off).filter(|_| off.assumed.is_some()) else {
        return false;
    };
    let (off, tolerance) = (off.value.abs(), tolerance.value);
    off + width < tolerance || off - width > tolerance
}

/// What was ordered beside what was measured since, as a table; `None` where nothing was ordered.
pub fn section(all: &[OrderedReport]) -> Option<ToldText> {
    if all.is_empty() {
        return None;
    }
    let mut table = ToldTable::new(&[
        "part",
        ">cylinder",
        ">ordered",
        ">measured",
        ">difference",
        "verdict",
    ]);
    for one in all {
        let measured = one.measured.as_ref();
        table.row(vec![
            name(one.size).to_owned(),
            one.cylinder.to_string(),
            order_told(one.size, &one.ordered, one.tolerance.as_ref()),
            measured.map_or("–".to_owned(), |found| told(one.size, found, sentence)),
            one.difference.as_ref().map_or("–".to_owned(), |off| {
                let sign = if off.value > 0.0 { "+" } else { "" };
                format!("{sign}{}{}", both(off), unit_after(off.unit))
            }),
            judged(one).to_owned(),
        ]);
    }
    let mut section = ToldText::titled("Ordered and measured since");
    section += table;
    section.wrapped(
        "  ",
        "The ± of what was ordered is its tolerance; the ± of what was measured covers 95 %. \
         Differences are measured less ordered, with a dome positive and a dish negative.",
    );
    Some(section)
}

#[cfg(test)]
mod tests {
    use benchhand_blueprint::Unit;

    use super::*;

    fn printed(name: &str, text: &str) -> PrintedFigure {
        PrintedFigure {
            name: name.to_owned(),
            text: text.to_owned(),
        }
    }

    #[test]
    fn what_a_sheet_orders_is_what_it_prints() {
        let sheet = [
            printed("shape", "dish"),
            printed("dome or dish", "4.21 cc"),
            printed("tolerance", "± 0.12 cc"),
            printed("Bore", "4.0304 ± 0.0002 in"),
            printed("Compression height", "1.2030 in"),
            printed("Stroke", "3.4800 in"),
        ];
        let sizes = sizes_on(&sheet);
        let told: Vec<_> = sizes
            .iter()
            .map(|one| (&*one.part, &*one.value, one.tolerance.as_deref()))
            .collect();
        assert_eq!(
            told,
            [
                ("dish", "4.21 cc", Some("0.12 cc")),
                ("bore", "4.0304 in", None),
                ("height", "1.2030 in", None),
            ]
        );
        let none = [
            printed("shape", "dish"),
            printed("dome or dish", "4.21 cc"),
            printed("tolerance", "none stated"),
        ];
        assert_eq!(sizes_on(&none)[0].tolerance, None);
        assert!(sizes_on(&[]).is_empty());
    }

    /// What nobody stated is named only where it is what leaves the verdict open.
    #[test]
    fn what_nobody_stated_is_named_where_the_shown_width_alone_would_tell() {
        let cc = |value: f64, u: f64| Figure::new(value, Some(u), Unit::CubicCentimetre);
        let of = |off: f64, known: f64| {
            let difference = Figure {
                u: None,
                u_known: Some(known),
                assumed: Some(0.3),
                ..cc(off, 0.0)
            };
            OrderedReport {
                size: OrderedSize::Crown,
                cylinder: 1,
                ordered: cc(-4.0, 0.0),
                tolerance: Some(cc(0.2, 0.0)),
                measured: Some(cc(-4.0 + off, known)),
                difference: Some(difference),
                answer: Some(VerdictAnswer::CannotTell),
            }
        };
        assert_eq!(
            judged(&of(0.05, 0.01)),
            "too close to call, with what nobody stated"
        );
        assert_eq!(judged(&of(0.19, 0.05)), "too close to call");
    }

    #[test]
    fn a_dish_that_is_too_deep_is_told_without_signs() {
        let cc = |value: f64, u: f64| Figure::new(value, Some(u), Unit::CubicCentimetre);
        let one = OrderedReport {
            size: OrderedSize::Crown,
            cylinder: 3,
            ordered: cc(-4.21, 0.0),
            tolerance: Some(cc(0.12, 0.0)),
            measured: Some(cc(-4.62, 0.02)),
            difference: Some(cc(-0.41, 0.02)),
            answer: Some(VerdictAnswer::Outside),
        };
        assert_eq!(
            not_as_ordered(&one),
            "dish 4.620 ± 0.040 cc, ordered dish 4.21 ± 0.12 cc: 0.41 cc more dish, or less dome than ordered"
        );
        let text = section(&[one]).expect("a section").text();
        assert!(
            text.contains("NOT OK") && text.contains("-0.410 ± 0.040 cc"),
            "{text}"
        );
    }
}
