//! What a flow reading comes to, in a line: flow at the reference depression, with the pressures behind
//! it.

use benchhand_blueprint::report::Report;

use crate::lifts::lifts_in;
use crate::spots;
use crate::stated::{bare, plain, unit_after};

/// `flow 2 intake 0.400 in: 220.4 cfm at 28.00 inH2O (test 27.50 inH2O, metering 6.60 inH2O)`; `None`
/// where the spot's flow is not known.
pub fn flowed(report: &Report, spot: &str) -> Option<String> {
    let mut all = report.flow.iter();
    let found = all.find(|one| one.spot.to_string() == spot)?;
    let flow = found.flow_at_reference.as_ref()?;
    let at = report.inputs.reference_depression.as_ref();
    let at = at.map_or(String::new(), |at| format!(" at {}", bare(at)));
    let pressures = [
        ("test", &found.test_pressure),
        ("metering", &found.metering_pressure),
    ];
    let behind: Vec<String> = pressures
        .iter()
        .filter_map(|(name, one)| {
            let one = one.as_ref()?;
            Some(format!("{name} {}{}", plain(one), unit_after(one.unit)))
        })
        .collect();
    let behind = match behind.is_empty() {
        true => String::new(),
        false => format!(" ({})", behind.join(", ")),
    };
    let told = format!(
        "{}: {}{}{at}{behind}",
        spots::said(spot),
        plain(flow),
        unit_after(flow.unit)
    );
    Some(lifts_in(&told, report.units))
}
