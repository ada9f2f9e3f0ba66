//! The next best reading: which spot, measured again, would settle an undecided verdict or narrow
//! the compression most.
//!
//! One more reading of a spot with n readings leaves n/(n+1) of the variance that is its own
//! (repeatability, rounding, a zero set anew); what the gauge gives to all readings stays.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::errors::Errors;
use crate::engine_figures::{EngineFigures, spread};
use crate::figure::{Distribution, Estimate, Scalar};
use crate::spot::Spot;

/// The figure that is to be known better.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NextGoal {
    /// The mean compression.
    CompressionMean,
    /// The spread of the compression.
    CompressionSpread,
    /// The spread of the chambers.
    ChamberSpread,
    /// The spread of the deck clearances.
    DeckSpread,
    /// The compression of one cylinder.
    CompressionOf(u32),
}

impl fmt::Display for NextGoal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NextGoal::CompressionMean => f.write_str("compression"),
            NextGoal::CompressionSpread => f.write_str("compression_spread"),
            NextGoal::ChamberSpread => f.write_str("chamber_spread"),
            NextGoal::DeckSpread => f.write_str("deck_spread"),
            NextGoal::CompressionOf(number) => write!(f, "compression/{number}"),
        }
    }
}

#[cfg(feature = "schema")]
impl schemars::JsonSchema for NextGoal {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "NextGoal".into()
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({
            "description": "The figure that is to be known better: `compression`, \
                `compression_spread`, `chamber_spread`, `deck_spread` or `compression/N`.",
            "type": "string",
        })
    }
}

impl FromStr for NextGoal {
    type Err = UnknownGoal;

    fn from_str(text: &str) -> Result<NextGoal, UnknownGoal> {
        let of_cylinder = text.strip_prefix("compression/");
        let of_cylinder = of_cylinder.and_then(|number| number.parse().ok());
        let all = NextGoal::OF_ALL_CYLINDERS.into_iter();
        let mut all = all.chain(of_cylinder.map(NextGoal::CompressionOf));
        all.find(|goal| goal.to_string() == text)
            .ok_or_else(|| UnknownGoal(text.to_owned()))
    }
}

/// A text that names no goal.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "found the goal {0:?}; expected compression, compression/3, compression_spread, chamber_spread or deck_spread"
)]
pub struct UnknownGoal(String);

impl NextGoal {
    /// The goals that are about all cylinders together.
    pub const OF_ALL_CYLINDERS: [NextGoal; 4] = [
        NextGoal::CompressionMean,
        NextGoal::CompressionSpread,
        NextGoal::ChamberSpread,
        NextGoal::DeckSpread,
    ];
}

impl Serialize for NextGoal {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for NextGoal {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<NextGoal, D::Error> {
        let text = String::deserialize(deserializer)?;
        text.parse().map_err(serde::de::Error::custom)
    }
}

/// A spot, and what one more reading of it would do.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NextCandidate {
    /// The spot.
    pub spot: Spot,
    /// How many readings it has.
    pub readings: usize,
    /// The uncertainty now, in the base unit of the goal.
    pub u_now: f64,
    /// The uncertainty after one more reading of it.
    pub u_after: f64,
}

/// The share of a normal distribution that lies within one standard deviation.
const ONE_U: f64 = 0.682_689_492;

/// Draws in each simulation of a spread.
const TRIALS: usize = 2000;

/// The spots that are worth measuring again for a goal, the best first. Empty if the goal is not
/// known, or if some uncertainty is not: then what is missing or unknown comes first.
pub fn next_reading(state: &EngineFigures, goal: NextGoal) -> Vec<NextCandidate> {
    let Some(values) = values(state, goal) else {
        return Vec::new();
    };
    let Some(u_now) = uncertainty(&values, goal) else {
        return Vec::new();
    };
    let mut candidates: Vec<NextCandidate> = state
        .counts
        .iter()
        .filter_map(|(spot, readings)| {
            let n = *readings as f64;
            let less = (n / (n + 1.0)).sqrt();
            let after: Vec<Estimate> = values
                .iter()
                .map(|value| value.rescaled(|id| if id.is_own_of(spot) { less } else { 1.0 }))
                .collect();
            if after == values {
                return None;
            }
            let u_after = uncertainty(&after, goal)?;
            Some(NextCandidate {
                spot: spot.clone(),
                readings: *readings,
                u_now,
                u_after,
            })
        })
        .filter(|candidate| candidate.u_after < candidate.u_now * (1.0 - 1e-9))
        .collect();
    candidates.sort_by(|a, b| a.u_after.total_cmp(&b.u_after).then(a.spot.cmp(&b.spot)));
    candidates
}

fn values(state: &EngineFigures, goal: NextGoal) -> Option<Vec<Estimate>> {
    let all = |get: &dyn Fn(&crate::engine_figures::CylinderFigures) -> Option<Estimate>| {
        state.cylinders.iter().filter_map(get).collect::<Vec<_>>()
    };
    let values = match goal {
        NextGoal::CompressionMean | NextGoal::CompressionSpread => all(&|known| known.ratio()),
        NextGoal::ChamberSpread => all(&|known| known.chamber.clone()),
        NextGoal::DeckSpread => all(&|known| known.deck.clone()),
        NextGoal::CompressionOf(number) => {
            let known = state
                .cylinders
                .iter()
                .find(|known| known.number == number)?;
            vec![known.ratio()?]
        }
    };
    (!values.is_empty()).then_some(values)
}

/// The uncertainty of a goal. That of a spread is the deviation from the spread that was seen that
/// 68.3 % of simulated readings of the same parts keep to, as they do to one u of a normal value:
/// it counts the bias, and the cylinders that could be at the ends though they were not seen there.
/// A root mean square would be infinite where one pair of repeats is all that is known of a
/// scatter.
fn uncertainty(values: &[Estimate], goal: NextGoal) -> Option<f64> {
    match goal {
        NextGoal::CompressionMean | NextGoal::CompressionOf(_) => Estimate::mean(values)?.u(),
        NextGoal::CompressionSpread | NextGoal::ChamberSpread | NextGoal::DeckSpread => {
            let seen = spread(values)?.value();
            let plain: Vec<f64> = values.iter().map(Scalar::value).collect();
            let errors = Errors::new(values)?;
            let mut misses = Vec::with_capacity(TRIALS);
            // All candidates get the same draws, so they differ only by the reading.
            errors.run(&plain, TRIALS, 5, |spread| {
                misses.push((spread - seen).abs())
            });
            Some(Distribution::new(misses).quantile(ONE_U))
        }
    }
}
