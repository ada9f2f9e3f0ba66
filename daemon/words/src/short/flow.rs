//! Flow at the reference depression: a row a port, a column a lift.

use benchhand_blueprint::report::Report;

use super::averages::unit;
use crate::digits::{rounded, usual_decimals};
use crate::rows::{Align, lines as rows_of};

/// Lifts that fit beside each other.
const MOST_LIFTS: usize = 6;

pub(super) fn lines(report: &Report) -> Vec<String> {
    let all = &report.flow_by_lift;
    let Some(first) = all.first() else {
        return Vec::new();
    };
    let mut ports: Vec<(&str, Option<&str>)> = Vec::new();
    let mut lifts: Vec<f64> = Vec::new();
    for one in all {
        let port = (one.port.as_str(), one.runner.as_deref());
        if !ports.contains(&port) {
            ports.push(port);
        }
        if !lifts.contains(&one.lift.value) {
            lifts.push(one.lift.value);
        }
    }
    lifts.sort_by(f64::total_cmp);
    // The highest lifts are where a port is judged; the long report has all.
    let of = lifts.len();
    lifts.drain(..of.saturating_sub(MOST_LIFTS));
    let left_out = match of > MOST_LIFTS {
        true => format!(" (of {of})"),
        false => String::new(),
    };
    let found = |port: (&str, Option<&str>), lift: f64| {
        let mut all = all.iter();
        all.find(|one| (one.port.as_str(), one.runner.as_deref()) == port && one.lift.value == lift)
    };
    let at = report.inputs.reference_depression.as_ref();
    let at = at.map_or(String::new(), |at| {
        format!(" at {} {}", rounded(at.value, 0), at.unit.symbol())
    });
    let flow = match unit(first.mean.unit.symbol()).as_str() {
        ":1" => "Flow as a ratio of areas".to_owned(),
        symbol => format!("Flow, {symbol}{at}"),
    };
    let lift_unit = first.lift.unit.symbol();
    let decimals = usual_decimals(lift_unit) - 1;
    let mut heading = vec![flow, format!("lift{left_out} {lift_unit}")];
    heading.extend(lifts.iter().map(|lift| rounded(*lift, decimals)));
    let mut table = vec![heading];
    for port in ports {
        let name = match port {
            (port, Some(runner)) => format!("  {port} {runner}"),
            (port, None) => format!("  {port}"),
        };
        let mut row = vec![name, String::new()];
        row.extend(lifts.iter().map(|lift| match found(port, *lift) {
            Some(one) => rounded(one.mean.value, usual_decimals(one.mean.unit.symbol())),
            None => "-".to_owned(),
        }));
        table.push(row);
    }
    let mut aligned = vec![Align::Right; 2 + lifts.len()];
    aligned[0] = Align::Left;
    rows_of(&aligned, &table)
}
