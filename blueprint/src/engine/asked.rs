//! What is asked of a person who states an engine, in the trade's order. One job, and long.
//!
//! It also says how what is typed becomes a value of the engine file.
//!
//! The same list serves a form and a terminal. Neither is known here.

use super::text::EngineValue;
use crate::named::named_enum;
use crate::units::{Unit, parse_number, split_number, with_decimal_points};

named_enum! {
    /// The groups in which fields are asked, in order.
    FieldGroup {
        /// Name, units, cylinders.
        Layout = "Layout",
        /// Bore, stroke, rod, block.
        Block = "Block and crank",
        /// The gasket.
        Gasket = "Gasket",
        /// The pistons.
        Piston = "Pistons",
        /// The heads.
        Head = "Heads",
        /// What the engine should have.
        Target = "Target",
        /// The most that may differ.
        Tolerance = "Tolerances",
        /// What the tool has no figure for, and is measured within limits.
        Free = "Free spots",
        /// The job card.
        Card = "Job card",
    }
}

/// What may be typed into a field.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AskedKind {
    /// A text.
    Text,
    /// `inch` or `metric`.
    Units,
    /// How many.
    Whole,
    /// Banks of cylinders, parted by `/`.
    Banks,
    /// Cylinders in an order.
    Order,
    /// A length; its unit may be left out.
    Length,
    /// A volume; its unit may be left out.
    Volume,
    /// An area; its unit may be left out.
    Area,
    /// A plain number.
    Ratio,
    /// Names, parted by blanks.
    Names,
    /// Some of the cylinders, or `none`.
    Cylinders,
    /// One of these words, each with what a person reads.
    Word(&'static [(&'static str, &'static str)]),
}

/// One field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AskedField {
    /// The key in the engine file, with its section.
    pub key: std::borrow::Cow<'static, str>,
    /// Where it is asked.
    pub group: FieldGroup,
    /// What a person reads beside it.
    pub label: std::borrow::Cow<'static, str>,
    /// What helps; empty where the label says all.
    pub help: &'static str,
    /// What may be typed.
    pub kind: AskedKind,
}

const fn field(
    key: &'static str,
    group: FieldGroup,
    label: &'static str,
    help: &'static str,
    kind: AskedKind,
) -> AskedField {
    use std::borrow::Cow::Borrowed;
    AskedField {
        key: Borrowed(key),
        group,
        label: Borrowed(label),
        help,
        kind,
    }
}

use AskedKind::{
    Area, Banks, Cylinders, Length, Names, Order, Ratio, Text, Units, Volume, Whole, Word,
};
use FieldGroup::{Block, Card, Free, Gasket, Head, Layout, Piston, Target, Tolerance};

/// The units in which a flow bench's pressures are told.
const PRESSURES: &[(&str, &str)] = &[
    ("inH2O", "inH2O"),
    ("mmH2O", "mmH2O"),
    ("hPa", "hPa"),
    ("kPa", "kPa"),
    ("inHg", "inHg"),
];
/// The units in which flow is told.
const FLOWS: &[(&str, &str)] = &[
    ("cfm", "cfm"),
    ("L/min", "L/min"),
    ("L/s", "L/s"),
    ("m3/h", "m3/h"),
];

