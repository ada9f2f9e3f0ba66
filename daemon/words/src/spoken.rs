//! What a person hears at the gauges: short, plain, the value first. The voice, the page and the
//! terminal say it in the same words.

mod anew;
mod in_unit;

use benchhand_blueprint::units::QuantityKind;
use benchhand_blueprint::{Spot, Unit};
use benchhand_wire::{AnswerWord, CapturePhase, TakenUp};

pub use anew::{again, called, no_third_round, not_kept, third_round, withdrawn};
pub use in_unit::{difference_in_unit, in_unit};

/// A value with as many decimals as its resolution justifies.
pub fn number(value: f64, resolution: Option<f64>) -> String {
    let decimals = resolution.map_or(4, decimals_of);
    crate::digits::rounded(value, i32::try_from(decimals).unwrap_or(4))
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

/// A reading that was taken: "chamber 3 64.21 cc", "deck 5 front 8.5 thou in the hole".
pub fn reading_taken(spot: &Spot, value: f64, unit: &str, resolution: Option<f64>) -> String {
    let said = match spot {
        Spot::Deck { .. } => deck(value, unit, resolution),
        _ => format!("{} {unit}", number(value, resolution)),
    };
    format!("{} {said}", called(spot))
}

/// A deck clearance as it is spoken: below the deck the piston is in the hole, above it out of the
/// hole.
fn deck(value: f64, unit: &str, resolution: Option<f64>) -> String {
    let (value, unit, resolution) = match unit.parse::<Unit>() {
        Ok(Unit::Inch) => (1e3 * value, "thou", resolution.map(|step| 1e3 * step)),
        _ => (value, unit, resolution),
    };
    let far = number(value.abs(), resolution.or(Some(0.1)));
    let level = far.chars().all(|c| matches!(c, '0' | '.'));
    match value > 0.0 {
        _ if level => "level with the deck".to_owned(),
        true => format!("{far} {unit} in the hole"),
        false => format!("{far} {unit} out of the hole"),
    }
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

/// A value as the gauge showed it: how large, in which unit, to which step.
#[derive(Debug, Clone, Copy)]
pub struct ShownValue<'a> {
    /// The value.
    pub value: f64,
    /// Its unit's symbol.
    pub unit: &'a str,
    /// The smallest step worth showing.
    pub step: f64,
}

impl ShownValue<'_> {
    fn number(&self, value: f64) -> String {
        number(value, Some(self.step))
    }

    /// The same in another unit of its kind.
    #[must_use]
    pub fn told_in(self, wanted: Option<Unit>) -> Self {
        let (value, unit, step) = in_unit(self.value, self.unit, Some(self.step), wanted);
        ShownValue {
            value,
            unit,
            step: step.unwrap_or(self.step),
        }
    }

    /// `64.21 cc`.
    fn whole(&self) -> String {
        format!("{} {}", self.number(self.value), self.unit)
    }
}

/// A value came after the last stop.
pub fn beyond_the_route(taken: ShownValue<'_>) -> String {
    format!(
        "{} came when no stop of this gauge was next, and is not kept",
        taken.whole()
    )
}

