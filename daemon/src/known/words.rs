//! What a person at the bench hears: short, plain, the value first.
//!
//! Sentences are made here and only here, so that the voice, the page and the terminal agree.

use std::collections::BTreeMap;

use benchhand_blueprint::Spot;
use benchhand_drivers::{DecodeTrouble, SampleStatus};
use benchhand_wire::{AnswerWord, Refusal, SaidAs, TakenUp};
use jiff::SignedDuration;

use crate::capture::{CaptureNote, CapturedValue};
use crate::store::fact::{CheckedGauge, DECIMALS, PartsCut};
use crate::store::view::KeptReading;

/// A value with as many decimals as its resolution justifies.
pub fn number(value: f64, resolution: Option<f64>) -> String {
    let decimals = resolution.map_or(4, decimals_of);
    let number = format!("{value:.decimals$}");
    // Rounding can leave a minus sign before zero.
    match number.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|b| b == b'0' || b == b'.') => rest.to_owned(),
        _ => number,
    }
}

/// The decimals that a resolution justifies: 0.0005 → 4, 0.01 → 2, 5 → 0; at most 6.
pub fn decimals_of(resolution: f64) -> usize {
    if resolution.is_nan() || resolution <= 0.0 {
        return 4;
    }
    (0..=6)
        .find(|&d| {
            let scaled = resolution * 10f64.powi(d);
            (scaled - scaled.round()).abs() < 1e-6 * scaled.max(1.0) && scaled.round() >= 1.0
        })
        .unwrap_or(6) as usize
}

/// A reading that was taken: "deck/5/front 0.0182 in".
pub fn reading_taken(spot: &Spot, value: f64, unit: &str, resolution: Option<f64>) -> String {
    format!("{} {} {unit}", called(spot), number(value, resolution))
}

/// A kept reading's value as it is shown: "64.21 cc".
pub fn shown(kept: &KeptReading) -> String {
    format!(
        "{} {}",
        number(kept.value, step_of(&kept.labels)),
        kept.unit
    )
}

/// The smallest step worth showing of a reading: its gauge's count, or the last digit typed.
pub fn step_of(labels: &BTreeMap<String, String>) -> Option<f64> {
    let captured = labels
        .get(crate::store::fact::STEP)
        .and_then(|s| s.parse().ok());
    let typed = || {
        let decimals: i32 = labels.get(DECIMALS)?.parse().ok()?;
        Some(10f64.powi(-decimals))
    };
    captured.or_else(typed)
}

/// The spot as it is spoken: "deck 5 front".
pub fn called(spot: &Spot) -> String {
    spot.to_string().replace('/', " ")
}

/// Where to go next.
pub fn next(spot: &Spot) -> String {
    format!("next {}", called(spot))
}

/// What was taken and where to go next, in one line.
pub fn joined(taken: &str, next: Option<&str>) -> String {
    match next {
        Some(next) => format!("{taken}; {next}"),
        None => taken.to_owned(),
    }
}

/// A reading must be taken again.
pub fn again(spot: &Spot) -> String {
    format!("{} again", called(spot))
}

/// A held value was withdrawn.
pub fn withdrawn(spot: &Spot, why: &CaptureNote) -> String {
    format!("{} does not count: {why}; take it again", called(spot))
}

/// The journal refused: the value is not kept.
pub fn not_kept(refusal: &Refusal) -> String {
    format!("not kept: {refusal}")
}

/// A value came after the last stop.
pub fn beyond_the_route(taken: &CapturedValue) -> String {
    format!(
        "{} {} came when no stop of this gauge was next, and is not kept",
        number(taken.value, Some(taken.resolution)),
        taken.unit
    )
}

/// Two rounds disagree.
pub fn third_round(spot: &Spot, apart: &str) -> String {
    format!("{}: {apart}; a third round is asked for", called(spot))
}

/// From where to where a burette's level went, what is left in it, and whether that is enough for
/// the next spot.
pub fn burette(
    (from, to): (f64, f64),
    left: Option<f64>,
    holds: Option<f64>,
    next: Option<(&Spot, f64)>,
    taken: &CapturedValue,
) -> String {
    let n = |v: f64| number(v, Some(taken.resolution));
    let mut told = format!("from {} to {}", n(from), n(to));
    let Some(left) = left else { return told };
    told.push_str(&format!(", {left:.0} {} left", taken.unit));
    match (next, holds) {
        (Some((spot, wants)), Some(holds)) if wants > holds => told.push_str(&format!(
            ", {} takes about {wants:.0}: pour {holds:.0}, refill, {:.0} more",
            called(spot),
            wants - holds
        )),
        (Some((spot, wants)), _) if wants > left => {
            told.push_str(&format!(", refill before {}", called(spot)));
        }
        _ => {}
    }
    told
}

/// What went into a chamber so far, where more must come.
pub fn so_far(spot: &Spot, taken: &CapturedValue) -> String {
    format!(
        "{} {} {} so far",
        called(spot),
        number(taken.value, Some(taken.resolution)),
        taken.unit
    )
}

/// How long ago something was: "3 weeks ago".
pub fn ago(passed: SignedDuration) -> String {
    let hours = passed.as_hours();
    let (count, unit) = match hours {
        0..48 => (hours, "hour"),
        48..336 => (hours / 24, "day"),
        336..1680 => (hours / 168, "week"),
        _ => (hours / 730, "month"),
    };
    match count {
        1 => format!("1 {unit} ago"),
        _ => format!("{count} {unit}s ago"),
    }
}

