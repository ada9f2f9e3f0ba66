//! Spots as a builder says them: "chamber 6", "deck 3 front".

use crate::rows::numbers;

/// The part of an engine that a spot is about: `chamber`.
pub(super) fn part(spot: &str) -> &str {
    spot.split('/').next().unwrap_or(spot)
}

/// The cylinder of a spot; `None` where it has none.
pub(super) fn cylinder(spot: &str) -> Option<u32> {
    spot.split('/').nth(1)?.parse().ok()
}

/// A spot as it is spoken: `chamber/6` as "chamber 6", `deck/3/front` as "deck 3 front".
pub fn said(spot: &str) -> String {
    let (part, rest) = spot.split_once('/').unwrap_or((spot, ""));
    let said = format!("{} {}", names(part).0, rest.replace('/', " "));
    said.trim_end().to_owned()
}

/// One of a part: "chamber".
pub(super) fn one(part: &str) -> &str {
    names(part).0
}

/// Several of a part: "chambers".
pub(super) fn several(part: &str) -> &str {
    names(part).1
}

/// What a part is called: one of it, several of it.
fn names(part: &str) -> (&str, &str) {
    match part {
        "chamber" => ("chamber", "chambers"),
        "deck" => ("deck", "decks"),
        "crown" => ("dome or dish", "domes or dishes"),
        "bore" => ("bore", "bores"),
        "throat" => ("throat", "throats"),
        "valve" => ("valve", "valves"),
        other => (other, other),
    }
}

/// "chamber 6", "decks 3 to 8"; the part alone where it has no cylinder.
pub(super) fn of_cylinders(part: &str, cylinders: &[u32]) -> String {
    let (one, several) = names(part);
    let mut distinct = cylinders.to_vec();
    distinct.sort_unstable();
    distinct.dedup();
    match distinct.len() {
        0 => one.to_owned(),
        1 => format!("{one} {}", numbers(&distinct)),
        _ => format!("{several} {}", numbers(&distinct)),
    }
}
