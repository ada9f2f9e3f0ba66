//! The repeats of one spot, in base units.

use std::collections::BTreeMap;

use super::liquid::{per_gram, per_gram_as_read};
use crate::engine::{Engine, GaugeEntry, assumed};
use crate::figure::Estimate;
use crate::readings::{MeasuredValue, Reading};
use crate::spot::Spot;
use crate::units::QuantityKind;

/// The gauges by name.
pub(crate) type Gauges = BTreeMap<String, GaugeEntry>;

/// The repeats of one spot.
pub(crate) struct Set<'a> {
    pub(crate) spot: &'a Spot,
    /// The readings, with their values in base units.
    pub(crate) readings: Vec<(&'a Reading, MeasuredValue)>,
    /// Volume of one gram, cc, for volumes that were weighed; where some were poured, as a burette would
    /// have read it. Weights of a liquid of unknown
    /// density are left out.
    pub(crate) per_gram: Option<Estimate>,
}

impl<'a> Set<'a> {
    pub(crate) fn new(spot: &'a Spot, readings: &[&'a Reading], engine: &Engine) -> Set<'a> {
        let mut measured: Vec<(&'a Reading, MeasuredValue)> = readings
            .iter()
            .filter_map(|reading| Some((*reading, reading.measured()?)))
            .collect();
        let weights = measured.iter().filter(|(_, one)| is_weight(one)).count();
        let weighed = engine.kind_of(spot) == QuantityKind::Volume && weights > 0;
        let per_gram = match weights == measured.len() {
            true => per_gram,
            false => per_gram_as_read,
        };
        let per_gram = weighed.then(|| per_gram(engine, readings)).flatten();
        if weighed && per_gram.is_none() {
            measured.retain(|(_, one)| !is_weight(one));
        }
        Set {
            spot,
            readings: measured,
            per_gram,
        }
    }

    pub(super) fn values(&self) -> Vec<f64> {
        self.readings
            .iter()
            .map(|(_, measured)| self.factor_of(measured) * measured.base())
            .collect()
    }

    /// Whether all readings are weights of a volume. Of a spot that was poured too, weights count as a
    /// burette would have read them.
    pub(crate) fn weighed(&self) -> bool {
        let mut all = self.readings.iter();
        !self.readings.is_empty() && all.all(|(_, measured)| is_weight(measured))
    }

    /// The factor from a reading's base unit to the spot's: 1, or the volume of a gram.
    pub(super) fn factor_of(&self, measured: &MeasuredValue) -> f64 {
        match &self.per_gram {
            Some(per_gram) if is_weight(measured) => per_gram.value(),
            _ => 1.0,
        }
    }

    pub(super) fn factor(&self) -> f64 {
        self.readings
            .first()
            .map_or(1.0, |(_, measured)| self.factor_of(measured))
    }

    /// The assumed half-width of setting up anew, base units.
    pub(super) fn unrepeated_width(&self, gauges: &Gauges) -> f64 {
        let width = |measured: &MeasuredValue| {
            self.factor_of(measured) * unrepeated_width(measured, gauges)
        };
        self.readings
            .iter()
            .map(|(_, measured)| width(measured))
            .fold(0.0, f64::max)
    }

    /// The gauge that all repeats share; `None` if they differ or have none.
    pub(super) fn gauge(&self) -> Option<&str> {
        let first = self.readings.first()?.1.gauge.as_deref()?;
        let same = |measured: &MeasuredValue| measured.gauge.as_deref() == Some(first);
        self.readings
            .iter()
            .all(|(_, measured)| same(measured))
            .then_some(first)
    }
}

pub(super) fn is_weight(measured: &MeasuredValue) -> bool {
    measured.unit.kind() == QuantityKind::Mass
}

/// The assumed half-width of setting up a value anew, base units.
pub(crate) fn unrepeated_width(measured: &MeasuredValue, gauges: &Gauges) -> f64 {
    let gauge = measured.gauge.as_ref().and_then(|name| gauges.get(name));
    let kind = gauge.map(|gauge| gauge.kind);
    let kind = kind.filter(|kind| kind.measures() == measured.unit.kind());
    match kind.or_else(|| assumed::usual_gauge(measured.unit.kind())) {
        Some(kind) => assumed::repeatability(kind),
        None => 0.02 * measured.base().abs(),
    }
}
