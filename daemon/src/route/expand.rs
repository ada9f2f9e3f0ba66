//! A route laid over an engine: the stops in order.

use std::collections::BTreeMap;

use benchhand_blueprint::engine::LengthUnits;
use benchhand_blueprint::known_word::meant;
use benchhand_blueprint::units::QuantityKind;
use benchhand_blueprint::{Quantity, Spot};

use super::FigureRule;
use super::text::{CylinderOrder, FigureTurn, Route, RouteStep, placeholders};

/// One spot to be visited, and how.
#[derive(Debug, Clone, PartialEq)]
pub struct RouteStop {
    /// The spot.
    pub spot: Spot,
    /// The round, from 1.
    pub round: u32,
    /// The capture mode.
    pub mode: String,
    /// The kind of gauge.
    pub kind: String,
    /// What to do there.
    pub prompt: String,
    /// How the gauge's number becomes the reading.
    pub figure: FigureRule,
    /// Which turning point is wanted.
    pub turn: Option<FigureTurn>,
    /// Further channels that belong to the same reading.
    pub with: Vec<String>,
    /// Settings of the capture mode that differ from its start values.
    pub settings: toml::Table,
}

/// What a person chose for this walk; an empty field means as the route and the engine state.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RouteChoices {
    /// Only these cylinders, in this order.
    pub cylinders: Vec<u32>,
    /// Values in place of the route's own lists.
    pub lists: BTreeMap<String, Vec<String>>,
    /// Rounds in place of the route's own number.
    pub rounds: Option<u32>,
    /// The unit of lengths in a list that were given without one; where it is unknown, such a
    /// length is refused.
    pub units: Option<LengthUnits>,
}

/// Why a route cannot be laid over an engine.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ExpandError {
    /// A cylinder that the engine does not have.
    #[error("cylinder {found} asked for; this engine has {has:?}")]
    NoSuchCylinder {
        /// What was asked for.
        found: u32,
        /// What the engine has, in its own order.
        has: Vec<u32>,
    },
    /// A list that the route does not use.
    #[error("list {found:?} given; this route has {has:?}{hint}")]
    NoSuchList {
        /// The list that was given.
        found: String,
        /// The most similar list, as a question; empty where there is none.
        hint: String,
        /// The route's lists.
        has: Vec<String>,
    },
    /// A spot that cannot be.
    #[error("{text}")]
    Spot {
        /// The fault, naming the spot.
        text: String,
    },
    /// No stop is left.
    #[error("no stop is left: an empty list or 0 rounds were asked for")]
    Empty,
}

/// The stops of `route` on an engine whose cylinders are `engine_cylinders`, in the order in
/// which they are to be visited: every step of round 1, then every step of round 2.
///
/// # Errors
/// See [`ExpandError`].
pub fn expand(
    route: &Route,
    engine_cylinders: &[u32],
    choices: &RouteChoices,
) -> Result<Vec<RouteStop>, ExpandError> {
    let cylinders = ordered(&route.order, engine_cylinders, &choices.cylinders);
    for &found in &cylinders {
        if !engine_cylinders.contains(&found) {
            return Err(ExpandError::NoSuchCylinder {
                found,
                has: engine_cylinders.to_vec(),
            });
        }
    }
    let mut values = route.lists.clone();
    for (said, given) in &choices.lists {
        let name = meant(said, route.lists.keys().map(String::as_str)).map_err(|near| {
            ExpandError::NoSuchList {
                found: said.clone(),
                hint: near.map_or_else(String::new, |near| format!("; did you mean {near}?")),
                has: route.lists.keys().cloned().collect(),
            }
        })?;
        let unit = unit_of(&route.lists[name], choices.units);
        let given = given.iter().map(|value| with_unit(value, unit)).collect();
        values.insert(name.to_owned(), given);
    }

    let rounds = choices.rounds.unwrap_or(route.rounds);
    let mut stops = Vec::new();
    for round in 1..=rounds {
        let passes: Vec<Vec<u32>> = match route.by_cylinder {
            true => cylinders.iter().map(|&cylinder| vec![cylinder]).collect(),
            false => vec![cylinders.clone()],
        };
        let first = stops.len();
        for pass in passes {
            values.insert(
                "cylinder".to_owned(),
                pass.iter().map(u32::to_string).collect(),
            );
            for step in &route.steps {
                walk_step(step, round, &values, &mut stops)?;
            }
        }
        if route.balance && round % 2 == 0 {
            stops[first..].reverse();
        }
        if round > 1
            && let (Some(anew), Some(stop)) = (&route.next_round, stops.get_mut(first))
        {
            stop.prompt = format!("Round {round}: {anew}. {}", stop.prompt);
        }
    }
    if stops.is_empty() {
        Err(ExpandError::Empty)
    } else {
        Ok(stops)
    }
}

