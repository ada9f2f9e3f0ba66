//! How a gauge's own number becomes the figure of a spot.
//!
//! The sense and the zero of a length gauge are applied here and nowhere else.

use benchhand_drivers::Unit;
use benchhand_wire::{Reason, Refusal};

use crate::capture::CapturedValue;
use crate::known::correcting::ChannelCorrection;
use crate::route::FigureRule;

/// What is known of a gauge's sense and zero when its values become figures.
#[derive(Debug, Clone, PartialEq)]
pub struct FigureBasis {
    /// The gauge's name, for messages.
    pub gauge: String,
    /// +1 where the gauge's number grows as the plunger is pushed in, −1 where it shrinks.
    pub sense: f64,
    /// What the gauge showed at its last zeroing in this job.
    pub zero: Option<(f64, Unit)>,
    /// How far that zero is from where the plunger stood: the size of a master that was not 0.
    pub master: f64,
    /// The correction from the gauge's last check.
    pub correction: Option<ChannelCorrection>,
    /// Whether a value is the difference of two levels (a delivery).
    pub delivered: bool,
}

impl FigureBasis {
    /// The figure of a raw value, in the same unit.
    ///
    /// # Errors
    /// Where a zero is needed and none was set, or the zero was set in another unit.
    pub fn figure(&self, figuring: FigureRule, raw: f64, unit: Unit) -> Result<f64, Refusal> {
        let towards = match figuring {
            FigureRule::AsCaptured => return Ok(raw + self.added(raw, unit)),
            FigureRule::BelowZero => self.sense,
            FigureRule::AboveZero => -self.sense,
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
        // The check counted how far the plunger was pushed in; so does the correction.
        let stood = zero - towards * self.master;
        let pushed_in = self.sense * (raw - stood);
        let added = towards * self.sense * self.added(pushed_in, unit);
        Ok(towards * (zero - raw) - added)
    }

    fn added(&self, shown: f64, unit: Unit) -> f64 {
        let at = |correction: &ChannelCorrection| correction.at(shown, unit, self.delivered);
        self.correction.as_ref().map_or(0.0, at)
    }
}

/// The figure of a captured value.
///
/// # Errors
/// As for [`FigureBasis::figure`].
pub fn figure_of(
    figuring: FigureRule,
    basis: &FigureBasis,
    taken: &CapturedValue,
) -> Result<f64, Refusal> {
    basis.figure(figuring, taken.value, taken.unit)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn basis(sense: f64) -> FigureBasis {
        FigureBasis {
            gauge: "dial".to_owned(),
            sense,
            zero: Some((10.0, Unit::Millimetre)),
            master: 0.0,
            correction: None,
            delivered: false,
        }
    }

    /// A gauge that shows 1 % too little of how far its plunger is pushed in, and 0.02 mm besides.
    #[test]
    fn what_the_check_found_is_added_whichever_way_the_figure_counts() {
        let correction = Some(ChannelCorrection {
            offset: "0.02 mm".parse().unwrap(),
            scale: 0.01,
            deliveries: false,
        });
        for sense in [1.0, -1.0] {
            let basis = FigureBasis {
                correction,
                ..basis(sense)
            };
            let raw = 10.0 + sense * 2.0;
            let above = basis.figure(FigureRule::AboveZero, raw, Unit::Millimetre);
            assert!((above.unwrap() - 2.04).abs() < 1e-12, "pushed in by 2.04");
            let below = basis.figure(FigureRule::BelowZero, raw, Unit::Millimetre);
            assert!((below.unwrap() + 2.04).abs() < 1e-12, "2.04 above the deck");
            // A ring of 100 mm: the bore is smaller by as much as the plunger is pushed in.
            let ring = FigureBasis {
                zero: Some((10.0 + sense * 100.0, Unit::Millimetre)),
                master: 100.0,
                ..basis
            };
            let bore = ring.figure(FigureRule::BelowZero, raw, Unit::Millimetre);
            assert!((bore.unwrap() - 97.96).abs() < 1e-9);
        }
    }

    #[test]
    fn a_gauge_without_a_zero_is_corrected_by_what_it_shows() {
        let basis = FigureBasis {
            zero: None,
            correction: Some(ChannelCorrection {
                offset: "-0.2 cc".parse().unwrap(),
                scale: 0.001,
                deliveries: true,
            }),
            delivered: true,
            ..basis(1.0)
        };
        let figure = basis.figure(FigureRule::AsCaptured, 64.0, Unit::CubicCentimetre);
        assert!((figure.unwrap() - 63.864).abs() < 1e-12);
    }

    #[test]
    fn a_plunger_that_goes_further_out_means_a_piston_below_the_deck() {
        let raw = 9.5;
        let below = basis(1.0)
            .figure(FigureRule::BelowZero, raw, Unit::Millimetre)
            .unwrap();
        assert_eq!(below, 0.5);
        let reversed = basis(-1.0)
            .figure(FigureRule::BelowZero, 10.5, Unit::Millimetre)
            .unwrap();
        assert_eq!(reversed, 0.5);
    }

    #[test]
    fn a_gasket_on_the_plate_pushes_the_plunger_in() {
        let above = basis(1.0)
            .figure(FigureRule::AboveZero, 11.0, Unit::Millimetre)
            .unwrap();
        assert_eq!(above, 1.0);
    }

    #[test]
    fn a_zero_in_another_unit_is_refused_and_names_both() {
        let refused = basis(1.0)
            .figure(FigureRule::BelowZero, 0.4, Unit::Inch)
            .unwrap_err();
        assert!(refused.found.contains("mm") && refused.found.contains("in"));
    }
}
