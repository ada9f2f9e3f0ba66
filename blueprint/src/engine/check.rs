//! Impossible dimensions: each is refused with its place in the file.
//!
//! A piston above the deck, a dish and a dome are possible. A bore of 0 is not.

use super::table::Table;
use super::{Engine, StatedValue};
use crate::formula::volume::disc;
use crate::units::Unit;

/// The smallest length of a part that is believed, mm.
const SMALLEST: f64 = 0.05;
/// The largest bore, stroke, rod or block height that is believed, mm.
const LARGEST: f64 = 2000.0;

pub(super) fn absurd(engine: &Engine, top: &Table<'_>) {
    positive(top, "bore", engine.bore.as_ref());
    positive(top, "stroke", engine.stroke.as_ref());
    positive(top, "rod", engine.rod.as_ref());
    positive(top, "block_height", engine.block_height.as_ref());
    if let Some(speed) = engine
        .speed
        .filter(|speed| !(100.0..=30_000.0).contains(&speed.value))
    {
        let message = format!("found {}, expected 100 to 30000 rpm", speed.written);
        top.fault("speed", message, "check the speed and its unit");
    }
    rod(engine, top);
    if let Some(table) = top.section("gasket") {
        gasket(engine, &table);
    }
    if let Some(table) = top.section("piston") {
        for (key, stated) in [
            ("compression_height", &engine.piston.compression_height),
            ("skirt", &engine.piston.skirt),
        ] {
            positive(&table, key, stated.as_ref());
        }
        not_negative(&table, "crevice", engine.piston.crevice.as_ref());
    }
    if let Some(table) = top.section("head") {
        positive(
            &table,
            "nominal_chamber",
            engine.head.nominal_chamber.as_ref(),
        );
        positive(&table, "opening_area", engine.head.opening_area.as_ref());
        clearance(engine, &table);
    }
    if let Some(table) = top.section("targets") {
        if let Some(ratio) = engine
            .targets
            .compression
            .filter(|ratio| ratio.value <= 1.0)
        {
            let message = format!("found {}, expected a ratio above 1", ratio.value);
            table.fault("compression", message, "write the ratio, such as 11.2");
        }
        positive(&table, "chamber", engine.targets.chamber.as_ref());
    }
    if let Some(table) = top.section("tolerances") {
        let stated = &engine.tolerances;
        tolerance(&table, "chamber_spread", stated.chamber_spread.as_ref());
        tolerance(&table, "deck_spread", stated.deck_spread.as_ref());
        tolerance(&table, "crown_spread", stated.crown_spread.as_ref());
        let ratios = stated.compression_spread.as_ref();
        tolerance(&table, "compression_spread", ratios);
        for (least, most, of) in [
            (&stated.least_chamber, &stated.most_chamber, "chamber"),
            (&stated.least_deck, &stated.most_deck, "deck"),
            (
                &stated.least_compression,
                &stated.most_compression,
                "compression",
            ),
            (&stated.least_quench, &stated.most_quench, "quench"),
        ] {
            in_order(&table, of, least.as_ref(), most.as_ref());
        }
    }
    if let Some(table) = top.section("flow") {
        if let Some(humidity) = engine
            .flow
            .humidity
            .filter(|rh| !(0.0..=100.0).contains(&rh.value))
        {
            let message = format!("found {}, expected 0 to 100 %RH", humidity.written);
            table.fault(
                "humidity",
                message,
                "write the relative humidity of the room's air",
            );
        }
        positive(&table, "reference", engine.flow.reference.as_ref());
    }
    for (number, table) in top.sections("cylinder") {
        let Some(overrides) = number
            .parse()
            .ok()
            .and_then(|n: u32| engine.overrides.get(&n))
        else {
            continue;
        };
        positive(&table, "bore", overrides.bore.as_ref());
        positive(&table, "stroke", overrides.stroke.as_ref());
        positive(&table, "rod", overrides.rod.as_ref());
        if let (Some(bore), Some(gasket)) = (&overrides.bore, &engine.gasket.bore) {
            gasket_covers(engine, &table, "bore", bore.value, gasket.value);
        }
    }
}

