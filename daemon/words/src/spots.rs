//! Spots as a builder says them: "chamber 6", "deck 3 front".

use crate::rows::numbers;

/// The part of an engine that a spot is about: `chamber`.
pub(crate) fn part(spot: &str) -> &str {
    spot.split('/').next().unwrap_or(spot)
}

/// The cylinder of a spot; `None` where it has none.
pub(crate) fn cylinder(spot: &str) -> Option<u32> {
    spot.split('/').nth(1)?.parse().ok()
}

/// A spot as it is spoken: `chamber/6` as "chamber 6", `deck/3/front` as "deck 3 front".
pub fn said(spot: &str) -> String {
    let (part, rest) = spot.split_once('/').unwrap_or((spot, ""));
    let said = format!("{} {}", names(part).0, rest.replace('/', " "));
    said.trim_end().to_owned()
}

/// One of a part: "chamber".
pub(crate) fn one(part: &str) -> &str {
    names(part).0
}

/// Several of a part: "chambers".
pub(crate) fn several(part: &str) -> &str {
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

/// What was not measured, part by part in the order in which it is named: "chambers 1 to 8",
/// "gasket bore".
pub fn not_measured<'a>(spots: impl IntoIterator<Item = &'a str>) -> Vec<String> {
    let mut parts: Vec<(&str, Vec<u32>)> = Vec::new();
    let mut others: Vec<String> = Vec::new();
    for spot in spots.into_iter().flat_map(|spots| spots.split(", ")) {
        let Some(number) = cylinder(spot) else {
            others.push(said(spot));
            continue;
        };
        match parts.iter_mut().find(|(known, _)| *known == part(spot)) {
            Some((_, numbers)) => numbers.push(number),
            None => parts.push((part(spot), vec![number])),
        }
    }
    let mut words: Vec<String> = parts
        .into_iter()
        .map(|(part, numbers)| of_cylinders(part, &numbers))
        .collect();
    others.dedup();
    words.extend(others);
    words
}

/// "chamber 6", "decks 3 to 8"; the part alone where it has no cylinder.
pub(crate) fn of_cylinders(part: &str, cylinders: &[u32]) -> String {
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_not_measured_is_said_part_by_part() {
        let spots = [
            "chamber/1",
            "deck/1/front, deck/1/rear",
            "chamber/2",
            "chamber/3",
            "gasket/bore",
            "stroke",
        ];
        assert_eq!(
            not_measured(spots),
            ["chambers 1 to 3", "deck 1", "gasket bore", "stroke"]
        );
    }
}
