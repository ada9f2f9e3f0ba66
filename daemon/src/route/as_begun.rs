//! How a route was begun, read back from its stops: with which cylinders, lists and rounds.
//!
//! A person who takes up a half-way route means the stops of that run, not of the whole route.
//! The journal keeps nothing of a start but its stops.

use std::collections::BTreeMap;

use super::expand::{RouteChoices, expand};
use super::text::Route;

/// The choices with which `route` has these stops on an engine with these cylinders; `None` where no
/// choices give just these stops. `said` holds what is not kept: the unit of lengths.
pub fn choices_of(
    route: &Route,
    cylinders: &[u32],
    spots: &[String],
    said: &RouteChoices,
) -> Option<RouteChoices> {
    let mut chosen = RouteChoices {
        units: said.units,
        ..RouteChoices::default()
    };
    let mut visits: BTreeMap<&str, u32> = BTreeMap::new();
    for spot in spots {
        *visits.entry(spot).or_default() += 1;
        let mut steps = route.steps.iter();
        let values = steps.find_map(|step| values_at(&step.spot, spot))?;
        for (name, value) in values {
            if name == "cylinder" {
                let cylinder = value.parse().ok()?;
                if !chosen.cylinders.contains(&cylinder) {
                    chosen.cylinders.push(cylinder);
                }
            } else {
                let list = chosen.lists.entry(name.to_owned()).or_default();
                if !list.iter().any(|known| known == value) {
                    list.push(value.to_owned());
                }
            }
        }
    }
    chosen.rounds = visits.into_values().max();
    let stops = expand(route, cylinders, &chosen).ok()?;
    let same = stops.iter().map(|stop| stop.spot.to_string());
    same.eq(spots.iter().cloned()).then_some(chosen)
}

/// What stands at the placeholders of a step in a spot of that step.
fn values_at<'a>(step: &'a str, spot: &'a str) -> Option<Vec<(&'a str, &'a str)>> {
    let (parts, texts) = (step.split('/'), spot.split('/'));
    if parts.clone().count() != texts.clone().count() {
        return None;
    }
    let mut values = Vec::new();
    for (part, text) in parts.zip(texts) {
        let named = part.strip_prefix('{').and_then(|p| p.strip_suffix('}'));
        match named {
            Some(name) => values.push((name, text)),
            None if part == text => {}
            None => return None,
        }
    }
    Some(values)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::route::shipped;

    fn route(name: &str) -> Route {
        let mut all = shipped();
        let (_, text) = all.find(|(known, _)| *known == name).unwrap();
        Route::parse(text, name).unwrap()
    }

    #[test]
    fn a_part_of_a_route_is_found_again_in_its_stops() {
        let engine = [1, 2, 3, 4];
        let lists = |pairs: &[(&str, &[&str])]| {
            let owned = |values: &[&str]| values.iter().map(|v| (*v).to_owned()).collect();
            let all = pairs.iter().map(|(name, v)| ((*name).to_owned(), owned(v)));
            all.collect::<BTreeMap<String, Vec<String>>>()
        };
        let some = [
            ("chambers", vec![3, 1], lists(&[]), None),
            ("chambers", vec![], lists(&[]), Some(3)),
            ("deck", vec![2], lists(&[]), None),
            (
                "flow",
                vec![1, 2],
                lists(&[("lift", &["2.54mm", "7.62mm"])]),
                None,
            ),
        ];
        for (name, cylinders, lists, rounds) in some {
            let route = &route(name);
            let chosen = RouteChoices {
                cylinders,
                lists,
                rounds,
                units: None,
            };
            let begun = expand(route, &engine, &chosen).unwrap();
            let spots: Vec<String> = begun.iter().map(|stop| stop.spot.to_string()).collect();
            let found = choices_of(route, &engine, &spots, &RouteChoices::default()).unwrap();
            assert_eq!(expand(route, &engine, &found).unwrap(), begun, "{name}");
        }
    }

    #[test]
    fn stops_of_another_route_are_not_taken_for_a_part_of_this_one() {
        let route = &route("deck");
        let spots = ["chamber/1".to_owned()];
        assert_eq!(
            choices_of(route, &[1, 2], &spots, &RouteChoices::default()),
            None
        );
    }
}
