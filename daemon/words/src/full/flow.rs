//! Flow, by cylinder, port and lift, and the ports beside each other.

use benchhand_blueprint as blueprint;
use blueprint::report::{FlowAtLift, FlowReport, RunningPort};

use super::{Column, column, headings, table};
use crate::digits::rounded;
use crate::stated::{both, unit_after};
use crate::told::{ToldTable, ToldText};

/// Columns as the trade prints them.
const PLAIN: [Column<FlowReport>; 6] = [
    column("test", |one| one.test_pressure.clone()),
    column("metering", |one| one.metering_pressure.clone()),
    column("metering\nat reference", |one| {
        one.metering_at_reference.clone()
    }),
    column("flow", |one| one.flow.clone()),
    column("flow\nat reference", |one| one.flow_at_reference.clone()),
    column("port area\nover orifice", |one| one.area_ratio.clone()),
];

/// Columns of the calculation with densities and expansibility.
const WHOLE: [Column<FlowReport>; 5] = [
    column("mass flow", |one| one.mass_flow.clone()),
    column("flow\nbefore port", |one| one.port_flow.clone()),
    column("at reference,\ncompressible", |one| {
        one.flow_at_reference_compressible.clone()
    }),
    column("the same in\nreference air", |one| {
        one.flow_in_reference_air.clone()
    }),
    column("effective\narea", |one| one.effective_area.clone()),
];

/// The flow of each port at each lift. `None` if no flow was measured.
pub(super) fn section(rows: &[FlowReport]) -> Option<ToldText> {
    if rows.is_empty() {
        return None;
    }
    let runners = rows.iter().any(|one| one.runner.is_some());
    let mut told = ToldText::titled("Flow");
    told += of_columns(rows, &PLAIN, runners);
    told += corrections(rows).as_str();
    if WHOLE.iter().any(|column| column.used(rows)) {
        told += "\n";
        told.title("Flow with the air's density, expansibility and compressibility");
        told += of_columns(rows, &WHOLE, runners);
        told += air(rows).as_str();
    }
    coefficients(rows, &mut told);
    Some(told)
}

fn of_columns(rows: &[FlowReport], columns: &[Column<FlowReport>], runners: bool) -> ToldTable {
    let columns: Vec<_> = columns.iter().filter(|column| column.used(rows)).collect();
    let mut names = headings([">cylinder", "port"]);
    if runners {
        names.push("runner".to_owned());
    }
    names.extend(headings([">lift", "air", ">readings"]));
    table(names, &columns, rows, |one| {
        let mut cells = vec![one.cylinder.to_string(), one.port.to_string()];
        if runners {
            cells.push(one.runner.as_deref().unwrap_or_default().to_owned());
        }
        cells.extend([
            lift(&one.lift),
            one.direction.to_string(),
            one.readings.to_string(),
        ]);
        cells
    })
}

/// A lift as a builder writes it: thousandths of an inch, hundredths of a millimetre.
fn lift(lift: &blueprint::Figure) -> String {
    let places = if lift.unit.symbol() == "in" { 3 } else { 2 };
    format!("{}{}", rounded(lift.value, places), unit_after(lift.unit))
}

/// The corrections to the reference depression, each printed once.
fn corrections(rows: &[FlowReport]) -> String {
    let mut ways: Vec<&str> = rows.iter().map(|one| one.correction.as_str()).collect();
    ways.sort_unstable();
    ways.dedup();
    ways.iter()
        .filter(|way| !way.is_empty())
        .map(|way| format!("At reference: {way}\n"))
        .collect()
}

/// The reference air, beside the results in that air.
fn air(rows: &[FlowReport]) -> String {
    match rows.iter().find_map(|one| one.reference_air.clone()) {
        Some(density) => {
            format!(
                "Reference air: {} {}\n",
                rounded(density.value, 4),
                density.unit
            )
        }
        None => String::new(),
    }
}

/// Discharge coefficients, each with its reference area.
fn coefficients(rows: &[FlowReport], told: &mut ToldText) {
    let lines: String = rows
        .iter()
        .filter(|one| !one.coefficients.is_empty())
        .map(|one| {
            let each: Vec<String> = one
                .coefficients
                .iter()
                .map(|by| format!("{} by {}", both(&by.coefficient), by.by_area))
                .collect();
            format!("  {}: {}\n", one.spot, each.join(", "))
        })
        .collect();
    if !lines.is_empty() {
        *told += "\n";
        told.title("Discharge coefficients");
        *told += lines.as_str();
    }
}

const RUNNING: [Column<RunningPort>; 4] = [
    column("mean flow\ncoefficient", |one| one.mean_coefficient.clone()),
    column("velocity at mean\npiston speed", |one| {
        Some(one.velocity.as_ref()?.mean.clone())
    }),
    column("at largest\npiston speed", |one| {
        one.velocity.as_ref()?.largest.clone()
    }),
    column("inlet\nMach index", |one| one.mach_index.clone()),
];

/// The demand on the ports in the running engine. `None` if flow or speed is not known.
pub(super) fn running(rows: &[RunningPort]) -> Option<ToldText> {
    let first = rows.first()?;
    let columns: Vec<_> = RUNNING.iter().filter(|one| one.used(rows)).collect();
    let names = headings([">cylinder", "port", ">lifts"]);
    let table = table(names, &columns, rows, |one| {
        let port = match &one.runner {
            Some(runner) => format!("{}, {runner}", one.port),
            None => one.port.to_string(),
        };
        vec![one.cylinder.to_string(), port, one.lifts.to_string()]
    });
    let mut told = ToldText::titled(match &first.speed {
        Some(speed) => {
            let at = rounded(speed.value, 0);
            format!("Ports in the running engine, at {at} {}", speed.unit)
        }
        None => "Ports in the running engine (its speed is not stated)".to_owned(),
    });
    told += table;
    told += "Mean flow coefficient: by the area of the valve's head, plain mean over the lifts.\n";
    if let Some(by) = rows.iter().find_map(|one| one.velocity.as_ref()) {
        told += format!("Velocity: by the area of the {}.\n", by.by_area);
    }
    if rows.iter().any(|one| one.mach_index.is_some()) {
        told += "Volumetric efficiency falls above an inlet Mach index of some 0.5 to 0.6.\n";
    }
    Some(told)
}

const BESIDE: [Column<FlowAtLift>; 2] = [
    column("mean", |one| Some(one.mean.clone())),
    column("spread\nmax − min", |one| Some(one.spread.clone())),
];

/// The ports of one kind beside each other. `None` if there is only one of each kind.
pub(super) fn beside_each_other(rows: &[FlowAtLift]) -> Option<ToldText> {
    if rows.is_empty() {
        return None;
    }
    let names = headings(["port", ">lift", "cylinders"]);
    let table = table(names, &BESIDE.iter().collect::<Vec<_>>(), rows, |one| {
        let port = match &one.runner {
            Some(runner) => format!("{}, {runner}", one.port),
            None => one.port.to_string(),
        };
        let cylinders: Vec<String> = one.cylinders.iter().map(u32::to_string).collect();
        vec![port, lift(&one.lift), cylinders.join(", ")]
    });
    let mut told = ToldText::titled("Ports beside each other, at the reference depression");
    told += table;
    Some(told)
}
