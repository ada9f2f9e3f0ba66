//! Reading the flow bench and the ports from an engine file.

use std::collections::BTreeMap;

use super::table::Table;
use super::{Flow, Orifice, OrificeKnown, Port, ShownAir, Stated};
use crate::formula::flow::Before;
use crate::units::Kind;

pub(super) fn flow(top: &Table<'_>) -> Flow {
    let Some(table) = top.section("flow") else {
        return Flow::default();
    };
    let mut orifices = BTreeMap::new();
    for (name, section) in table.sections("orifices") {
        if let Some(known) = orifice(&section) {
            orifices.insert(name.to_owned(), Orifice { known, plate: None });
            section.refuse_rest();
        }
    }
    let flow = Flow {
        reference: table.stated("reference", Kind::Pressure),
        orifice: table.text("orifice"),
        orifices,
        air_pressure: table.stated("air_pressure", Kind::Pressure),
        air_temperature: table.stated("air_temperature", Kind::Temperature),
        humidity: table.stated("humidity", Kind::Humidity),
        orifice_before: before(&table, "orifice_before"),
        orifice_before_out: before(&table, "orifice_before_out"),
        flow_air: shown_air(&table),
        reference_air: table.stated("reference_air", Kind::Density),
    };
    if let Some(name) = flow
        .orifice
        .as_ref()
        .filter(|name| !flow.orifices.contains_key(*name))
    {
        let message = format!("found {name:?}, which is no orifice of this file");
        table.fault(
            "orifice",
            message,
            &format!("add a section [flow.orifices.{name}]"),
        );
    }
    table.refuse_rest();
    flow
}

fn orifice(table: &Table<'_>) -> Option<OrificeKnown> {
    let diameter = table.stated("diameter", Kind::Length);
    let cd = table.stated("cd", Kind::Number);
    let flow = table.stated("flow", Kind::Flow);
    let at = table.stated("at", Kind::Pressure);
    let air = table.stated("air", Kind::Density);
    let positive = |stated: &super::Stated| stated.value > 0.0;
    let known = match (diameter, cd, flow, at) {
        (Some(diameter), Some(cd), None, None) => OrificeKnown::Diameter { diameter, cd },
        (None, None, Some(flow), Some(at)) => OrificeKnown::Calibrated { flow, at, air },
        _ => {
            let help = "give diameter and cd, or flow and at (the metering pressure at that flow)";
            table.missing("diameter", help);
            return None;
        }
    };
    let good = match &known {
        OrificeKnown::Diameter { diameter, cd } => positive(diameter) && positive(cd),
        OrificeKnown::Calibrated { flow, at, .. } => positive(flow) && positive(at),
    };
    if !good {
        table.missing("", "every value of an orifice must be above 0");
    }
    good.then_some(known)
}

/// `orifice_before = "plenum"`, `"blower"` or `"room"`.
fn before(table: &Table<'_>, key: &str) -> Option<Before> {
    match table.text(key)?.as_str() {
        "plenum" => Some(Before::Plenum),
        "room" => Some(Before::Room),
        "blower" => Some(Before::Blower),
        other => {
            let message = format!("found {other:?}, expected \"plenum\", \"blower\" or \"room\"");
            let help = "say where the air before the metering orifice comes from";
            table.fault(key, message, help);
            None
        }
    }
}

/// `flow_air = "room"`, `"plenum"`, or a density.
fn shown_air(table: &Table<'_>) -> Option<ShownAir> {
    const KEY: &str = "flow_air";
    let text = table.text(KEY)?;
    match text.as_str() {
        "room" => return Some(ShownAir::Room),
        "plenum" => return Some(ShownAir::Plenum),
        _ => {}
    }
    let help = "say in which air the bench counts the flow that it shows";
    match Stated::parse(&text, Kind::Density) {
        Ok(density) if density.value > 0.0 => Some(ShownAir::Standard(density)),
        _ => {
            let message = format!(
                "found {text:?}, expected \"room\", \"plenum\", or the density of its standard air, such as \"1.2041 kg/m3\""
            );
            table.fault(KEY, message, help);
            None
        }
    }
}

/// `[ports.NAME]`.
pub(super) fn ports(top: &Table<'_>) -> BTreeMap<String, Port> {
    let mut ports = BTreeMap::new();
    for (name, table) in top.sections("ports") {
        if crate::spot::Name::parse(name).is_none() {
            let message = format!("found the port {name:?}, which no spot can name");
            table.fault("", message, "name it like intake, exhaust or intake-2");
        }
        let port = Port {
            valve: positive(&table, "valve", Kind::Length),
            valves: table.whole("valves", 1..=5).unwrap_or(1),
            throat: positive(&table, "throat", Kind::Length),
            stem: positive(&table, "stem", Kind::Length),
            seat_angle: positive(&table, "seat_angle", Kind::Angle),
            seat_width: positive(&table, "seat_width", Kind::Length),
            inclination: table.stated("inclination", Kind::Angle),
        };
        table.refuse_rest();
        ports.insert(name.to_ascii_lowercase(), port);
    }
    ports
}

fn positive(table: &Table<'_>, key: &str, kind: Kind) -> Option<super::Stated> {
    let stated = table.stated(key, kind)?;
    if stated.value <= 0.0 {
        let message = format!("found {}, expected more than 0", stated.written);
        table.fault(
            key,
            message,
            "write the dimension as measured, with its unit",
        );
        return None;
    }
    Some(stated)
}
