//! The questions to a person at the bench, in words.

use benchhand_blueprint::Spot;

use super::Doubt;
use crate::known::expectation::far_off;
use crate::known::words::called;

/// A question about a value as `shown`, with its answers; `parts` where the value may be two pours.
pub fn question(spot: &Spot, doubt: &Doubt, (shown, parts): (&str, bool)) -> String {
    let at = called(spot);
    match doubt {
        Doubt::Far(expectation) => {
            let split = if parts { " split for two," } else { "" };
            format!(
                "{}: keep,{split} again, or type it?",
                far_off(spot, shown, expectation)
            )
        }
        Doubt::Slip(doubt) => format!("{doubt}: keep, or type it anew?"),
        Doubt::OneOrTwo(note) => format!("{at}: {note} keep for one, split for two"),
        Doubt::Handling(note) => {
            let note = note.to_string();
            let end = if note.ends_with('?') { "" } else { "." };
            format!("{at}: {shown}, but {note}{end} keep, again, or type it?")
        }
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