fn positive(table: &Table<'_>, key: &str, stated: Option<&StatedValue>) {
    let Some(stated) = stated else { return };
    let length = stated.written.unit.kind() == crate::units::QuantityKind::Length;
    if !stated.value.is_finite() {
        let message = format!("found {}, expected a number", stated.written);
        table.fault(
            key,
            message,
            "write the dimension as measured, with its unit",
        );
    } else if length && stated.value > 0.0 && stated.value < SMALLEST {
        let message = format!("found {}, expected {SMALLEST} mm or more", stated.written);
        table.fault(key, message, "check the number and its unit");
    } else if stated.value <= 0.0 {
        let message = format!("found {}, expected more than 0", stated.written);
        table.fault(
            key,
            message,
            "write the dimension as measured, with its unit",
        );
    } else if length && stated.value > LARGEST {
        let message = format!("found {}, expected less than 2000 mm", stated.written);
        table.fault(key, message, "check the unit");
    }
}

/// A tolerance below 0 would call everything outside it.
fn tolerance(table: &Table<'_>, key: &str, stated: Option<&StatedValue>) {
    if let Some(stated) = stated.filter(|stated| !(stated.value >= 0.0 && stated.value.is_finite()))
    {
        let message = format!("found {}, expected 0 or more", stated.written);
        table.fault(
            key,
            message,
            "write how far apart the values may be, with its unit",
        );
    }
}

/// A least above its most would call everything outside.
fn in_order(table: &Table<'_>, of: &str, least: Option<&StatedValue>, most: Option<&StatedValue>) {
    let (Some(least), Some(most)) = (least, most) else {
        return;
    };
    if least.value > most.value {
        let message = format!(
            "found a least of {} above a most of {}",
            least.written, most.written
        );
        let next = "exchange the two, or leave one out";
        table.fault(&format!("least_{of}"), message, next);
    }
}

fn not_negative(table: &Table<'_>, key: &str, stated: Option<&StatedValue>) {
    if let Some(stated) = stated.filter(|stated| stated.value < 0.0) {
        let message = format!("found {}, expected 0 or more", stated.written);
        table.fault(
            key,
            message,
            "write it as a volume that adds to the total at TDC",
        );
    }
}

fn rod(engine: &Engine, top: &Table<'_>) {
    let Some(rod) = engine.rod.filter(|rod| rod.value > 0.0) else {
        return;
    };
    let Some(stroke) = engine.stroke else {
        return;
    };
    if rod.value <= stroke.value / 2.0 {
        let message = format!(
            "found {}, expected more than half the stroke of {}",
            rod.written, stroke.written
        );
        top.fault(
            "rod",
            message,
            "write the length from pin axis to crankpin axis",
        );
    }
}

fn gasket(engine: &Engine, table: &Table<'_>) {
    positive(table, "thickness", engine.gasket.thickness.as_ref());
    positive(table, "bore", engine.gasket.bore.as_ref());
    let opening = engine.gasket.bore.filter(|gasket| gasket.value > 0.0);
    if let (Some(gasket), Some(bore)) = (opening, engine.bore) {
        gasket_covers(engine, table, "bore", bore.value, gasket.value);
    }
}

fn gasket_covers(engine: &Engine, table: &Table<'_>, key: &str, bore: f64, gasket: f64) {
    if gasket < bore {
        let unit = engine.units.length();
        let message = format!(
            "found a gasket opening of {} on a bore of {}, expected one that is not smaller",
            shown(gasket, unit),
            shown(bore, unit)
        );
        table.fault(key, message, "correct the gasket's bore or the bore");
    }
}

/// The clearance volume of the engine as it should be, where enough is stated to know it.
fn clearance(engine: &Engine, table: &Table<'_>) {
    let crown = engine.piston.nominal_crown.or(engine.piston.crown);
    let (Some(chamber), Some(bore), Some(thickness), Some(crown)) = (
        engine.head.nominal_chamber,
        engine.gasket.bore,
        engine.gasket.thickness,
        crown,
    ) else {
        return;
    };
    let deck = engine.targets.deck.map_or(0.0, |deck| deck.value);
    let crevice = engine.piston.crevice.map_or(0.0, |crevice| crevice.value);
    let above = engine.bore.map_or(0.0, |own| disc(&own.value, &deck));
    let volume =
        chamber.value + disc(&bore.value, &thickness.value) + above + crevice - crown.value;
    if volume <= 0.0 {
        let message = format!(
            "found a total volume at TDC of {volume:.2} cc from this chamber, the gasket, the deck and the dome or dish, expected more than 0"
        );
        let help = "check the sign of the dome or dish: a dome is positive, a dish negative";
        table.fault("nominal_chamber", message, help);
    }
}

/// A length in the engine's own units, for messages.
fn shown(mm: f64, unit: Unit) -> String {
    format!("{} {unit}", (unit.from_base(mm) * 1e6).round() / 1e6)
}
