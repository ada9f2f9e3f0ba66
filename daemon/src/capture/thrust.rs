//! Deck at the thrust sides: the piston is pushed both ways, and the two rests give one figure.
//!
//! The piston tips about its pin, so the two pushes read too high and too low by the same amount.
//! The mean is free of rock, and half the difference is rock. The sense and the zero of the gauge
//! are not known here: raw values give raw results.

use benchhand_drivers::Unit;

use super::CapturedValue;

/// Deck at one thrust side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThrustDeck {
    /// The mean of both pushes, raw, in `unit`.
    pub mean: f64,
    /// Half of (first − second): the rock, signed by the order of the pushes, in `unit`.
    pub rock: f64,
    /// The unit of both.
    pub unit: Unit,
}

/// Two readings that cannot be combined.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ThrustError {
    /// The gauge changed its unit between the pushes.
    #[error(
        "one push is in {first}, the other in {second}: set the gauge back and take both again"
    )]
    Units {
        /// The unit of the first push.
        first: Unit,
        /// The unit of the second push.
        second: Unit,
    },
}

/// Combines the rest with the piston pushed one way and the rest with the piston pushed the other
/// way.
///
/// # Errors
/// When the two are in different units.
pub fn thrust_deck(
    first: &CapturedValue,
    second: &CapturedValue,
) -> Result<ThrustDeck, ThrustError> {
    if first.unit != second.unit {
        return Err(ThrustError::Units {
            first: first.unit,
            second: second.unit,
        });
    }
    Ok(ThrustDeck {
        mean: 0.5 * (first.value + second.value),
        rock: 0.5 * (first.value - second.value),
        unit: first.unit,
    })
}
