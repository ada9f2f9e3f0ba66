//! Sources of error. Each is independent of all others.

use std::cmp::Ordering;
use std::sync::Arc;

use super::SourceId;

/// How the error of a source is distributed; first-order propagation needs only its standard
/// deviation, simulation needs the shape.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ErrorShape {
    /// Normal; with finite degrees of freedom a scaled t (JCGM 101 6.4.9).
    Normal,
    /// Rectangular between two limits, such as a resolution.
    Rectangular,
    /// Triangular between two limits.
    Triangular,
    /// Arcsine (U-shaped) between two limits, such as a cycling temperature.
    Arcsine,
    /// A rectangle whose limits are themselves known only to a fraction of the half-width
    /// (curvilinear trapezoid, JCGM 101 6.4.3).
    Trapezoid {
        /// The doubt of each limit over the mean half-width.
        doubt: f64,
    },
}

/// One source of error. Two figures that carry the same source share that error.
#[derive(Debug, Clone, PartialEq)]
pub struct ErrorSource {
    /// Identity: sources of equal identity are one and the same error.
    pub id: SourceId,
    /// Standard uncertainty, in the unit in which it enters; `None` if it is not known.
    pub u: Option<f64>,
    /// The standard uncertainty that is assumed where `u` is not known: a width that is usual for
    /// the kind (`docs/formulas.md`, section 16). `None`: nothing can be assumed.
    pub assumed: Option<f64>,
    /// Degrees of freedom of `u`; infinite if `u` is taken as known.
    pub dof: f64,
    /// How its error is distributed.
    pub shape: ErrorShape,
    /// The standard deviation that `u` rests on, where other sources rest on the same one. The
    /// errors of these sources are independent, but if `u` is wrong, it is wrong for all of them.
    pub pool: Option<SourceId>,
}

impl ErrorSource {
    /// A normal source.
    pub fn new(id: impl Into<SourceId>, u: Option<f64>, dof: f64) -> Arc<ErrorSource> {
        Arc::new(ErrorSource {
            id: id.into(),
            u,
            assumed: None,
            dof,
            shape: ErrorShape::Normal,
            pool: None,
        })
    }

    /// A source that nobody stated, which is assumed to lie within ±`half_width` (rectangular).
    pub fn lacking(id: impl Into<SourceId>, half_width: f64) -> Arc<ErrorSource> {
        Arc::new(ErrorSource {
            id: id.into(),
            u: None,
            assumed: Some(half_width.abs() / 3f64.sqrt()),
            dof: f64::INFINITY,
            shape: ErrorShape::Rectangular,
            pool: None,
        })
    }

    /// The order of the sources of an estimate: by identity. One and the same source is equal to
    /// itself without a look at its identity.
    pub(super) fn order(self: &Arc<ErrorSource>, other: &Arc<ErrorSource>) -> Ordering {
        match Arc::ptr_eq(self, other) {
            true => Ordering::Equal,
            false => self.id.cmp(&other.id),
        }
    }

    /// Standard uncertainty, known or assumed.
    pub fn width(&self) -> Option<f64> {
        self.u.or(self.assumed)
    }

    /// A normal source whose `u` rests on a standard deviation that other sources rest on too, such
    /// as a pooled repeatability.
    pub fn pooled(
        id: impl Into<SourceId>,
        u: f64,
        dof: f64,
        pool: impl Into<SourceId>,
    ) -> Arc<ErrorSource> {
        Arc::new(ErrorSource {
            id: id.into(),
            u: Some(u),
            assumed: None,
            dof,
            shape: ErrorShape::Normal,
            pool: Some(pool.into()),
        })
    }

    /// A source known only by the limits ±`half_width`: u = a/√3, a/√6 or a/√2 by its shape
    /// (JCGM 100 4.3).
    pub fn limits(
        id: impl Into<SourceId>,
        half_width: f64,
        shape: ErrorShape,
        dof: f64,
    ) -> Arc<ErrorSource> {
        let divisor: f64 = match shape {
            ErrorShape::Normal => 1.0,
            ErrorShape::Rectangular => 3.0,
            ErrorShape::Triangular => 6.0,
            ErrorShape::Arcsine => 2.0,
            // Variance of a rectangle whose half-width is itself uniform: (a² + d²/3)/3.
            ErrorShape::Trapezoid { doubt } => 3.0 / (1.0 + doubt * doubt / 3.0),
        };
        let u = Some(half_width.abs() / divisor.sqrt());
        Arc::new(ErrorSource {
            id: id.into(),
            u,
            assumed: None,
            dof,
            shape,
            pool: None,
        })
    }

    /// The rounding of a display with steps of `step`: u = q/√12.
    pub fn resolution(id: impl Into<SourceId>, step: f64) -> Arc<ErrorSource> {
        ErrorSource::limits(id, step / 2.0, ErrorShape::Rectangular, f64::INFINITY)
    }
}
