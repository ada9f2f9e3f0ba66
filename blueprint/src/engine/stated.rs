//! A value that a person stated, with or without its uncertainty.

use super::assumed;
use crate::figure::{ErrorShape, ErrorSource, Estimate, SourceId};
use crate::units::{Quantity, QuantityError, QuantityKind, split_number, written_step};

/// A stated value in base units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StatedValue {
    /// As written.
    pub written: Quantity,
    /// The value in the base unit of its kind.
    pub value: f64,
    /// Standard uncertainty in base units; `None` if none is stated.
    pub u: Option<f64>,
    /// Degrees of freedom of `u`.
    pub dof: f64,
    /// How the error is distributed.
    pub shape: ErrorShape,
    /// The step of its last digit as it was written, in base units, where that is known.
    pub step: Option<f64>,
}

/// What is wrong with a stated value.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum StatedError {
    /// The value or its uncertainty cannot be read.
    #[error(transparent)]
    Quantity(#[from] QuantityError),
    /// The uncertainty is negative.
    #[error("found the uncertainty {0}, expected one that is not negative")]
    Negative(String),
}

impl StatedValue {
    /// A value of a given kind, of unknown uncertainty.
    pub fn new(written: Quantity, kind: QuantityKind) -> Result<StatedValue, StatedError> {
        let value = written.expect(kind)?.base();
        Ok(StatedValue {
            written,
            value,
            u: None,
            dof: f64::INFINITY,
            shape: ErrorShape::Normal,
            step: None,
        })
    }

    /// Reads "4.030 in" or "4.030 in +- 0.0005 in"; what follows `+-` or `±` is one standard
    /// uncertainty.
    pub fn parse(text: &str, kind: QuantityKind) -> Result<StatedValue, StatedError> {
        let split = ["+-", "+/-", "±"]
            .iter()
            .find_map(|sign| text.split_once(sign));
        let Some((value, u)) = split else {
            return StatedValue::written(text, kind);
        };
        StatedValue::written(value, kind)?.with_u(u.parse()?)
    }

    fn written(text: &str, kind: QuantityKind) -> Result<StatedValue, StatedError> {
        let stated = StatedValue::new(text.parse()?, kind)?;
        let step = written_step(split_number(text.trim()).0);
        Ok(StatedValue {
            step: step.map(|step| stated.written.unit.difference_to_base(step)),
            ..stated
        })
    }

    /// The same value with this standard uncertainty.
    pub fn with_u(self, u: Quantity) -> Result<StatedValue, StatedError> {
        let size = u
            .unit
            .difference_to_base(u.expect(self.written.unit.kind())?.value);
        if size < 0.0 {
            return Err(StatedError::Negative(u.to_string()));
        }
        Ok(StatedValue {
            u: Some(size),
            ..self
        })
    }

    /// The same value, known only to lie within ± a limit: u = limit/√3.
    pub fn with_limits(self, limit: Quantity) -> Result<StatedValue, StatedError> {
        let with = self.with_u(limit)?;
        let u = with.u.map(|limit| limit / 3f64.sqrt());
        Ok(StatedValue {
            u,
            shape: ErrorShape::Rectangular,
            ..with
        })
    }

    /// As an estimate whose error has this identity. A value that is stated once for several
    /// cylinders has one identity, so its error is shared. A value without an uncertainty is
    /// lacking it: a maker's dimension is not as good as its digits.
    pub fn estimate(&self, id: impl Into<SourceId>) -> Estimate {
        let id = id.into();
        if self.u.is_none() {
            let usual = assumed::dimension(&id, self.written.unit.kind(), self.value);
            let width = usual.max(self.step.unwrap_or(0.0) / 2.0);
            return Estimate::new(self.value, ErrorSource::lacking(id, width));
        }
        let source = ErrorSource {
            id,
            u: self.u,
            assumed: None,
            dof: self.dof,
            shape: self.shape,
            pool: None,
        };
        Estimate::new(self.value, source.into())
    }

    /// As an estimate of a value that was measured and typed: without an uncertainty it is known to
    /// half of its last digit. One that is written more coarsely than such values are uncertain, as
    /// "145 mm" of a rod, was not measured to that digit: it is lacking what is usual.
    pub fn measured(&self, id: impl Into<SourceId>) -> Estimate {
        let id = id.into();
        let usual = assumed::dimension(&id, self.written.unit.kind(), self.value);
        match (self.u, self.step) {
            (None, Some(step)) if step / 2.0 > usual => {
                Estimate::new(self.value, ErrorSource::lacking(id, usual))
            }
            (None, Some(step)) => Estimate::new(self.value, ErrorSource::resolution(id, step)),
            _ => self.estimate(id),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn uncertainty_may_be_in_another_unit_than_the_value() {
        let bore = StatedValue::parse("4.030 in +- 0.0127 mm", QuantityKind::Length).unwrap();
        assert_eq!(bore.value, 4.030 * 25.4);
        assert_eq!(bore.u, Some(0.0127));
        assert_eq!(
            StatedValue::parse("4.030 in", QuantityKind::Length)
                .unwrap()
                .u,
            None
        );
        assert_eq!(
            StatedValue::parse("64 cc ± 0.1 cc", QuantityKind::Volume)
                .unwrap()
                .u,
            Some(0.1)
        );
    }

    /// Half of a millimetre is far more than a rod's length is uncertain.
    #[test]
    fn a_size_without_decimals_is_no_measurement_to_its_last_digit() {
        let rod = |text: &str| {
            let stated = StatedValue::parse(text, QuantityKind::Length).unwrap();
            stated.measured("the length of rod A")
        };
        assert_eq!(rod("145 mm").u(), None);
        let assumed = rod("145 mm").expanded_assumed().expect("an assumed width");
        assert!(assumed < 0.15, "{assumed}");
        let half = rod("145.00 mm").u().expect("half of the last digit");
        assert!((half - 0.01 / 12f64.sqrt()).abs() < 1e-12, "{half}");
        assert_eq!(rod("145 mm +- 0.02 mm").u(), Some(0.02));
    }

    #[test]
    fn a_temperature_difference_is_not_shifted_to_another_zero() {
        let warm = StatedValue::parse("68 degF +- 1.8 degF", QuantityKind::Temperature).unwrap();
        assert!((warm.value - 20.0).abs() < 1e-12);
        assert!((warm.u.unwrap() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn mistakes_are_refused() {
        assert!(StatedValue::parse("4.030 in +- 0.0005", QuantityKind::Length).is_err());
        assert!(StatedValue::parse("4.030 in +- -0.0005 in", QuantityKind::Length).is_err());
        assert!(StatedValue::parse("4.030 cc", QuantityKind::Length).is_err());
    }
}
