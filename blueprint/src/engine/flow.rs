//! Reading the flow bench and the ports from an engine file.

use std::collections::BTreeMap;

use super::table::Table;
use super::{FlowBenchEntry, OrificeEntry, OrificeKnown, PortEntry, ShownAir, StatedValue};
use crate::formula::flow::AirBeforeOrifice;
use crate::units::{QuantityKind, Unit};

pub(super) fn flow(top: &Table<'_>) -> FlowBenchEntry {
    let Some(table) = top.section("flow") else {
        return FlowBenchEntry::default();
    };
    let mut orifices = BTreeMap::new();
    for (name, section) in table.sections("orifices") {
        if let Some(known) = orifice(&section) {
            orifices.insert(name.to_owned(), OrificeEntry { known, plate: None });
            section.refuse_rest();
        }
    }
    let flow = FlowBenchEntry {
        reference: table.stated("reference", QuantityKind::Pressure),
        orifice: table.text("orifice"),
        orifices,
        air_pressure: table.stated("air_pressure", QuantityKind::Pressure),
        air_temperature: table.stated("air_temperature", QuantityKind::Temperature),
        humidity: table.stated("humidity", QuantityKind::Humidity),
        orifice_before: before(&table, "orifice_before"),
        orifice_before_out: before(&table, "orifice_before_out"),
        flow_air: shown_air(&table),
        reference_air: table.stated("reference_air", QuantityKind::Density),
        pressure_unit: unit(&table, "pressure_unit", QuantityKind::Pressure),
        flow_unit: unit(&table, "flow_unit", QuantityKind::Flow),
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

/// `pressure_unit = "inH2O"`, `flow_unit = "cfm"`.
fn unit(table: &Table<'_>, key: &str, kind: QuantityKind) -> Option<Unit> {
    let text = table.text(key)?;
    let unit = text.parse::<Unit>().ok().filter(|unit| unit.kind() == kind);
    if unit.is_none() {
        let (message, help) = match kind {
            QuantityKind::Pressure => (
                "no unit of pressure",
                "write inH2O, mmH2O, hPa, kPa or inHg",
            ),
            _ => ("no unit of flow", "write cfm, L/min, L/s or m3/h"),
        };
        table.fault(key, format!("found {text:?}, which is {message}"), help);
    }
    unit
}

fn orifice(table: &Table<'_>) -> Option<OrificeKnown> {
    let diameter = table.stated("diameter", QuantityKind::Length);
    let cd = table.stated("cd", QuantityKind::Number);
    let flow = table.stated("flow", QuantityKind::Flow);
    let at = table.stated("at", QuantityKind::Pressure);
    let air = table.stated("air", QuantityKind::Density);
    let positive = |stated: &super::StatedValue| stated.value > 0.0;
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
fn before(table: &Table<'_>, key: &str) -> Option<AirBeforeOrifice> {
    match table.text(key)?.as_str() {
        "plenum" => Some(AirBeforeOrifice::Plenum),
        "room" => Some(AirBeforeOrifice::Room),
        "blower" => Some(AirBeforeOrifice::Blower),
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
    match StatedValue::parse(&text, QuantityKind::Density) {
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
pub(super) fn ports(top: &Table<'_>) -> BTreeMap<String, PortEntry> {
    let mut ports = BTreeMap::new();
    for (name, table) in top.sections("ports") {
        if crate::spot::SpotName::parse(name).is_none() {
            let message = format!("found the port {name:?}, which no spot can name");
            table.fault("", message, "name it like intake, exhaust or intake-2");
        }
        let port = PortEntry {
            valve: positive(&table, "valve", QuantityKind::Length),
            valves: table.whole("valves", 1..=5).unwrap_or(1),
            throat: positive(&table, "throat", QuantityKind::Length),
            stem: positive(&table, "stem", QuantityKind::Length),
            seat_angle: positive(&table, "seat_angle", QuantityKind::Angle),
            seat_width: positive(&table, "seat_width", QuantityKind::Length),
            inclination: table.stated("inclination", QuantityKind::Angle),
        };
        table.refuse_rest();
        ports.insert(name.to_ascii_lowercase(), port);
    }
    ports
}

fn positive(table: &Table<'_>, key: &str, kind: QuantityKind) -> Option<super::StatedValue> {
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
