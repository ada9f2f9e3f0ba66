//! Figures with uncertainty: what is printed ([`Figure`]), what is calculated with ([`Estimate`]),
//! and the one trait through which every formula runs with either ([`Scalar`]).
//!
//! This module does not know what an engine or a gauge is. It only knows the identity of each
//! error.

mod coverage;
mod estimate;
mod identity;
mod scalar;
mod second_order;
mod simulation;
mod source;

use serde::{Deserialize, Serialize};

pub use coverage::{LEVEL, coverage, coverage_factor, effective_dof, student_quantile};
pub(crate) use coverage::{normal_cdf, student_tail};
pub use estimate::{Contribution, Estimate};
pub use identity::{DimensionOwner, EngineDimension, SourceId, SourceKind, SourceOwner};
pub use scalar::Scalar;
pub use second_order::second_order_u;
pub use simulation::{Distribution, NormalDraws, Simulation};
pub use source::{ErrorShape, ErrorSource};

use crate::units::Unit;

/// A value with its standard uncertainty, as it stands in every report.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schema",
    derive(schemars::JsonSchema),
    schemars(rename = "CalculatedFigure")
)]
pub struct Figure {
    /// The value, in `unit`.
    pub value: f64,
    /// Standard uncertainty (one standard deviation), in `unit`; `None` where something that the
    /// value rests on has an unknown uncertainty.
    pub u: Option<f64>,
    /// Standard uncertainty of what is known, in `unit`, where something is lacking.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u_known: Option<f64>,
    /// Expanded uncertainty with what is lacking at the width that is assumed for its kind, in
    /// `unit`; only where something is lacking.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub assumed: Option<f64>,
    /// What `u_known` leaves out, in words.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lacking: Vec<String>,
    /// Degrees of freedom of what is known; `None`: infinite, or so many that they do not matter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dof: Option<f64>,
    /// The unit.
    pub unit: Unit,
}

/// Figures are equal if their values and uncertainties are, however well those are known (`dof`).
impl PartialEq for Figure {
    fn eq(&self, other: &Figure) -> bool {
        (self.value, self.u, self.u_known, self.assumed, self.unit)
            == (
                other.value,
                other.u,
                other.u_known,
                other.assumed,
                other.unit,
            )
            && self.lacking == other.lacking
    }
}

impl Figure {
    /// A figure of unknown uncertainty.
    pub fn bare(value: f64, unit: Unit) -> Figure {
        Figure::new(value, None, unit)
    }

    /// A figure of a given u; without one, of unknown uncertainty.
    pub fn new(value: f64, u: Option<f64>, unit: Unit) -> Figure {
        Figure {
            value,
            u,
            u_known: None,
            assumed: None,
            lacking: Vec::new(),
            dof: None,
            unit,
        }
    }

    /// The coverage factor of its degrees of freedom: 2 if they are infinite.
    pub fn k(&self) -> f64 {
        coverage(self.dof.unwrap_or(f64::INFINITY))
    }

    /// Expanded uncertainty k·u; `None` where something is lacking.
    pub fn expanded(&self) -> Option<f64> {
        self.u.map(|u| self.k() * u)
    }

    /// Expanded uncertainty of what is known; `None` if nothing is.
    pub fn expanded_known(&self) -> Option<f64> {
        self.u.or(self.u_known).map(|u| self.k() * u)
    }

    /// Whether a difference is more than its expanded uncertainty, with what is lacking at its assumed
    /// width; `None` if that is not known.
    pub fn is_real(&self) -> Option<bool> {
        self.expanded_assumed().map(|all| self.value.abs() > all)
    }

    /// Expanded uncertainty for verdicts, with what is lacking at its assumed width.
    pub fn expanded_assumed(&self) -> Option<f64> {
        self.expanded().or(self.assumed)
    }
}

#[cfg(test)]
mod tests;
