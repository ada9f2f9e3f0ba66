//! Spots as a builder says them: "chamber 6", "deck 3 front".

use crate::rows::numbers;

/// The first word of a free spot, whose part is its name.
const FREE: &str = "free/";

/// The part of an engine that a spot is about: `chamber`; of a free spot its name, `spring_height`.
pub(crate) fn part(spot: &str) -> &str {
    let spot = spot.strip_prefix(FREE).unwrap_or(spot);
    spot.split('/').next().unwrap_or(spot)
}

/// The group with which a spot is told: its part, or a free spot's "spring_height intake".
pub(crate) fn told_together(spot: &str) -> String {
    let (part, free) = (part(spot), spot.starts_with(FREE));
    let place = spot
        .rsplit('/')
        .next()
        .filter(|place| free && *place != part);
    let place = place.filter(|place| !place.starts_with(|c: char| c.is_ascii_digit()));
    place.map_or(part.to_owned(), |place| format!("{part} {place}"))
}

/// The cylinder of a spot; `None` where it has none.
pub(crate) fn cylinder(spot: &str) -> Option<u32> {
    let spot = spot.strip_prefix(FREE).unwrap_or(spot);
    spot.split('/').nth(1)?.parse().ok()
}

/// A spot as it is spoken: `chamber/6` as "chamber 6", `deck/3/front` as "deck 3 front",
/// `free/spring_height/3/intake` as "spring height 3 intake".
pub fn said(spot: &str) -> String {
    let spot = spot.strip_prefix(FREE).unwrap_or(spot);
    let (part, rest) = spot.split_once('/').unwrap_or((spot, ""));
    let said = format!("{} {}", names(part).0, rest.replace('/', " "));
    spaced(said.trim_end())
}

/// A name as it is spoken: blanks where it was written together.
fn spaced(name: &str) -> String {
    name.replace('_', " ")
}

/// A text with a capital at its beginning.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}

/// One of a part: "chamber".
pub(crate) fn one(part: &str) -> String {
    spaced(names(part).0)
}

/// Several of a part: "chambers".
pub(crate) fn several(part: &str) -> String {
    spaced(names(part).1)
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
    let mut parts: Vec<(String, Vec<u32>)> = Vec::new();
    let mut others: Vec<String> = Vec::new();
    for spot in spots.into_iter().flat_map(|spots| spots.split(", ")) {
        let Some(number) = cylinder(spot) else {
            others.push(said(spot));
            continue;
        };
        let part = told_together(spot);
        match parts.iter_mut().find(|(known, _)| *known == part) {
            Some((_, numbers)) => numbers.push(number),
            None => parts.push((part, vec![number])),
        }
    }
    let mut words: Vec<String> = parts
        .into_iter()
        .map(|(part, numbers)| of_cylinders(&part, &numbers))
        .collect();
    others.dedup();
    words.extend(others);
    words
}

/// "chamber 6", "decks 3 to 8"; the part alone where it has no cylinder.
pub(crate) fn of_cylinders(part: &str, cylinders: &[u32]) -> String {
    let (one, several) = (one(part), several(part));
    let mut distinct = cylinders.to_vec();
    distinct.sort_unstable();
    distinct.dedup();
    match distinct.len() {
        0 => one,
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
            "free/spring_height/1/intake",
            "free/spring_height/2/intake",
            "free/end_play",
            "gasket/bore",
            "stroke",
        ];
        let told = not_measured(spots);
        assert_eq!(
            told[..3],
            ["chambers 1 to 3", "deck 1", "spring height intake 1 and 2"]
        );
        assert_eq!(told[3..], ["end play", "gasket bore", "stroke"]);
        assert_eq!(
            said("free/spring_height/3/intake"),
            "spring height 3 intake"
        );
    }
}