/// The unit of plain numbers in a list: degrees where the route's own values are angles, the
/// engine's unit where they are lengths.
fn unit_of(own: &[String], units: Option<LengthUnits>) -> Option<&'static str> {
    let first: Quantity = own.first()?.parse().ok()?;
    match first.unit.kind() {
        QuantityKind::Length => units.map(|units| units.length().symbol()),
        QuantityKind::Angle => Some("deg"),
        _ => None,
    }
}

/// A value of a list, with its unit.
fn with_unit(value: &str, unit: Option<&str>) -> String {
    let value = value.trim();
    match unit {
        Some(unit) if value.parse::<f64>().is_ok_and(f64::is_finite) => format!("{value}{unit}"),
        _ => value.to_owned(),
    }
}

/// The cylinders in the order that the user asks for, or else the route.
fn ordered(order: &CylinderOrder, engine: &[u32], chosen: &[u32]) -> Vec<u32> {
    if !chosen.is_empty() {
        return chosen.to_vec();
    }
    let mut cylinders = engine.to_vec();
    match order {
        CylinderOrder::Bank => {}
        CylinderOrder::Number => cylinders.sort_unstable(),
        CylinderOrder::Written(written) => cylinders.clone_from(written),
    }
    cylinders
}

/// The leftmost placeholder changes slowest: all points of one cylinder come before the next.
fn walk_step(
    step: &RouteStep,
    round: u32,
    values: &BTreeMap<String, Vec<String>>,
    stops: &mut Vec<RouteStop>,
) -> Result<(), ExpandError> {
    let mut filled: Vec<(String, String)> = vec![(step.spot.clone(), step.prompt.clone())];
    for name in placeholders(&step.spot) {
        let slot = format!("{{{name}}}");
        let choices = values.get(name).map(Vec::as_slice).unwrap_or_default();
        filled = filled
            .iter()
            .flat_map(|(spot, prompt)| {
                choices
                    .iter()
                    .map(|v| (spot.replace(&slot, v), prompt.replace(&slot, v)))
            })
            .collect();
    }
    for (spot, prompt) in filled {
        let spot = spot.parse::<Spot>().map_err(|e| ExpandError::Spot {
            text: e.to_string(),
        })?;
        stops.push(RouteStop {
            spot,
            round,
            mode: step.mode.clone(),
            kind: step.kind.clone(),
            prompt,
            figure: step.figure,
            turn: step.turn,
            with: step.with.clone(),
            settings: step.settings.clone(),
        });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    const BANKS: [u32; 4] = [1, 3, 2, 4];

    fn visited(head: &str, choices: &RouteChoices) -> Result<Vec<(u32, u32)>, ExpandError> {
        let text = format!(
            "route = 1\nname = \"r\"\ntitle = \"t\"\n{head}\n[[step]]\n\
             spot = \"chamber/{{cylinder}}\"\nmode = \"pour\"\nkind = \"volume\"\nprompt = \"p\"\n"
        );
        let route = Route::parse(&text, "r").unwrap();
        let stops = expand(&route, &BANKS, choices)?;
        let of = |stop: &RouteStop| (stop.round, stop.spot.cylinder().unwrap());
        Ok(stops.iter().map(of).collect())
    }

    fn cylinders(head: &str) -> Vec<u32> {
        let all = visited(head, &RouteChoices::default()).unwrap();
        all.into_iter().map(|(_, cylinder)| cylinder).collect()
    }

    #[test]
    fn cylinders_come_by_bank_by_number_or_as_written() {
        assert_eq!(cylinders(""), [1, 3, 2, 4]);
        assert_eq!(cylinders("order = \"number\""), [1, 2, 3, 4]);
        assert_eq!(cylinders("order = [4, 1]"), [4, 1]);
        let beyond = visited("order = [4, 9]", &RouteChoices::default()).unwrap_err();
        assert!(beyond.to_string().contains('9'), "{beyond}");
        let chosen = RouteChoices {
            cylinders: vec![3, 2],
            ..RouteChoices::default()
        };
        assert_eq!(
            visited("order = \"number\"", &chosen).unwrap(),
            [(1, 3), (1, 2)]
        );
    }

    #[test]
    fn a_list_of_plain_numbers_is_in_the_engines_unit() {
        let stops = |route: &str, list: &str, given: &[&str], units| {
            let mut shipped = crate::route::shipped();
            let (name, text) = shipped.find(|(name, _)| *name == route).unwrap();
            let route = Route::parse(text, name).unwrap();
            let given = given.iter().map(|value| (*value).to_owned()).collect();
            let choices = RouteChoices {
                cylinders: vec![1],
                lists: BTreeMap::from([(list.to_owned(), given)]),
                units: Some(units),
                ..RouteChoices::default()
            };
            let stops = expand(&route, &BANKS, &choices)?;
            let all = stops.into_iter().map(|s| (s.spot.to_string(), s.prompt));
            Ok::<Vec<_>, ExpandError>(all.collect())
        };
        let metric = stops("flow", "lift", &["2", "4"], LengthUnits::Metric).unwrap();
        let spots: Vec<&str> = metric.iter().map(|(spot, _)| spot.as_str()).collect();
        assert_eq!(spots, ["flow/1/intake/2mm", "flow/1/intake/4mm"]);
        assert!(metric[0].1.contains("2mm lift"), "{}", metric[0].1);
        let inch = stops("flow", "lifts", &["0.1", "5.08mm"], LengthUnits::Inch).unwrap();
        let spots: Vec<&str> = inch.iter().map(|(spot, _)| spot.as_str()).collect();
        assert_eq!(spots, ["flow/1/intake/2.54mm", "flow/1/intake/5.08mm"]);
        let gaps = stops("valve-gaps", "angle", &["-10", "10"], LengthUnits::Inch).unwrap();
        assert!(gaps.iter().any(|(spot, _)| spot == "gap/1/intake/-10deg"));
        let slip = stops("flow", "lfit", &["2"], LengthUnits::Inch).unwrap_err();
        assert!(slip.to_string().contains("did you mean lift?"), "{slip}");
    }

    #[test]
    fn what_is_set_up_anew_is_said_before_the_first_stop_of_each_further_round() {
        let mut shipped = crate::route::shipped();
        let (name, text) = shipped.find(|(name, _)| *name == "chambers").unwrap();
        let route = Route::parse(text, name).unwrap();
        let stops = expand(&route, &BANKS, &RouteChoices::default()).unwrap();
        let told = stops.iter().filter(|stop| stop.prompt.contains("grease"));
        let told: Vec<(u32, usize)> = told
            .map(|stop| {
                let at = stops.iter().position(|one| std::ptr::eq(one, stop));
                (stop.round, at.unwrap_or_default())
            })
            .collect();
        assert_eq!(told, [(2, stops.len() / 2)]);
    }

    #[test]
    fn a_balanced_route_runs_every_second_round_backwards() {
        let all = visited("rounds = 3\nbalance = true", &RouteChoices::default()).unwrap();
        let second: Vec<u32> = all[4..8].iter().map(|(_, c)| *c).collect();
        assert_eq!(second, [4, 2, 3, 1]);
        assert!(all[4..8].iter().all(|(round, _)| *round == 2));
        assert_eq!(all[8], (3, 1));
    }
}
