//! How a gauge's own number becomes the figure of a spot.
//!
//! The sense and the zero of a length gauge are applied here and nowhere else.

use benchhand_drivers::Unit;
use benchhand_wire::{Reason, Refusal};

use crate::capture::Taken;
use crate::route::Figuring;

/// What is known of a gauge's sense and zero when its values are used.
#[derive(Debug, Clone, PartialEq)]
pub struct Basis {
    /// The gauge's name, for messages.
    pub gauge: String,
    /// +1 where its number grows as the plunger is pushed in, −1 where it shrinks.
    pub sense: f64,
    /// What it showed at its last zeroing in this job.
    pub zero: Option<(f64, Unit)>,
}

impl Basis {
    /// The figure of a raw value, in the same unit.
    ///
    /// # Errors
    /// Where a zero is needed and none was set, or it was set in another unit.
    pub fn figure(&self, figuring: Figuring, raw: f64, unit: Unit) -> Result<f64, Refusal> {
        let towards = match figuring {
            Figuring::AsCaptured => return Ok(raw),
            Figuring::BelowZero => self.sense,
            Figuring::AboveZero => -self.sense,
        };
        let Some((zero, zero_unit)) = self.zero else {
            return Err(Refusal::new(
                Reason::Conflict,
                format!("{} has no zero in this job", self.gauge),
            )
            .todo(format!(
                "set the gauge on its zero face and run `gauge zero {}`",
                self.gauge
            )));
        };
        if zero_unit != unit {
            return Err(Refusal::new(
                Reason::Conflict,
                format!(
                    "{} was zeroed in {zero_unit} and now sends {unit}",
                    self.gauge
                ),
            )
            .todo("switch the gauge back, or zero it again in the unit it sends now"));
        }
        Ok(towards * (zero - raw))
    }
}

/// The figure of a captured value.
///
/// # Errors
/// As for [`Basis::figure`].
pub fn figure_of(figuring: Figuring, basis: &Basis, taken: &Taken) -> Result<f64, Refusal> {
    basis.figure(figuring, taken.value, taken.unit)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn basis(sense: f64) -> Basis {
        Basis {
            gauge: "dial".to_owned(),
            sense,
            zero: Some((10.0, Unit::Millimetre)),
        }
    }

    #[test]
    fn a_plunger_that_goes_further_out_means_a_piston_below_the_deck() {
        let raw = 9.5;
        let below = basis(1.0)
            .figure(Figuring::BelowZero, raw, Unit::Millimetre)
            .unwrap();
        assert_eq!(below, 0.5);
        let reversed = basis(-1.0)
            .figure(Figuring::BelowZero, 10.5, Unit::Millimetre)
            .unwrap();
        assert_eq!(reversed, 0.5);
    }

    #[test]
    fn a_gasket_on_the_plate_pushes_the_plunger_in() {
        let above = basis(1.0)
            .figure(Figuring::AboveZero, 11.0, Unit::Millimetre)
            .unwrap();
        assert_eq!(above, 1.0);
    }

    #[test]
    fn a_zero_in_another_unit_is_refused_and_names_both() {
        let refused = basis(1.0)
            .figure(Figuring::BelowZero, 0.4, Unit::Inch)
            .unwrap_err();
        assert!(refused.found.contains("mm") && refused.found.contains("in"));
    }
}
