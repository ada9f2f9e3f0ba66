//! Figures with uncertainty: what is printed ([`Figure`]), what is calculated with
//! ([`Estimate`]), and the one trait through which every formula runs with either ([`Scalar`]).
//!
//! Nothing here knows of engines, gauges or spots.

mod coverage;
mod estimate;
mod scalar;
mod second_order;
mod simulation;
mod source;

use serde::{Deserialize, Serialize};

pub use coverage::{coverage_factor, effective_dof, student_quantile};
pub(crate) use coverage::{normal_cdf, student_tail};
pub use estimate::{Contribution, Estimate};
pub use scalar::Scalar;
pub use second_order::second_order_u;
pub use simulation::{Distribution, Draws, Simulation};
pub use source::{Shape, Source};

use crate::units::Unit;

/// A value with its standard uncertainty, as it stands in every report.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Figure {
    /// The value, in `unit`.
    pub value: f64,
    /// Standard uncertainty (one standard deviation), in `unit`; `None` where something that the
    /// value rests on has an unknown uncertainty.
    pub u: Option<f64>,
    /// The unit.
    pub unit: Unit,
}

impl Figure {
    /// A figure of unknown uncertainty.
    pub fn bare(value: f64, unit: Unit) -> Figure {
        Figure {
            value,
            u: None,
            unit,
        }
    }

    /// Expanded uncertainty U = 2u, for a coverage of about 95 %.
    pub fn expanded(&self) -> Option<f64> {
        self.u.map(|u| 2.0 * u)
    }
}

#[cfg(test)]
mod tests;
