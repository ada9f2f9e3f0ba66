//! What a person at the bench is asked, and how it may be answered.

use benchhand_blueprint::Spot;
use benchhand_blueprint::Unit;
use benchhand_wire::AnswerWord;

use super::{called, number};
use crate::capture::Taken;
use crate::live::expectation::{self, Expectation};
use crate::live::run::Doubt;

/// A value that lies far from what was expected.
pub fn far_off(spot: &Spot, shown: &str, expectation: &Expectation) -> String {
    format!(
        "{}: {shown}, expected {}",
        called(spot),
        expected(expectation)
    )
}

/// A question about a value, with its answers.
pub fn question(spot: &Spot, doubt: &Doubt, shown: &str) -> String {
    let at = called(spot);
    match doubt {
        Doubt::Far(expectation) => format!(
            "{}: keep, again, or type it?",
            far_off(spot, shown, expectation)
        ),
        Doubt::Slip(doubt) => format!("{doubt}: keep, or type it anew?"),
        Doubt::OneOrTwo(note) => format!("{at}: {note} keep for one, split for two"),
        Doubt::Handling(note) => format!("{at}: {shown}, but {note}. keep, again, or type it?"),
        Doubt::OldZero(why) => {
            format!("{at}: {shown}, but {why}. zero it, or keep for the old zero, or again?")
        }
        Doubt::Lost(note) => format!("{at}: {note}. again, type it, or skip?"),
        Doubt::WhichWay { from, to, unit } => format!(
            "{at}: the burette went from {from:.2} to {to:.2} {unit}. Was that a refill, or was it delivered?"
        ),
        Doubt::Meanwhile => {
            format!("{at}: {shown} was poured meanwhile: keep it here, skip to the next, or again?")
        }
        Doubt::WhichAgain(_) => format!(
            "is {at} meant, the last reading? again measures it anew, keep leaves it as it is"
        ),
        Doubt::Earlier(reading) => format!(
            "{at}: {} was kept, and later ones disagree: keep, or again?",
            reading.shown
        ),
        Doubt::BrokenOff(reading) => format!(
            "{at}: {} was still open when the work was broken off: keep, or again?",
            reading.shown
        ),
    }
}

/// The answers as a list: "keep, again, refill, or type the right value".
pub fn answers(words: &[AnswerWord]) -> String {
    // What is typed comes last, as it is no word.
    let (typed, said): (Vec<_>, Vec<_>) = words.iter().partition(|w| **w == AnswerWord::Type);
    let all: Vec<String> = said.into_iter().chain(typed).map(answer).collect();
    match all.split_last() {
        Some((last, before)) if !before.is_empty() => format!("{}, or {last}", before.join(", ")),
        _ => all.concat(),
    }
}

/// An answer's word, as it is typed.
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

/// What was expected, and why: "about 46.0 cc as the others".
fn expected(expectation: &Expectation) -> String {
    let why = match expectation.source {
        expectation::Source::EarlierRound => "as in the round before".to_owned(),
        expectation::Source::Fellows { count: 1 } => "as the other".to_owned(),
        expectation::Source::Fellows { .. } => "as the others".to_owned(),
        expectation::Source::Parts => "from the parts".to_owned(),
        expectation::Source::BeforeCut => "from before the cut".to_owned(),
        expectation::Source::Nominal => "as the engine file says".to_owned(),
    };
    let unit = expectation.unit;
    let middle = unit.from_base(expectation.expected.middle);
    let decimals = match unit {
        Unit::Inch => 3,
        Unit::Millimetre => 2,
        _ => 1,
    };
    format!("about {middle:.decimals$} {} {why}", unit.symbol())
}

/// Between which levels a pour went: " (from 25.0 to 45.8)"; empty where it was none.
pub fn levels(taken: &Taken) -> String {
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
