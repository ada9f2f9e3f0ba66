//! Rows of a readings file, and the parts of flow readings put together.

use std::collections::BTreeMap;

use crate::readings::{FlowParts, MeasuredValue, Reading, ReadingValue};
use crate::spot::{FlowPart, Spot};

/// A row that was read: a whole reading, or one part of a flow reading.
pub(super) struct Row {
    pub(super) reading: Reading,
    pub(super) part: Option<FlowPart>,
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
            window_u: None,
            shared: None,
        };
        let key = (reading.spot.clone(), reading.stage.clone());
        let begun = open.get(&key).and_then(|&at| readings.get_mut(at));
        if let Some(ReadingValue::Flow(parts)) = begun.map(|reading| &mut reading.value) {
            let place = parts.part_mut(part);
            if place.is_none() {
                *place = Some(measured);
                continue;
            }
        }
        let mut parts = FlowParts::default();
        *parts.part_mut(part) = Some(measured);
        reading.value = ReadingValue::Flow(Box::new(parts));
        open.insert(key, readings.len());
        readings.push(reading);
    }
    readings
}
