//! The temperatures and the air for the readings of one spot: as they were said of each reading,
//! else as the engine file states them.

use crate::engine::{Engine, StatedValue};
use crate::figure::{Estimate, Scalar, SourceId};
use crate::formula::flow::RoomAir;
use crate::readings::{ConditionValue, Reading, ReadingConditions};

/// The mean over the readings of something that each of them, or else the engine file, says;
/// `None` where nothing is known of it for one of them.
pub(super) fn mean_of(
    readings: &[&Reading],
    said: fn(&ReadingConditions) -> Option<&ConditionValue>,
    stated: Option<StatedValue>,
    name: &str,
) -> Option<Estimate> {
    let stated = stated.map(|stated| stated.measured(SourceId::condition(name)));
    if readings.is_empty() {
        return stated;
    }
    let each: Option<Vec<Estimate>> = readings
        .iter()
        .map(|reading| {
            let own = reading.conditions.as_deref().and_then(said);
            own.map(ConditionValue::estimate).or_else(|| stated.clone())
        })
        .collect();
    Estimate::mean(&each?)
}

/// The room's air, where its pressure, temperature and humidity are all known.
pub(super) fn room(engine: &Engine, readings: &[&Reading]) -> Option<RoomAir<Estimate>> {
    let bench = &engine.flow;
    let of = |said, stated, name| mean_of(readings, said, stated, name);
    let humidity = of(
        |said| said.humidity.as_ref(),
        bench.humidity,
        "air humidity",
    )?;
    Some(RoomAir {
        pressure: of(
            |said| said.air_pressure.as_ref(),
            bench.air_pressure,
            "air pressure",
        )?,
        temperature: of(
            |said| said.air_temperature.as_ref(),
            bench.air_temperature,
            "air temperature",
        )?,
        humidity: humidity.scale(0.01),
    })
}
