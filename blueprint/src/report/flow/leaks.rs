//! What is said of the flow bench's leak, which is taken off what was read.

use std::collections::BTreeMap;

use crate::engine::Engine;
use crate::readings::{FlowParts, Reading, ReadingValue};
use crate::spot::Spot;

/// The remark about the leak that was taken off; `None` where none was. A leak that was measured
/// between two readings of one spot is taken off the mean of both.
pub(crate) fn remark(spots: &BTreeMap<&Spot, Vec<&Reading>>, engine: &Engine) -> Option<String> {
    let flow = |reading: &&&Reading| matches!(reading.value, ReadingValue::Flow(_));
    let parts = |reading: &&Reading| -> Option<FlowParts> {
        match &reading.value {
            ReadingValue::Flow(parts) => Some((**parts).clone()),
            ReadingValue::One(_) => None,
        }
    };
    let (mut low, mut high, mut with, mut before) = (f64::INFINITY, 0.0f64, 0, Vec::new());
    for (spot, readings) in spots {
        let leaks: Vec<f64> = readings
            .iter()
            .filter_map(|reading| Some(parts(reading)?.leak.as_ref()?.base()))
            .collect();
        if leaks.is_empty() {
            continue;
        }
        with += 1;
        low = leaks.iter().copied().fold(low, f64::min);
        high = leaks.iter().copied().fold(high, f64::max);
        if leaks.len() < readings.iter().filter(flow).count() {
            before.push(spot.to_string());
        }
    }
    if with == 0 {
        return None;
    }
    let unit = engine.flow_unit();
    let [low, high] = [low, high].map(|leak| format!("{:.2}", unit.from_base(leak)));
    let much = match low == high {
        true => format!("{low} {unit}"),
        false => format!("{low} to {high} {unit}"),
    };
    let spots = if with == 1 { "spot" } else { "spots" };
    let mut text = format!(
        "The leak of the flow bench is taken off at {with} {spots}: {much} at the test pressure."
    );
    if !before.is_empty() {
        text += &format!(
            " Some readings were made before the leak was measured; it is taken off them as well: {}.",
            before.join(", ")
        );
    }
    Some(text)
}
