//! Lifts and depths of spots in the units that a shop thinks in: `flow 2 intake 10.16mm` of an engine
//! in inches is `flow 2 intake 0.400 in`.

use benchhand_blueprint::Unit;
use benchhand_blueprint::engine::LengthUnits;

use crate::told::{ToldPart, ToldText};

/// How a spot writes a lift or a depth: behind a number, without a blank.
const IN_SPOTS: &str = "mm";

/// A text with the lifts and depths of its spots in an engine's unit. Sizes that stand apart from
/// their unit are in the unit that was chosen for them, and stay.
pub fn lifts_in(text: &str, units: LengthUnits) -> String {
    if units == LengthUnits::Metric {
        return text.to_owned();
    }
    let mut told = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once(IN_SPOTS) {
        let digits = |c: char| c.is_ascii_digit() || c == '.';
        let kept = before.trim_end_matches(digits);
        let number = &before[kept.len()..];
        let apart = after.starts_with(|c: char| c.is_alphanumeric());
        let part_of_a_word = kept.ends_with(|c: char| c.is_alphabetic() || c == '-');
        told.push_str(kept);
        match number.parse::<f64>() {
            Ok(mm) if of_a_spot(kept) && !apart && !part_of_a_word => told.push_str(&inches(mm)),
            _ => {
                told.push_str(number);
                told.push_str(IN_SPOTS);
            }
        }
        rest = after;
    }
    told.push_str(rest);
    told
}

/// Whether what stands before a number is a spot's: `flow/2/intake/`, `flow 2 intake `, `bore 3 `. Sizes
/// in what a person wrote stay as they were written.
fn of_a_spot(before: &str) -> bool {
    let words: Vec<&str> = before.split_whitespace().rev().take(4).collect();
    let named = |pair: &[&str]| {
        let family = pair[1].trim_start_matches(|c: char| !c.is_alphabetic());
        let family = family.to_lowercase();
        pair[0].parse::<u32>().is_ok() && ["flow", "bore"].contains(&family.as_str())
    };
    before.ends_with('/') || words.windows(2).any(named)
}

/// Thousandths, or ten thousandths where a length is none of the former.
fn inches(mm: f64) -> String {
    let inches = Unit::Inch.from_base(mm);
    let thou = (inches * 1e3).round() / 1e3;
    match (inches - thou).abs() < 2e-5 {
        true => format!("{thou:.3} in"),
        false => format!("{inches:.4} in"),
    }
}

/// What is told, with the lifts and depths of its spots in an engine's unit.
pub(crate) fn told_in(told: ToldText, units: LengthUnits) -> ToldText {
    if units == LengthUnits::Metric {
        return told;
    }
    let part = |part: ToldPart| match part {
        ToldPart::Title(title) => ToldPart::Title(lifts_in(&title, units)),
        ToldPart::Text(text) => ToldPart::Text(lifts_in(&text, units)),
        ToldPart::Table(mut table) => {
            for cell in table.rows.iter_mut().flatten() {
                *cell = lifts_in(cell, units);
            }
            ToldPart::Table(table)
        }
    };
    ToldText {
        parts: told.parts.into_iter().map(part).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lift_is_told_in_inches_of_an_engine_in_inches() {
        let inch = |text: &str| lifts_in(text, LengthUnits::Inch);
        assert_eq!(inch("flow 2 intake 10.16mm"), "flow 2 intake 0.400 in");
        assert_eq!(
            inch("flow/1/intake/2.54mm … flow/1/intake/10mm: not repeated"),
            "flow/1/intake/0.100 in … flow/1/intake/0.3937 in: not repeated"
        );
        for same in [
            "0.7 mm",
            "chamber 3",
            "mm",
            "m2.5mmx",
            "5720 mm2",
            "± 3 mm, 2mm2",
            "§mm",
            "a bubble of 3mm",
            "\"milled 0.25mm\"",
            "ring 25mm",
        ] {
            assert_eq!(inch(same), same);
        }
        let metric = "flow 2 intake 10mm";
        assert_eq!(lifts_in(metric, LengthUnits::Metric), metric);
    }
}
