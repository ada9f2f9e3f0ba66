//! What was ordered beside what was measured since.

use super::dimensions::Dimensions;
use super::document::{Finding, FindingKind, OrderedReport, OrderedSize};
use super::pooled_readings::PooledReadings;
use super::{ReportError, ReportInputs, build};
use crate::decide::{VerdictAnswer, VerdictLimits, verdict};
use crate::figure::{Estimate, Figure};
use crate::spot::{CrownPart, PartLength, Spot};
use crate::units::Unit;

/// A size that was ordered for one cylinder.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SizeOrdered {
    /// The size.
    pub size: OrderedSize,
    /// The cylinder.
    pub cylinder: u32,
    /// What was ordered, in `unit`; a dome is positive.
    pub value: f64,
    /// How far it may be off on either side, in `unit`; `None`: nobody said.
    pub tolerance: Option<f64>,
    /// The unit.
    pub unit: Unit,
}

/// Each size beside what the readings of the stage give for it. What the engine file states is not
/// measured and is not taken for it, nor are readings of parts that were there before: `inputs` must
/// not have those.
///
/// # Errors
/// Where there is no such stage.
pub fn beside_ordered(
    inputs: &ReportInputs<'_>,
    ordered: &[SizeOrdered],
) -> Result<Vec<OrderedReport>, ReportError> {
    build::with_readings(inputs, |readings, _, _| {
        Ok(ordered.iter().map(|one| beside(readings, one)).collect())
    })
}

fn beside(readings: &PooledReadings<'_>, one: &SizeOrdered) -> OrderedReport {
    let chosen = |value| Figure::new(value, Some(0.0), one.unit);
    let measured = measured(readings, one.size, one.cylinder).map(|found| found.figure(one.unit));
    let limits = one.tolerance.map(|tolerance| VerdictLimits {
        least: Some(one.value - tolerance),
        most: Some(one.value + tolerance),
    });
    let judged = measured.as_ref().zip(limits);
    OrderedReport {
        size: one.size,
        cylinder: one.cylinder,
        ordered: chosen(one.value),
        tolerance: one.tolerance.map(chosen),
        difference: measured.as_ref().map(|found| Figure {
            value: found.value - one.value,
            ..found.clone()
        }),
        answer: judged.map(|(found, limits)| verdict(found, limits).answer),
        measured,
    }
}

/// The size as measured; `None` where it was not.
fn measured(readings: &PooledReadings<'_>, size: OrderedSize, cylinder: u32) -> Option<Estimate> {
    match size {
        OrderedSize::Crown => {
            let at = |part| Spot::Crown { cylinder, part };
            let poured = readings.fluids.means.contains_key(&at(CrownPart::Fluid))
                && readings.depths.means.contains_key(&at(CrownPart::Depth));
            let direct = readings.crowns.means.contains_key(&at(CrownPart::Volume));
            let dimensions = Dimensions::of(readings, cylinder);
            let bore = dimensions.bore();
            (direct || poured && bore.is_some())
                .then(|| dimensions.crown(bore.as_ref()))
                .flatten()
        }
        OrderedSize::Bore => readings.measured_bore(cylinder),
        OrderedSize::Height => readings.measured_length(PartLength::Height, cylinder),
        OrderedSize::Skirt => readings.measured_length(PartLength::Skirt, cylinder),
        OrderedSize::Rod => readings.measured_length(PartLength::Rod, cylinder),
    }
}

impl OrderedReport {
    /// The finding that the part is not as it was ordered; `None` where it is, or where that cannot
    /// be told. `told` says both sizes, in words.
    pub fn finding(&self, told: impl FnOnce(&OrderedReport) -> String) -> Option<Finding> {
        (self.answer == Some(VerdictAnswer::Outside)).then(|| Finding {
            spot: format!("{}/{}", self.size, self.cylinder),
            kind: FindingKind::Ordered,
            text: told(self),
            replaced: Vec::new(),
        })
    }
}