/// The engine file was edited and cannot be used.
pub fn engine_not_used(why: &str) -> String {
    format!("engine.toml was edited and cannot be used, the engine last loaded still holds: {why}")
}

/// A route was taken up after more than a day.
pub fn taken_up(stood: &TakenUp) -> String {
    let kept = stood.kept.len();
    let next = stood.next.as_ref().map_or_else(String::new, |spot| {
        format!(", next {}", spot.replace('/', " "))
    });
    let changed = match stood.changed.as_slice() {
        [] => "nothing changed that was said here".to_owned(),
        changed => format!("since then: {}", changed.join("; ")),
    };
    format!("last reading {}: {kept} kept{next}; {changed}", stood.ago)
}

/// A cut, with the stage that it opened: "milled 1: 0.010 in off both heads (chamber)".
pub fn cut(cut: &PartsCut) -> String {
    let PartsCut {
        stage,
        what,
        changes,
        ..
    } = cut;
    match changes.is_empty() {
        true => format!("{stage}: {what}"),
        false => format!("{stage}: {what} (changes {})", changes.join(", ")),
    }
}

/// A check of a gauge: "dial was checked against 0.5 in: OK".
pub fn checked(check: &CheckedGauge) -> String {
    let verdict = match check.passed {
        Some(true) => ": OK",
        Some(false) => ": NOT OK",
        None => "",
    };
    format!(
        "{} was checked against {}{verdict}",
        check.gauge, check.against
    )
}

/// The route is done.
pub fn done(title: &str) -> String {
    format!("done: {title}")
}

/// The status that a gauge sends, in words.
pub fn status(status: SampleStatus) -> String {
    let said = [
        (status.overrange, "beyond its range"),
        (status.hold, "display on hold"),
        (status.low_battery, "battery low"),
        (status.fault, "fault"),
    ];
    said.iter()
        .filter(|(is, _)| *is)
        .map(|(_, word)| *word)
        .collect::<Vec<_>>()
        .join(", ")
}

/// Why bytes gave no value, in words.
pub fn trouble(trouble: &DecodeTrouble) -> String {
    match trouble {
        DecodeTrouble::Skipped { bytes } => format!("{bytes} bytes fit no frame"),
        DecodeTrouble::Checksum { computed, stated } => {
            format!("checksum {stated:#x} stated, {computed:#x} computed")
        }
        DecodeTrouble::Unreadable(why) => format!("unreadable: {why}"),
        DecodeTrouble::Refused(why) => format!("the gauge refused: {why}"),
        DecodeTrouble::NoAnswer => "no answer in time".to_owned(),
        DecodeTrouble::LateAnswer => "an answer that came too late was thrown away".to_owned(),
        DecodeTrouble::Withheld => "the first answer after a lost one was thrown away".to_owned(),
        DecodeTrouble::Parity { bytes } => format!("{bytes} bytes with wrong parity"),
    }
}

/// How a note is told: most are only worth knowing, some ask for another try.
pub fn note_tone(note: &CaptureNote) -> SaidAs {
    match note {
        CaptureNote::TooFast { .. } | CaptureNote::PassesDisagree { .. } => SaidAs::Again,
        _ => SaidAs::Note,
    }
}

/// The answers as a list: "keep, again, refill, or type the right value".
pub fn answers(words: &[AnswerWord]) -> String {
    // `type` comes last, since a person types a value there and not the word.
    let (typed, said): (Vec<_>, Vec<_>) = words.iter().partition(|w| **w == AnswerWord::Type);
    let all: Vec<String> = said.into_iter().chain(typed).map(answer).collect();
    match all.split_last() {
        Some((last, before)) if !before.is_empty() => format!("{}, or {last}", before.join(", ")),
        _ => all.concat(),
    }
}

/// The word of an answer, as a person types it.
fn answer(word: &AnswerWord) -> String {
    match word {
        AnswerWord::Keep => "keep",
        AnswerWord::Again => "again",
        AnswerWord::Type => "type the right value",
        AnswerWord::Split => "split",
        AnswerWord::Refill => "refill",
        AnswerWord::Delivered => "delivered",
        AnswerWord::Skip => "skip",
    }
    .to_owned()
}

/// The levels between which a pour went: " (from 25.0 to 45.8)"; empty where the value was no pour.
pub fn levels(taken: &CapturedValue) -> String {
    let n = |v: f64| number(v, Some(taken.resolution));
    let fills = taken.fills.iter();
    let fills: Vec<String> = fills
        .map(|(from, to)| format!("from {} to {}", n(*from), n(*to)))
        .collect();
    match fills.is_empty() {
        true => String::new(),
        false => format!(" ({})", fills.join(", then ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_is_said_with_the_decimals_of_its_gauge() {
        assert_eq!(number(64.2, Some(0.01)), "64.20");
        assert_eq!(number(0.0182, Some(0.0005)), "0.0182");
        assert_eq!(number(12.0, Some(5.0)), "12");
        assert_eq!(number(6974.5, Some(0.1)), "6974.5");
    }

    #[test]
    fn what_was_taken_comes_before_where_to_go() {
        let spot: Spot = "chamber/3".parse().unwrap();
        let said = joined(
            &reading_taken(&spot, 64.213, "cc", Some(0.01)),
            Some("next chamber 5"),
        );
        assert_eq!(said, "chamber 3 64.21 cc; next chamber 5");
    }
}
