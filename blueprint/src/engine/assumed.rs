//! The widths that are assumed where nobody stated an uncertainty. Without them, stating less would
//! make a verdict surer.
//!
//! Each is a half-width within which instruments and parts, good and bad, are expected to lie;
//! `docs/formulas.md`, section 16, has the table with its sources. An assumed width never enters
//! the u of a figure, where it is listed as lacking. It enters every verdict.

use super::GaugeKind;
use crate::figure::{EngineDimension, SourceId, SourceKind, SourceOwner};
use crate::units::QuantityKind;

/// Half-width of a gauge's calibration that nobody stated, in the base unit of what it measures.
pub(crate) fn calibration(kind: GaugeKind) -> f64 {
    match kind {
        GaugeKind::Burette => 0.2,
        GaugeKind::Balance => 0.5,
        GaugeKind::Dial | GaugeKind::Micrometer => 0.025,
        GaugeKind::Manometer => 125.0,
        GaugeKind::Thermometer => 2.0,
        GaugeKind::Barometer => 500.0,
        GaugeKind::Hygrometer => 10.0,
        GaugeKind::Protractor => 1.0,
    }
}

/// Half-width within which a usual gauge of a quantity reads, in the quantity's base unit; `None` where
/// no sort of gauge is usual.
pub fn usual_width(kind: QuantityKind) -> Option<f64> {
    usual_gauge(kind).map(calibration)
}

/// Half-width of setting up anew where nobody stated a repeatability and nothing was set up twice,
/// in base units.
pub(crate) fn repeatability(kind: GaugeKind) -> f64 {
    match kind {
        GaugeKind::Burette | GaugeKind::Balance => 0.5,
        GaugeKind::Dial | GaugeKind::Micrometer => 0.025,
        GaugeKind::Manometer => 125.0,
        GaugeKind::Thermometer => 1.0,
        GaugeKind::Barometer => 100.0,
        GaugeKind::Hygrometer => 3.0,
        GaugeKind::Protractor => 0.5,
    }
}

/// Half-width of a zeroing whose uncertainty nobody stated, in base units. `None` for gauges that
/// are not zeroed by hand, and for those whose reading is a difference.
pub(crate) fn zero(kind: GaugeKind) -> Option<f64> {
    match kind {
        GaugeKind::Dial => Some(0.02),
        GaugeKind::Manometer => Some(25.0),
        _ => None,
    }
}

/// How much a blower may have warmed the air, K, where nobody measured the temperature behind it.
pub(crate) const BEHIND_BLOWER: f64 = 20.0;

/// What may stand in a plate's fill hole, cc: 6 mm wide through a plate of 12 mm.
pub(crate) const FILL_HOLE: f64 = 0.4;

/// How far a chamber may differ, cc, with other valves and plugs than those that run.
pub(crate) const VALVES_AND_PLUGS: f64 = 1.0;

/// The sort of gauge that a quantity is usually measured with.
pub(crate) fn usual_gauge(kind: QuantityKind) -> Option<GaugeKind> {
    Some(match kind {
        QuantityKind::Volume => GaugeKind::Burette,
        QuantityKind::Mass => GaugeKind::Balance,
        QuantityKind::Length => GaugeKind::Dial,
        QuantityKind::Pressure => GaugeKind::Manometer,
        QuantityKind::Temperature => GaugeKind::Thermometer,
        QuantityKind::Humidity => GaugeKind::Hygrometer,
        QuantityKind::Angle => GaugeKind::Protractor,
        _ => return None,
    })
}

/// Half-width of a dimension that is stated without one, in the base unit of its kind.
pub(crate) fn dimension(id: &SourceId, kind: QuantityKind, value: f64) -> f64 {
    let value = value.abs();
    match (&id.whose, &id.what) {
        (SourceOwner::Dimension(dimension, _), _) => of_dimension(*dimension, value),
        (SourceOwner::Orifice(_), SourceKind::DischargeCoefficient) => 0.05 * value,
        (SourceOwner::Orifice(_), SourceKind::Diameter) => 0.1,
        _ => of_kind(kind, value),
    }
}

fn of_dimension(dimension: EngineDimension, value: f64) -> f64 {
    match dimension {
        EngineDimension::Bore => 0.05,
        EngineDimension::Stroke => 0.1,
        EngineDimension::Crown => (0.1 * value).max(1.0),
        EngineDimension::Crevice => (0.3 * value).max(0.2),
        EngineDimension::GasketBore => 0.5,
        EngineDimension::GasketThickness => 0.1,
        EngineDimension::Rod => 0.1,
        EngineDimension::BlockHeight => 0.25,
        EngineDimension::CompressionHeight => 0.05,
        EngineDimension::Skirt => 0.03,
        EngineDimension::PinOffset => 0.2,
        EngineDimension::Valve => 0.1,
        EngineDimension::Throat => 0.3,
        EngineDimension::Stem => 0.05,
        EngineDimension::Seat => 0.1 * value,
        EngineDimension::Inclination => 2.0,
        EngineDimension::Lift => 0.1,
    }
}

fn of_kind(kind: QuantityKind, value: f64) -> f64 {
    match kind {
        QuantityKind::Length => 0.1,
        QuantityKind::Volume => 1.0,
        QuantityKind::Angle => 1.0,
        QuantityKind::Temperature => 2.0,
        QuantityKind::Humidity => 10.0,
        QuantityKind::Density => 0.01 * value,
        QuantityKind::Flow => 0.03 * value,
        _ => 0.05 * value,
    }
}
