//! Rows of a readings file, and the parts of flow readings put together.

use std::collections::BTreeMap;

use crate::readings::{FlowParts, MeasuredValue, Reading, ReadingValue};
use crate::spot::Spot;
use crate::units::QuantityKind;

/// A row that was read: a whole reading, or one part of a flow reading.
pub(super) struct Row {
    pub(super) reading: Reading,
    pub(super) part: Option<Part>,
}

/// A part of a flow reading, as its row names it.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Part {
    Test,
    Metering,
    Flow,
    Leak,
    Lift,
    Temperature,
    PlenumTemperature,
}

impl Part {
    pub(super) const NAMES: [(&'static str, Part); 7] = [
        ("test", Part::Test),
        ("metering", Part::Metering),
        ("flow", Part::Flow),
        ("leak", Part::Leak),
        ("lift", Part::Lift),
        ("temperature", Part::Temperature),
        ("plenum_temperature", Part::PlenumTemperature),
    ];

    pub(super) fn kind(self) -> QuantityKind {
        match self {
            Part::Test | Part::Metering => QuantityKind::Pressure,
            Part::Flow | Part::Leak => QuantityKind::Flow,
            Part::Lift => QuantityKind::Length,
            Part::Temperature | Part::PlenumTemperature => QuantityKind::Temperature,
        }
    }

    fn of(self, parts: &mut FlowParts) -> &mut Option<MeasuredValue> {
        match self {
            Part::Test => &mut parts.test,
            Part::Metering => &mut parts.metering,
            Part::Flow => &mut parts.flow,
            Part::Leak => &mut parts.leak,
            Part::Lift => &mut parts.lift,
            Part::Temperature => &mut parts.temperature,
            Part::PlenumTemperature => &mut parts.plenum_temperature,
        }
    }
}

/// Puts the parts of each flow reading together: a part that the reading before it at the same
/// spot and stage has already begins the next one.
pub(super) fn gather(rows: Vec<Row>) -> Vec<Reading> {
    let mut readings: Vec<Reading> = Vec::new();
    let mut open: BTreeMap<(Spot, String), usize> = BTreeMap::new();
    for Row { mut reading, part } in rows {
        let (Some(part), ReadingValue::One(quantity)) = (part, &reading.value) else {
            readings.push(reading);
            continue;
        };
        let measured = MeasuredValue {
            value: quantity.value,
            unit: quantity.unit,
            u: reading.u.take(),
            dof: reading.dof.take(),
            gauge: reading.gauge.take(),
            step: reading.step.take(),
            shared: None,
        };
        let key = (reading.spot.clone(), reading.stage.clone());
        if let Some(ReadingValue::Flow(parts)) = open.get(&key).map(|&at| &mut readings[at].value) {
            let place = part.of(parts);
            if place.is_none() {
                *place = Some(measured);
                continue;
            }
        }
        let mut parts = FlowParts::default();
        *part.of(&mut parts) = Some(measured);
        reading.value = ReadingValue::Flow(Box::new(parts));
        open.insert(key, readings.len());
        readings.push(reading);
    }
    readings
}