/// Every field, in the trade's order. The marks of the heads are asked by [`head_field`].
pub const ENGINE_FIELDS: &[AskedField] = &[
    field("name", Layout, "Name of the engine", "", Text),
    field("units", Layout, "Reports in", "", Units),
    field("cylinders", Layout, "Cylinders", "", Whole),
    field(
        "banks",
        Layout,
        "Cylinders of each bank",
        "Front to rear, banks parted by a slash: 1 3 5 7 / 2 4 6 8",
        Banks,
    ),
    field("firing_order", Layout, "Firing order", "", Order),
    field(
        "flow.pressure_unit",
        Layout,
        "Pressures on the flow bench in",
        "As its lengths are where empty.",
        Word(PRESSURES),
    ),
    field(
        "flow.flow_unit",
        Layout,
        "Flow in",
        "As its lengths are where empty.",
        Word(FLOWS),
    ),
    field(
        "bore",
        Block,
        "Bore",
        "Heads alone need neither bore nor stroke.",
        Length,
    ),
    field("stroke", Block, "Stroke", "", Length),
    field("rod", Block, "Rod length", "Centre to centre.", Length),
    field(
        "block_height",
        Block,
        "Block height",
        "Crank axis to deck.",
        Length,
    ),
    field("gasket.bore", Gasket, "Opening", "Its diameter.", Length),
    field(
        "gasket.thickness",
        Gasket,
        "Thickness",
        "Compressed.",
        Length,
    ),
    field(
        "piston.compression_height",
        Piston,
        "Compression height",
        "Pin axis to the flat.",
        Length,
    ),
    field(
        "piston.crown",
        Piston,
        "Dome or dish",
        "As its maker states it, until it is measured. Dome positive, dish and reliefs negative; many lists have it the other way round.",
        Volume,
    ),
    field(
        "piston.crevice",
        Piston,
        "Volume above the top ring",
        "Around the piston, from the ring up to the flat. It adds to the total at TDC; left empty, it is not counted.",
        Volume,
    ),
    field(
        "head.nominal_chamber",
        Head,
        "Chamber",
        "What it should be.",
        Volume,
    ),
    field(
        "head.opening_area",
        Head,
        "Area of a chamber's opening",
        "At the head's face. What milling takes off a chamber follows from it.",
        Area,
    ),
    field(
        "head.most_mill",
        Head,
        "Most that may be milled",
        "In all, by the head's maker.",
        Length,
    ),
    field("targets.compression", Target, "Compression", "", Ratio),
    field(
        "targets.deck",
        Target,
        "Deck",
        "Below the deck is positive.",
        Length,
    ),
    field(
        "tolerances.chamber_spread",
        Tolerance,
        "Chambers, largest less smallest",
        "",
        Volume,
    ),
    field(
        "tolerances.deck_spread",
        Tolerance,
        "Decks, largest less smallest",
        "",
        Length,
    ),
    field(
        "tolerances.compression_spread",
        Tolerance,
        "Compression, largest less smallest",
        "",
        Ratio,
    ),
    field(
        "tolerances.least_chamber",
        Tolerance,
        "Least chamber",
        "Of each.",
        Volume,
    ),
    field(
        "tolerances.most_chamber",
        Tolerance,
        "Most chamber",
        "Of each.",
        Volume,
    ),
    field(
        "tolerances.least_deck",
        Tolerance,
        "Least deck",
        "Below the deck is positive.",
        Length,
    ),
    field(
        "tolerances.most_deck",
        Tolerance,
        "Most deck",
        "Below the deck is positive.",
        Length,
    ),
    field(
        "tolerances.least_compression",
        Tolerance,
        "Least compression",
        "Of each cylinder.",
        Ratio,
    ),
    field(
        "tolerances.most_compression",
        Tolerance,
        "Most compression",
        "Of each cylinder.",
        Ratio,
    ),
    field(
        "tolerances.least_quench",
        Tolerance,
        "Least quench",
        "",
        Length,
    ),
    field(
        "tolerances.most_quench",
        Tolerance,
        "Most quench",
        "",
        Length,
    ),
    field("card.customer", Card, "Customer", "", Text),
    field("card.order", Card, "Order number", "", Text),
    field("card.block", Card, "Mark of the block", "", Text),
    field(
        "card.measured_by",
        Card,
        "Initials of who measures",
        "",
        Text,
    ),
];

/// The field for the mark of the head on a bank.
#[must_use]
pub fn head_field(bank: &str, only: bool) -> AskedField {
    let label = if only {
        "Mark of the head".to_owned()
    } else {
        format!("Mark of the head on bank {bank}")
    };
    AskedField {
        key: format!("card.heads.{bank}").into(),
        label: label.into(),
        ..field("", Card, "", "", Text)
    }
}

