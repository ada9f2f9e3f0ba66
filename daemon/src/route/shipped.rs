//! The routes that come with the program.

const TEXTS: &[(&str, &str)] = &[
    ("bores", include_str!("../../routes/bores.toml")),
    ("chambers", include_str!("../../routes/chambers.toml")),
    (
        "chambers-balanced",
        include_str!("../../routes/chambers-balanced.toml"),
    ),
    ("crowns", include_str!("../../routes/crowns.toml")),
    ("deck", include_str!("../../routes/deck.toml")),
    ("deck-sides", include_str!("../../routes/deck-sides.toml")),
    ("flow", include_str!("../../routes/flow.toml")),
    (
        "flow-exhaust",
        include_str!("../../routes/flow-exhaust.toml"),
    ),
    (
        "flow-runners",
        include_str!("../../routes/flow-runners.toml"),
    ),
    ("gasket", include_str!("../../routes/gasket.toml")),
    ("runners", include_str!("../../routes/runners.toml")),
    ("seats", include_str!("../../routes/seats.toml")),
    ("stroke", include_str!("../../routes/stroke.toml")),
    ("valve-gaps", include_str!("../../routes/valve-gaps.toml")),
];

/// The shipped routes with their texts, in order of name.
pub fn shipped() -> impl Iterator<Item = (&'static str, &'static str)> {
    TEXTS.iter().copied()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::route::{Route, RouteChoices, expand};

    #[test]
    fn every_shipped_route_reads_and_lays_over_a_v8() {
        for (name, text) in shipped() {
            let route = Route::parse(text, name).unwrap();
            assert_eq!(route.name, name);
            let stops =
                expand(&route, &[1, 3, 5, 7, 2, 4, 6, 8], &RouteChoices::default()).unwrap();
            assert!(!stops.is_empty(), "{name}");
        }
    }
}
