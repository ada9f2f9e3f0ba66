//! A route laid over an engine: the stops in order.

use std::collections::BTreeMap;

use benchhand_blueprint::Spot;

use super::text::{Figuring, Order, Route, Step, Turn, placeholders};

/// One spot to be visited, and how.
#[derive(Debug, Clone, PartialEq)]
pub struct Stop {
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
    pub figure: Figuring,
    /// Which turning point is wanted.
    pub turn: Option<Turn>,
    /// Further channels that belong to the same reading.
    pub with: Vec<String>,
    /// Settings of the capture mode that differ from its start values.
    pub settings: toml::Table,
}

/// What the user chose for this walk; empty means as the route and the engine say.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Choices {
    /// Only these cylinders, in this order.
    pub cylinders: Vec<u32>,
    /// Values in place of the route's own lists.
    pub lists: BTreeMap<String, Vec<String>>,
    /// Rounds in place of the route's own number.
    pub rounds: Option<u32>,
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
    #[error("list {found:?} given; this route has {has:?}")]
    NoSuchList {
        /// What was given.
        found: String,
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
    choices: &Choices,
) -> Result<Vec<Stop>, ExpandError> {
    let cylinders = ordered(&route.order, engine_cylinders, &choices.cylinders);
    for &found in &cylinders {
        if !engine_cylinders.contains(&found) {
            return Err(ExpandError::NoSuchCylinder {
                found,
                has: engine_cylinders.to_vec(),
            });
        }
    }
    for found in choices.lists.keys() {
        if !route.lists.contains_key(found) {
            let has = route.lists.keys().cloned().collect();
            return Err(ExpandError::NoSuchList {
                found: found.clone(),
                has,
            });
        }
    }
    let mut values = route.lists.clone();
    values.extend(choices.lists.clone());

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
    }
    if stops.is_empty() {
        Err(ExpandError::Empty)
    } else {
        Ok(stops)
    }
}

/// The cylinders in the order that the user, else the route asks for.
fn ordered(order: &Order, engine: &[u32], chosen: &[u32]) -> Vec<u32> {
    if !chosen.is_empty() {
        return chosen.to_vec();
    }
    let mut cylinders = engine.to_vec();
    match order {
        Order::Bank => {}
        Order::Number => cylinders.sort_unstable(),
        Order::Written(written) => cylinders.clone_from(written),
    }
    cylinders
}

/// The leftmost placeholder changes slowest: all points of one cylinder come before the next.
fn walk_step(
    step: &Step,
    round: u32,
    values: &BTreeMap<String, Vec<String>>,
    stops: &mut Vec<Stop>,
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
        stops.push(Stop {
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

    fn visited(head: &str, choices: &Choices) -> Result<Vec<(u32, u32)>, ExpandError> {
        let text = format!(
            "route = 1\nname = \"r\"\ntitle = \"t\"\n{head}\n[[step]]\n\
             spot = \"chamber/{{cylinder}}\"\nmode = \"pour\"\nkind = \"volume\"\nprompt = \"p\"\n"
        );
        let route = Route::parse(&text, "r").unwrap();
        let stops = expand(&route, &BANKS, choices)?;
        let of = |stop: &Stop| (stop.round, stop.spot.cylinder().unwrap());
        Ok(stops.iter().map(of).collect())
    }

    fn cylinders(head: &str) -> Vec<u32> {
        let all = visited(head, &Choices::default()).unwrap();
        all.into_iter().map(|(_, cylinder)| cylinder).collect()
    }

    #[test]
    fn cylinders_come_by_bank_by_number_or_as_written() {
        assert_eq!(cylinders(""), [1, 3, 2, 4]);
        assert_eq!(cylinders("order = \"number\""), [1, 2, 3, 4]);
        assert_eq!(cylinders("order = [4, 1]"), [4, 1]);
        let beyond = visited("order = [4, 9]", &Choices::default()).unwrap_err();
        assert!(beyond.to_string().contains('9'), "{beyond}");
        let chosen = Choices {
            cylinders: vec![3, 2],
            ..Choices::default()
        };
        assert_eq!(
            visited("order = \"number\"", &chosen).unwrap(),
            [(1, 3), (1, 2)]
        );
    }

    #[test]
    fn a_balanced_route_runs_every_second_round_backwards() {
        let all = visited("rounds = 3\nbalance = true", &Choices::default()).unwrap();
        let second: Vec<u32> = all[4..8].iter().map(|(_, c)| *c).collect();
        assert_eq!(second, [4, 2, 3, 1]);
        assert!(all[4..8].iter().all(|(round, _)| *round == 2));
        assert_eq!(all[8], (3, 1));
    }
}
