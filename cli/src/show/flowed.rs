//! The flow that a reading of two pressures comes to.

use benchhand_wire::Figure;
use serde_json::Value;

use super::figure::{cell, plain};

/// The flow at the reference depression of a spot, as the report's document has it: `123.4 ± 1.1 cfm
/// at 28 inH2O`. `None` where the report has none.
pub(crate) fn flowed(document: &Value, spot: &str) -> Option<String> {
    let figure = |value: &Value| serde_json::from_value::<Figure>(value.clone()).ok();
    let of_spot = |one: &&Value| one["spot"] == spot;
    let found = document["flow"].as_array()?.iter().find(of_spot)?;
    let flow = figure(&found["flow_at_reference"])?;
    let at = figure(&document["inputs"]["reference_depression"]);
    let at = at.map(|at| format!(" at {}", plain(at.value, &at.unit)));
    Some(format!(
        "{} {}{}",
        cell(&flow),
        flow.unit,
        at.unwrap_or_default()
    ))
}
