//! Flow at the reference depression: a row a lift, a column a port.

use benchhand_blueprint::report::Report;

use super::averages::unit;
use crate::digits::{rounded, usual_decimals};
use crate::rows::{Align, lines as rows_of};

/// Ports that fit beside each other.
const MOST_PORTS: usize = 4;

pub(super) fn lines(report: &Report) -> Vec<String> {
    let all = &report.flow_by_lift;
    let mut ports: Vec<(String, Option<String>)> = Vec::new();
    let mut lifts: Vec<f64> = Vec::new();
    for one in all {
        let port = (one.port.clone(), one.runner.clone());
        if !ports.contains(&port) {
            ports.push(port);
        }
        if !lifts.contains(&one.lift.value) {
            lifts.push(one.lift.value);
        }
    }
    ports.truncate(MOST_PORTS);
    lifts.sort_by(f64::total_cmp);
    let Some(first) = all.first() else {
        return Vec::new();
    };
    let found = |port: &(String, Option<String>), lift: f64| {
        all.iter()
            .find(|one| one.port == port.0 && one.runner == port.1 && one.lift.value == lift)
    };
    let symbol = unit(first.mean.unit.symbol());
    let mut table = vec![
        std::iter::once("Lift".to_owned())
            .chain(ports.iter().map(|(port, runner)| match runner {
                Some(runner) => format!("{port} {runner}"),
                None => port.clone(),
            }))
            .collect::<Vec<_>>(),
    ];
    let two = match ports.as_slice() {
        [first, second] => Some((first, second)),
        _ => None,
    };
    if let (Some(((from, _), (to, _))), Some(heading)) = (two, table.first_mut()) {
        heading.push(format!("{to} to {from}"));
    }
    for lift in lifts {
        let shown = rounded(lift, usual_decimals(first.lift.unit.symbol()) - 1);
        let mut row = vec![shown];
        for port in &ports {
            let mean = found(port, lift).map(|one| &one.mean);
            row.push(mean.map_or("-".to_owned(), |mean| {
                rounded(mean.value, usual_decimals(mean.unit.symbol()))
            }));
        }
        if let Some((one, other)) = two {
            let share = found(one, lift).zip(found(other, lift));
            row.push(share.map_or(String::new(), |(one, other)| {
                format!("{:.0} %", 100.0 * other.mean.value / one.mean.value)
            }));
        }
        table.push(row);
    }
    let at = report.inputs.reference_depression.as_ref();
    let at = at.map_or(String::new(), |at| {
        format!(" at {} {}", rounded(at.value, 0), at.unit.symbol())
    });
    let of = match symbol.as_str() {
        ":1" => "Flow as a ratio of areas".to_owned(),
        symbol => format!("Flow, {symbol}{at}"),
    };
    let aligned = vec![Align::Right; table.iter().map(Vec::len).max().unwrap_or(0)];
    let heading = format!(
        "{of}; average of the cylinders measured; lift in {}",
        first.lift.unit.symbol()
    );
    std::iter::once(heading)
        .chain(rows_of(&aligned, &table))
        .collect()
}
