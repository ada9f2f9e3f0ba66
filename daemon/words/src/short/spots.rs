//! Spots as a builder says them: "chamber 6", "deck 3, front".

/// The part of an engine that a spot is about: `chamber`.
pub(super) fn part(spot: &str) -> &str {
    spot.split('/').next().unwrap_or(spot)
}

/// The cylinder of a spot; `None` where it has none.
pub(super) fn cylinder(spot: &str) -> Option<u32> {
    spot.split('/').nth(1)?.parse().ok()
}

/// `chamber/6` as "chamber 6", `deck/3/front` as "deck 3, front".
pub(super) fn said(spot: &str) -> String {
    let mut parts = spot.split('/');
    let first: Vec<&str> = parts.by_ref().take(2).collect();
    let rest: Vec<&str> = parts.collect();
    let first = first.join(" ");
    match rest.is_empty() {
        true => first,
        false => format!("{first}, {}", rest.join(" ")),
    }
}
