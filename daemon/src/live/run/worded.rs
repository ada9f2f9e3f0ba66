//! The question that a doubt raises: its facts are handed to the words' package.

use benchhand_blueprint::Spot;
use benchhand_words::spoken::{self, AskedAbout};

use super::Doubt;
use crate::known::expectation::far_off;

/// A question about a value as `shown`, with its answers; `parts` where the value may be two pours,
/// `typed` where a person typed it.
pub fn question(spot: &Spot, doubt: &Doubt, (shown, parts, typed): (&str, bool, bool)) -> String {
    let ask = |about: AskedAbout<'_>| spoken::question(spot, about);
    match doubt {
        Doubt::Far(expectation) => ask(AskedAbout::Far(&far_off(spot, shown, expectation), parts)),
        Doubt::Slip(doubt) => ask(AskedAbout::Slip(doubt)),
        Doubt::OneOrTwo(note) => ask(AskedAbout::OneOrTwo(&note.to_string())),
        Doubt::Handling(note) if note.asks_which_place() => {
            ask(AskedAbout::WhichPlace(shown, &note.to_string()))
        }
        Doubt::Handling(note) => ask(AskedAbout::Handling(shown, &note.to_string())),
        Doubt::OldZero(why) => ask(AskedAbout::OldZero(shown, why)),
        Doubt::Lost(note) => ask(AskedAbout::Lost(&note.to_string())),
        Doubt::WhichWay { from, to, unit } => ask(AskedAbout::WhichWay(*from, *to, unit.symbol())),
        Doubt::Meanwhile => ask(AskedAbout::Meanwhile(shown, typed)),
        Doubt::AskedBefore(why) => ask(AskedAbout::Before(shown, why)),
        Doubt::WhichAgain(_) => ask(AskedAbout::WhichAgain),
        Doubt::Earlier(reading) => ask(AskedAbout::Earlier(&reading.shown)),
        Doubt::BrokenOff(reading) => ask(AskedAbout::BrokenOff(&reading.shown)),
    }
}