/// From where to where a burette's level went in each filling, what is left in it, and whether that
/// is enough for the next spot.
pub fn burette(
    fills: &[(f64, f64)],
    left: Option<f64>,
    holds: Option<f64>,
    next: Option<(&Spot, f64)>,
    taken: ShownValue<'_>,
) -> String {
    let fills = fills.iter();
    let fills =
        fills.map(|(from, to)| format!("from {} to {}", taken.number(*from), taken.number(*to)));
    let mut told = fills.collect::<Vec<_>>().join(", then ");
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
pub fn so_far(spot: &Spot, taken: ShownValue<'_>) -> String {
    format!("{} {} so far", called(spot), taken.whole())
}

/// The levels between which a pour went: " (from 25.0 to 45.8)"; empty where the value was no pour.
pub fn levels(fills: &[(f64, f64)], step: f64) -> String {
    let n = |v: f64| number(v, Some(step));
    let fills = fills.iter();
    let fills: Vec<String> = fills
        .map(|(from, to)| format!("from {} to {}", n(*from), n(*to)))
        .collect();
    match fills.is_empty() {
        true => String::new(),
        false => format!(" ({})", fills.join(", then ")),
    }
}

/// How long ago something was, from whole hours: "3 weeks ago".
pub fn ago(hours: i64) -> String {
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

/// A cut, with the stage that it opened: "milled 1: 0.010 in off both heads (changes chamber)".
pub fn cut(stage: &str, what: &str, changes: &[String], cylinders: &[u32]) -> String {
    match changes.is_empty() {
        true => format!("{stage}: {what}"),
        false => format!("{stage}: {what} (changes {})", changed(changes, cylinders)),
    }
}

/// What a cut changed, and at which cylinders alone: "chamber, port of cylinders 3, 5".
pub fn changed(changes: &[String], cylinders: &[u32]) -> String {
    let all: Vec<String> = cylinders.iter().map(u32::to_string).collect();
    let of = match all.len() {
        0 => String::new(),
        1 => format!(" of cylinder {}", all.concat()),
        _ => format!(" of cylinders {}", all.join(", ")),
    };
    format!("{}{of}", changes.join(", "))
}

/// A check of a gauge: "dial was checked against 0.5 in: OK".
pub fn checked(gauge: &str, against: &str, passed: Option<bool>) -> String {
    let verdict = match passed {
        Some(true) => ": OK",
        Some(false) => ": NOT OK",
        None => "",
    };
    format!("{gauge} was checked against {against}{verdict}")
}

/// The route is done.
pub fn done(title: &str) -> String {
    format!("done: {title}")
}

/// The state of a gauge in a word that is read from across the room.
pub fn phase(phase: CapturePhase) -> &'static str {
    match phase {
        CapturePhase::Idle => "not in use",
        CapturePhase::Waiting => "ready",
        CapturePhase::Moving => "moving",
        CapturePhase::Delivering => "pouring",
        CapturePhase::Refilling => "refilling",
        CapturePhase::Still => "settling",
        CapturePhase::Held => "got it",
        CapturePhase::Away => "not touching",
        CapturePhase::Paused => "on hold",
    }
}

/// The answers as a list: "keep, again, refill, or type the right value".
pub fn answers(words: &[AnswerWord]) -> String {
    // `type` comes last, since a person types a value there and not the word.
    let (typed, said): (Vec<_>, Vec<_>) = words.iter().partition(|w| **w == AnswerWord::Type);
    let all: Vec<&str> = said.into_iter().chain(typed).map(answer).collect();
    match all.split_last() {
        Some((last, before)) if !before.is_empty() => format!("{}, or {last}", before.join(", ")),
        _ => all.concat(),
    }
}

/// The word of an answer, as a person types it.
fn answer(word: &AnswerWord) -> &'static str {
    match word {
        AnswerWord::Keep => "keep",
        AnswerWord::Again => "again",
        AnswerWord::Type => "type the right value",
        AnswerWord::Split => "split",
        AnswerWord::Refill => "refill",
        AnswerWord::Delivered => "delivered",
        AnswerWord::Skip => "skip",
    }
}

