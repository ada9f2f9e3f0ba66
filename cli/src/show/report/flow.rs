//! Flow, by cylinder, port and lift.

use benchhand_blueprint::report::FlowReport;

use super::{Column, of_wire};
use crate::show::figure::{rounded, unit_after};
use crate::show::table::Table;

const COLUMNS: [Column<FlowReport>; 6] = [
    Column {
        name: "test",
        get: |one| one.test_pressure,
    },
    Column {
        name: "metering",
        get: |one| one.metering_pressure,
    },
    Column {
        name: "metering\nat reference",
        get: |one| one.metering_at_reference,
    },
    Column {
        name: "flow",
        get: |one| one.flow,
    },
    Column {
        name: "flow\nat reference",
        get: |one| one.flow_at_reference,
    },
    Column {
        name: "port area\nover orifice",
        get: |one| one.area_ratio,
    },
];

/// The flow of each port at each lift; nothing where no flow was measured.
pub(super) fn section(rows: &[FlowReport]) -> Option<String> {
    if rows.is_empty() {
        return None;
    }
    let columns: Vec<_> = COLUMNS.iter().filter(|column| column.used(rows)).collect();
    let runners = rows.iter().any(|one| one.runner.is_some());
    let mut headings = vec![">cylinder".to_owned(), "port".to_owned()];
    if runners {
        headings.push("runner".to_owned());
    }
    headings.extend([">lift".to_owned(), "air".to_owned()]);
    headings.extend(columns.iter().map(|column| column.heading(rows)));
    headings.push(">readings".to_owned());
    let mut table = Table::new(&headings.iter().map(String::as_str).collect::<Vec<_>>());
    for one in rows {
        let mut row = vec![one.cylinder.to_string(), one.port.clone()];
        if runners {
            row.push(one.runner.clone().unwrap_or_default());
        }
        row.extend([lift(one), one.direction.clone()]);
        row.extend(columns.iter().map(|column| column.cell(one)));
        row.push(one.readings.to_string());
        table.row(row);
    }
    Some(format!("Flow\n{}{}", table.text(), corrections(rows)))
}

/// The lift that was asked for, as a builder writes it: thousandths of an inch, hundredths of a
/// millimetre.
fn lift(one: &FlowReport) -> String {
    let lift = of_wire(one.lift);
    let places = if lift.unit == "in" { 3 } else { 2 };
    format!("{}{}", rounded(lift.value, places), unit_after(&lift.unit))
}

/// How the figures at the reference depression were corrected, each way said once.
fn corrections(rows: &[FlowReport]) -> String {
    let mut ways: Vec<&str> = rows.iter().map(|one| one.correction.as_str()).collect();
    ways.sort_unstable();
    ways.dedup();
    ways.iter()
        .filter(|way| !way.is_empty())
        .map(|way| format!("At reference: {way}\n"))
        .collect()
}
