//! The readings that help most if they are taken once more.

use serde::{Deserialize, Serialize};

use super::asked::NextAsked;
use super::context::{Context, chosen};
use super::error::AskError;
use crate::decide::{NextGoal, next_reading};
use crate::engine_figures::CylinderFigures;
use crate::figure::{Estimate, Figure};
use crate::spot::Spot;
use crate::units::Unit;

/// How many readings are named for each goal.
const NAMED: usize = 5;

/// The next best readings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct NextAnswer {
    /// Goal by goal.
    pub goals: Vec<GoalAnswer>,
}

/// What would make one figure better known.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct GoalAnswer {
    /// The figure.
    pub goal: NextGoal,
    /// The readings that would help, the best first.
    pub readings: Vec<NextReading>,
    /// Why there is none, if there is none.
    pub none: Option<String>,
}

/// A reading to take once more.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct NextReading {
    /// The spot.
    pub spot: Spot,
    /// How many readings it has.
    pub readings: usize,
    /// Standard uncertainty of the figure now.
    pub u_now: Figure,
    /// The same after one more reading.
    pub u_after: Figure,
}

pub(super) fn answer(context: &mut Context<'_>, asked: &NextAsked) -> Result<NextAnswer, AskError> {
    let goals: Vec<NextGoal> = match (&asked.goal, asked.cylinder) {
        (_, Some(number)) => {
            context.cylinder(number)?;
            vec![NextGoal::CompressionOf(number)]
        }
        (Some(wanted), None) => {
            let mut known = NextGoal::OF_ALL_CYLINDERS.into_iter();
            let found = known.find(|goal| goal.to_string() == *wanted);
            vec![found.ok_or_else(|| {
                let names = NextGoal::OF_ALL_CYLINDERS.map(|goal| goal.to_string());
                AskError::bad(
                    format!("the goal is {wanted:?}"),
                    format!("one of {}", names.join(", ")),
                    "correct --goal",
                )
            })?]
        }
        (None, None) => NextGoal::OF_ALL_CYLINDERS.to_vec(),
    };
    context.remark("A repeat counts only if it is set up anew: plate lifted and greased again, bridge moved, zero taken again. What a gauge's calibration gives to all readings alike no repeat can take away.");
    if goals.iter().any(|goal| {
        matches!(
            goal,
            NextGoal::CompressionSpread | NextGoal::ChamberSpread | NextGoal::DeckSpread
        )
    }) {
        context.remark("The u of a spread here is by how much simulated readings miss it: it counts that a spread shows more than there is and that other cylinders could be at its ends, and so is larger than the one in the report, which takes the ends as they were seen.");
    }
    let goals = goals
        .into_iter()
        .map(|goal| goal_answer(context, goal))
        .collect();
    Ok(NextAnswer { goals })
}

fn goal_answer(context: &Context<'_>, goal: NextGoal) -> GoalAnswer {
    let unit = match goal {
        NextGoal::ChamberSpread => Unit::CubicCentimetre,
        NextGoal::DeckSpread => context.length(),
        _ => Unit::One,
    };
    let readings: Vec<NextReading> = next_reading(&context.state, goal)
        .into_iter()
        .take(NAMED)
        .map(|one| NextReading {
            spot: one.spot,
            readings: one.readings,
            u_now: chosen(unit.difference_from_base(one.u_now), unit),
            u_after: chosen(unit.difference_from_base(one.u_after), unit),
        })
        .collect();
    let none = readings.is_empty().then(|| why_none(context, goal));
    GoalAnswer {
        goal,
        readings,
        none,
    }
}

fn why_none(context: &Context<'_>, goal: NextGoal) -> String {
    let get = |one: &CylinderFigures| -> Option<Estimate> {
        match goal {
            NextGoal::ChamberSpread => one.chamber.clone(),
            NextGoal::DeckSpread => one.deck.clone(),
            _ => one.ratio(),
        }
    };
    let values: Vec<Estimate> = context.state.cylinders.iter().filter_map(get).collect();
    if values.is_empty() {
        return "nothing is known of it yet: measure what the report lists as missing".to_owned();
    }
    match values.iter().flat_map(Estimate::lacking).next() {
        Some(source) => format!(
            "its uncertainty is not known, because nothing is known of that of {}: state it first",
            source.id
        ),
        None => "no repeat would make it better known".to_owned(),
    }
}