/// The fields of a free spot, by its name.
#[must_use]
pub fn free_fields(name: &str) -> Vec<AskedField> {
    let asked = [
        ("title", "what it is called", "", Text),
        (
            "unit",
            "unit",
            "What it is told in: in, mm, cc, g, psi … It says what is measured.",
            Text,
        ),
        (
            "at",
            "places at each cylinder",
            "Such as intake exhaust. Empty where there is one.",
            Names,
        ),
        (
            "cylinders",
            "which cylinders have it",
            "Such as 1 3 5, or none where it belongs to no cylinder. All of them where empty.",
            Cylinders,
        ),
        (
            "figure",
            "a length is positive",
            "",
            Word(&[
                ("above-zero", "above the gauge's zero, as a height"),
                ("below-zero", "below the gauge's zero, as a depth"),
            ]),
        ),
        (
            "part",
            "belongs to",
            "Heads that are exchanged take along what belongs to them.",
            Word(&[
                ("block", "the block, or what is in it"),
                ("head", "the head, as a spring's height"),
            ]),
        ),
        ("least", "least of each", "With its unit.", Text),
        ("most", "most of each", "With its unit.", Text),
        (
            "spread",
            "largest less smallest",
            "Over the cylinders, with its unit.",
            Text,
        ),
    ];
    let one = |(leaf, label, help, kind)| AskedField {
        key: format!("free.{name}.{leaf}").into(),
        label: format!("{name}: {label}").into(),
        ..field("", Free, "", help, kind)
    };
    asked.into_iter().map(one).collect()
}

/// The field that asks for the name of one more free spot.
#[must_use]
pub fn new_free_field() -> AskedField {
    field(
        NEW_FREE,
        Free,
        "Name of one more",
        "What is measured within limits of your own: spring_height, ring_gap, stem_height. Its unit and limits are asked then.",
        Text,
    )
}

/// The key of [`new_free_field`], which is none of an engine file.
pub const NEW_FREE: &str = "new-free-spot";

/// What was typed, which cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("found {found:?}, expected {expected}")]
pub struct AskedRefused {
    /// What was typed.
    pub found: String,
    /// What is expected instead.
    pub expected: &'static str,
}

impl AskedField {
    /// The units that the field is typed in, the engine's own first; empty where it has none.
    #[must_use]
    pub fn units(&self, metric: bool) -> &'static [Unit] {
        match (self.kind, metric) {
            (Length, false) => &[Unit::Inch, Unit::Millimetre],
            (Length, true) => &[Unit::Millimetre, Unit::Inch],
            (Volume, _) => &[Unit::CubicCentimetre, Unit::CubicInch],
            (Area, false) => &[Unit::SquareInch, Unit::SquareCentimetre],
            (Area, true) => &[Unit::SquareCentimetre, Unit::SquareInch],
            _ => &[],
        }
    }

    /// Whether a number is typed, which may have a decimal comma.
    fn takes_a_number(&self) -> bool {
        let limit = ["least", "most", "spread"];
        match self.kind {
            Ratio | Length | Volume | Area => true,
            Text => self.group == Free && limit.iter().any(|leaf| self.key.ends_with(leaf)),
            Units | Whole | Banks | Order | Names | Cylinders | Word(_) => false,
        }
    }

    /// The value that was typed, with the field's unit where the text has none; `None` where
    /// nothing was typed. A decimal comma counts as a point. Whether the value is possible is for the whole file to say.
    ///
    /// # Errors
    /// Where the text is no list of cylinders or no number, which the field needs.
    pub fn typed(
        &self,
        text: &str,
        unit: Option<Unit>,
    ) -> Result<Option<EngineValue>, AskedRefused> {
        let text = text.trim();
        let pointed = match self.takes_a_number() {
            true => with_decimal_points(text),
            false => text.to_owned(),
        };
        let text = pointed.as_str();
        let refused = |expected| AskedRefused {
            found: text.to_owned(),
            expected,
        };
        if text.is_empty() {
            return Ok(None);
        }
        Ok(Some(match self.kind {
            Text | Units => EngineValue::Text(text.to_owned()),
            Names => {
                let names = text.split(|c: char| c.is_whitespace() || c == ',');
                let names = names.filter(|name| !name.is_empty());
                EngineValue::Names(names.map(str::to_owned).collect())
            }
            Word(choices) => match choices.iter().any(|(word, _)| *word == text) {
                true => EngineValue::Text(text.to_owned()),
                false => return Err(refused("one of the words that are offered")),
            },
            Cylinders if text.eq_ignore_ascii_case("none") => EngineValue::Text("none".to_owned()),
            Cylinders => EngineValue::Wholes(
                cylinders(text).ok_or_else(|| refused("cylinders, such as 1 3 5, or none"))?,
            ),
            Whole => EngineValue::Whole(text.parse().map_err(|_| refused("a whole number"))?),
            Order => EngineValue::Wholes(
                cylinders(text).ok_or_else(|| refused("cylinders, such as 1 3 4 2"))?,
            ),
            Banks => banks(text).ok_or_else(|| refused("banks, such as 1 3 / 2 4"))?,
            Ratio => match parse_number(text) {
                Some(number) => EngineValue::Number(number),
                None if text.chars().any(|c| c == '±' || c == '+') => {
                    EngineValue::Text(with_unit(text, Unit::One))
                }
                None => return Err(refused("a plain number, such as 10.5")),
            },
            Length | Volume | Area => EngineValue::Text(match unit {
                Some(unit) => with_unit(text, unit),
                None => text.to_owned(),
            }),
        }))
    }
}