/// What a question at a stop is about, with what it shows.
#[derive(Debug, Clone, Copy)]
pub enum AskedAbout<'a> {
    /// The value is far from what was expected, in words; whether it may be two pours.
    Far(&'a str, bool),
    /// The value looks like a slip, in words that end with what was perhaps meant and `?`.
    Slip(&'a str),
    /// One pour with a rest in it, or two; in words.
    OneOrTwo(&'a str),
    /// A value as shown, and what is odd about how it came.
    Handling(&'a str, &'a str),
    /// A value as shown, and why nobody knows at which place it was taken.
    WhichPlace(&'a str, &'a str),
    /// A value as shown, and why the gauge's zero is old.
    OldZero(&'a str, &'a str),
    /// A value was lost, in words.
    Lost(&'a str),
    /// From which level to which a burette went, and its unit.
    WhichWay(f64, f64, &'a str),
    /// A value as shown that came while another question was open.
    Meanwhile(&'a str, bool),
    /// A value as shown that was asked about when the work was broken off, and why.
    Before(&'a str, &'a str),
    /// Which reading `again` means.
    WhichAgain,
    /// A value as shown with which later ones disagree.
    Earlier(&'a str),
    /// A value as shown that was still open when the work was broken off.
    BrokenOff(&'a str),
}

/// Whether a value as shown is an amount of liquid.
fn is_poured(shown: &str) -> bool {
    let unit = shown
        .rsplit(' ')
        .next()
        .and_then(|unit| unit.parse::<Unit>().ok());
    unit.is_some_and(|unit| matches!(unit.kind(), QuantityKind::Volume | QuantityKind::Mass))
}

/// A question to the person at a stop, with its answers.
pub fn question(spot: &Spot, about: AskedAbout<'_>) -> String {
    let at = called(spot);
    match about {
        AskedAbout::Far(far, parts) => {
            let split = if parts { " split for two," } else { "" };
            format!("{far}: keep,{split} again, or type it?")
        }
        AskedAbout::Slip(doubt) => format!("{doubt} keep, or type it anew?"),
        AskedAbout::OneOrTwo(note) => format!("{at}: {note} keep for one, split for two"),
        AskedAbout::Handling(shown, note) => {
            let end = if note.ends_with('?') { "" } else { "." };
            format!("{at}: {shown}, but {note}{end} keep, again, or type it?")
        }
        AskedAbout::Before(shown, why) => {
            let why = why.trim_end_matches(['?', '.', ':']);
            format!(
                "{at}: {shown}, asked about before the work was broken off: {why}. keep for {at}, skip for the next one, again, or type it?"
            )
        }
        AskedAbout::WhichPlace(shown, note) => format!(
            "{at}: {shown}, but {note} keep for {at}, skip for the next one, go to another, again, or type it?"
        ),
        AskedAbout::OldZero(shown, why) => {
            format!("{at}: {shown}, but {why}. zero it, or keep for the old zero, or again?")
        }
        AskedAbout::Lost(note) => format!("{at}: {note}. again, type it, or skip?"),
        AskedAbout::WhichWay(from, to, unit) => format!(
            "{at}: the burette went from {from:.2} to {to:.2} {unit}. Was that a refill, or was it delivered?"
        ),
        AskedAbout::Meanwhile(shown, typed) => {
            let came = match typed {
                true => "was typed",
                false if is_poured(shown) => "was poured",
                false => "came",
            };
            format!("{at}: {shown} {came} meanwhile: keep it here, skip to the next, or again?")
        }
        AskedAbout::WhichAgain => format!(
            "is {at} meant, the last reading? again measures it anew, keep leaves it as it is"
        ),
        AskedAbout::Earlier(shown) => {
            format!("{at}: {shown} was kept, and later ones disagree: keep, or again?")
        }
        AskedAbout::BrokenOff(shown) => {
            format!("{at}: {shown} was still open when the work was broken off: keep, or again?")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spot(text: &str) -> Spot {
        text.parse().expect("a spot")
    }

    #[test]
    fn a_value_is_said_with_the_decimals_of_its_gauge() {
        assert_eq!(number(64.2, Some(0.01)), "64.20");
        assert_eq!(number(0.0182, Some(0.0005)), "0.0182");
        assert_eq!(number(12.0, Some(5.0)), "12");
        assert_eq!(number(6974.5, Some(0.1)), "6974.5");
        assert_eq!(number(-0.000_01, Some(0.01)), "0.00");
    }

    #[test]
    fn what_was_taken_comes_before_where_to_go() {
        let said = joined(
            &reading_taken(&spot("chamber/3"), 64.213, "cc", Some(0.01)),
            Some("next chamber 5"),
        );
        assert_eq!(said, "chamber 3 64.21 cc; next chamber 5");
    }

    #[test]
    fn a_deck_is_spoken_in_or_out_of_the_hole() {
        let deck = |value, unit, step| reading_taken(&spot("deck/5/front"), value, unit, step);
        assert_eq!(
            deck(0.0085, "in", Some(0.0005)),
            "deck 5 front 8.5 thou in the hole"
        );
        assert_eq!(
            deck(-0.003, "in", Some(0.001)),
            "deck 5 front 3 thou out of the hole"
        );
        assert_eq!(
            deck(0.22, "mm", Some(0.01)),
            "deck 5 front 0.22 mm in the hole"
        );
        assert_eq!(
            deck(-0.0001, "in", Some(0.001)),
            "deck 5 front level with the deck"
        );
    }
}