fn cylinders(text: &str) -> Option<Vec<u32>> {
    let words = text.split(|c: char| c.is_whitespace() || c == ',' || c == '-');
    let words = words.filter(|word| !word.is_empty());
    words.map(|word| word.parse().ok()).collect()
}

/// `1 3 / 2 4`, or with names `left 1 3 / right 2 4`.
fn banks(text: &str) -> Option<EngineValue> {
    let rows: Vec<&str> = text.split('/').map(str::trim).collect();
    if let Some(plain) = rows.iter().map(|row| cylinders(row)).collect() {
        return Some(EngineValue::Banks(plain));
    }
    let named = rows.iter().map(|row| {
        let (name, rest) = row.split_once(char::is_whitespace)?;
        Some((name.trim_end_matches(':').to_owned(), cylinders(rest)?))
    });
    named
        .collect::<Option<Vec<_>>>()
        .map(EngineValue::NamedBanks)
}

/// A value and its uncertainty, each with its unit.
fn with_unit(text: &str, unit: Unit) -> String {
    let signs = ["+-", "+/-", "±"];
    let found = signs
        .iter()
        .find_map(|sign| Some((text.split_once(sign)?, sign)));
    let one = |part: &str| match split_number(part.trim()) {
        (number, "") if !number.is_empty() => format!("{number} {unit}"),
        _ => part.trim().to_owned(),
    };
    // A sign alone in front of a number is part of the number.
    match found {
        Some(((value, u), _)) if !value.trim().is_empty() => {
            format!("{} +- {}", one(value), one(u))
        }
        _ => one(text),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::layout::{self, CylinderLayout};
    use crate::engine::text::EngineText;
    use crate::{Engine, engine::NominalFigures};

    fn asked(key: &str) -> &'static AskedField {
        let found = ENGINE_FIELDS.iter().find(|field| field.key == key);
        found.unwrap_or_else(|| panic!("no field {key}"))
    }

    fn typed(key: &str, text: &str, unit: Option<Unit>) -> EngineValue {
        let value = asked(key).typed(text, unit);
        value
            .unwrap_or_else(|e| panic!("{key}: {e}"))
            .expect("something was typed")
    }

    #[test]
    fn a_value_takes_the_fields_unit_unless_it_brings_its_own() {
        let text = |text: &str| EngineValue::Text(text.to_owned());
        let inch = Some(Unit::Inch);
        assert_eq!(typed("bore", "4.03", inch), text("4.03 in"));
        assert_eq!(typed("bore", "102.4 mm", inch), text("102.4 mm"));
        assert_eq!(
            typed("bore", "4.03 ± .0005", inch),
            text("4.03 in +- .0005 in")
        );
        assert_eq!(typed("targets.deck", "-0.005", inch), text("-0.005 in"));
        let named = vec![
            ("left".to_owned(), vec![1, 3]),
            ("right".to_owned(), vec![2, 4]),
        ];
        assert_eq!(
            typed("banks", "left 1 3 / right 2 4", None),
            EngineValue::NamedBanks(named)
        );
        assert_eq!(asked("rod").typed("  ", inch), Ok(None));
        let mm = Some(Unit::Millimetre);
        assert_eq!(typed("bore", "94,3", mm), text("94.3 mm"));
        assert_eq!(typed("bore", "94,3 ± 0,01", mm), text("94.3 mm +- 0.01 mm"));
        assert_eq!(
            typed("targets.compression", "10,5", None),
            EngineValue::Number(10.5)
        );
        assert_eq!(typed("name", "Four, 2,0", None), text("Four, 2,0"));
        let free = free_fields("spring_height");
        let leaf = |leaf: &str| {
            free.iter()
                .find(|one| one.key.ends_with(leaf))
                .expect("a field")
        };
        assert_eq!(
            leaf(".cylinders").typed("1, 3", None),
            Ok(Some(EngineValue::Wholes(vec![1, 3])))
        );
        assert_eq!(
            leaf(".cylinders").typed("None", None),
            Ok(Some(text("none")))
        );
        assert_eq!(
            leaf(".figure").typed("below-zero", None),
            Ok(Some(text("below-zero")))
        );
        assert!(leaf(".part").typed("gearbox", None).is_err());
        let spring = leaf(".least");
        assert_eq!(spring.typed("45,2 mm", None), Ok(Some(text("45.2 mm"))));
        assert!(asked("targets.compression").typed("ten", None).is_err());
    }

    /// Every field filled in over a template, read back, and typed once more.
    #[test]
    fn every_value_comes_back_as_it_was_typed() {
        let answers = [
            ("name", "Shop \"hot\" four"),
            ("units", "metric"),
            ("flow.pressure_unit", "inH2O"),
            ("flow.flow_unit", "cfm"),
            ("cylinders", "4"),
            ("banks", "1 3 / 2 4"),
            ("firing_order", "1 3 2 4"),
            ("bore", "94.3 mm"),
            ("stroke", "3.5 in"),
            ("rod", "150.2 mm"),
            ("block_height", "233 mm"),
            ("gasket.bore", "95.6 mm"),
            ("gasket.thickness", "1.1 mm"),
            ("piston.compression_height", "38 mm"),
            ("piston.crown", "-4.5 cc"),
            ("piston.crevice", "0.8 cc"),
            ("head.nominal_chamber", "52.5 cc +- 0.1 cc"),
            ("head.opening_area", "52 cm2 +- 0.5 cm2"),
            ("head.most_mill", "0.5 mm"),
            ("targets.compression", "10.75"),
            ("targets.deck", "0.1 mm"),
            ("tolerances.chamber_spread", "0.5 cc"),
            ("tolerances.deck_spread", "0.05 mm"),
            ("tolerances.compression_spread", "0.1"),
            ("tolerances.least_chamber", "52 cc"),
            ("tolerances.most_chamber", "53 cc"),
            ("tolerances.least_deck", "-0.1 mm"),
            ("tolerances.most_deck", "0.3 mm"),
            ("tolerances.least_compression", "10.6"),
            ("tolerances.most_compression", "10.9"),
            ("tolerances.least_quench", "0.9 mm"),
            ("tolerances.most_quench", "1.3 mm"),
            ("card.customer", "Ångström # 2"),
            ("card.order", "2041"),
            ("card.block", "B7"),
            ("card.measured_by", "x. y."),
        ];
        assert_eq!(answers.len(), ENGINE_FIELDS.len(), "every field is tried");
        let template = layout::template(CylinderLayout::named("flat-4"), "x", false);
        let mut file = EngineText::new(template.clone()).expect("TOML");
        for (key, text) in answers {
            file.set(key, Some(&typed(key, text, None)));
        }
        let head = head_field("1", false);
        file.set(
            &head.key,
            head.typed("L-12", None).expect("a text").as_ref(),
        );
        for (key, text) in answers {
            assert_eq!(
                file.value(key).map(|v| v.typed).as_deref(),
                Some(text),
                "{key}"
            );
        }
        let remarks = template.lines().filter_map(|line| line.split_once("  # "));
        for (_, remark) in remarks {
            assert!(file.as_str().contains(remark.trim()), "{remark:?} is gone");
        }
        let engine =
            Engine::from_toml(file.as_str()).unwrap_or_else(|e| panic!("{e}\n{}", file.as_str()));
        assert_eq!(engine.card.heads.get("1").map(String::as_str), Some("L-12"));
        assert_eq!(engine.card.customer.as_deref(), Some("Ångström # 2"));
        assert!(NominalFigures::of(&engine).compression.is_some());
    }
}
