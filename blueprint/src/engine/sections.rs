//! Reading the sections of an engine file.

use std::collections::BTreeMap;

use super::table::Table;
use super::{
    CylinderEntry, GasketEntry, GaugeEntry, GaugeKind, HeadEntry, LiquidEntry, PistonEntry, Stage,
    StatedValue, Targets, Tolerances,
};
use crate::formula::liquid;
use crate::spot::SpotFamily;
use crate::units::{Quantity, QuantityKind};

pub(super) fn piston(top: &Table<'_>) -> PistonEntry {
    let Some(table) = top.section("piston") else {
        return PistonEntry::default();
    };
    let piston = PistonEntry {
        crown: table.stated("crown", QuantityKind::Volume),
        nominal_crown: table.stated("nominal_crown", QuantityKind::Volume),
        compression_height: table.stated("compression_height", QuantityKind::Length),
        crevice: crevice(&table),
        skirt: table.stated("skirt", QuantityKind::Length),
        pin_offset: table.stated("pin_offset", QuantityKind::Length),
    };
    table.refuse_rest();
    piston
}

/// `crevice = "0.9 cc"`, or `crevice = "not counted"` (the same as leaving it out).
fn crevice(table: &Table<'_>) -> Option<StatedValue> {
    let value = table.get("crevice")?;
    if value.text() == Some("not counted") {
        return None;
    }
    table.stated("crevice", QuantityKind::Volume)
}

pub(super) fn gasket(top: &Table<'_>) -> GasketEntry {
    let Some(table) = top.section("gasket") else {
        return GasketEntry::default();
    };
    let gasket = GasketEntry {
        bore: table.stated("bore", QuantityKind::Length),
        thickness: table.stated("thickness", QuantityKind::Length),
    };
    table.refuse_rest();
    gasket
}

pub(super) fn head(top: &Table<'_>) -> HeadEntry {
    let Some(table) = top.section("head") else {
        return HeadEntry::default();
    };
    let head = HeadEntry {
        nominal_chamber: table.stated("nominal_chamber", QuantityKind::Volume),
        opening_area: table.stated("opening_area", QuantityKind::Area),
        most_mill: table.stated("most_mill", QuantityKind::Length),
        expansion: named(&table, "metal", &METALS),
    };
    table.refuse_rest();
    head
}

const METALS: [(&str, f64); 2] = [
    ("aluminium", liquid::ALUMINIUM),
    ("cast iron", liquid::CAST_IRON),
];
const GLASSES: [(&str, f64); 2] = [
    ("borosilicate", liquid::BOROSILICATE),
    ("soda-lime", liquid::SODA_LIME),
];

/// A number that goes by a name.
fn named(table: &Table<'_>, key: &str, names: &[(&str, f64)]) -> Option<f64> {
    let text = table.text(key)?;
    let found = names
        .iter()
        .find(|(name, _)| *name == text)
        .map(|(_, value)| *value);
    if found.is_none() {
        let known = names
            .iter()
            .map(|(name, _)| *name)
            .collect::<Vec<_>>()
            .join(" or ");
        table.fault(
            key,
            format!("found {text:?}, expected {known}"),
            "correct the name",
        );
    }
    found
}

pub(super) fn liquid(top: &Table<'_>) -> LiquidEntry {
    let Some(table) = top.section("liquid") else {
        return LiquidEntry::default();
    };
    let kind = table.text("kind");
    let liquid = LiquidEntry {
        water: kind.as_deref() == Some("water"),
        density: table.stated("density", QuantityKind::Density),
        expansion: table.stated("expansion", QuantityKind::Number),
        temperature: table.stated("temperature", QuantityKind::Temperature),
        chamber_temperature: table.stated("chamber_temperature", QuantityKind::Temperature),
        glass: named(&table, "glass", &GLASSES),
    };
    match kind.as_deref() {
        Some("water") if liquid.temperature.is_none() => {
            table.missing(
                "temperature",
                "the density of water follows from its temperature",
            );
        }
        Some("water") | Some("other") => {}
        Some(other) => {
            let message = format!("found {other:?}, expected \"water\" or \"other\"");
            table.fault(
                "kind",
                message,
                "for any liquid but water write \"other\" and its density",
            );
        }
        None => table.missing("kind", "write kind = \"water\" or kind = \"other\""),
    }
    let range = |key: &str, stated: Option<StatedValue>| {
        if let Some(stated) = stated.filter(|stated| !(0.0..=60.0).contains(&stated.value)) {
            let message = format!("found {}, expected 0 to 60 degC", stated.written);
            table.fault(key, message, "check the temperature and its unit");
        }
    };
    range("temperature", liquid.temperature);
    range("chamber_temperature", liquid.chamber_temperature);
    if let Some(density) = liquid.density.filter(|density| density.value <= 100.0) {
        let message = format!("found {}, expected that of a liquid", density.written);
        table.fault(
            "density",
            message,
            "write it with its unit, such as \"789 kg/m3\"",
        );
    }
    table.refuse_rest();
    liquid
}

pub(super) fn targets(top: &Table<'_>) -> Targets {
    let Some(table) = top.section("targets") else {
        return Targets::default();
    };
    let targets = Targets {
        compression: table.stated("compression", QuantityKind::Number),
        chamber: table.stated("chamber", QuantityKind::Volume),
        deck: table.stated("deck", QuantityKind::Length),
    };
    table.refuse_rest();
    targets
}

pub(super) fn tolerances(top: &Table<'_>) -> Tolerances {
    let Some(table) = top.section("tolerances") else {
        return Tolerances::default();
    };
    let tolerances = Tolerances {
        chamber_spread: table.stated("chamber_spread", QuantityKind::Volume),
        deck_spread: table.stated("deck_spread", QuantityKind::Length),
        crown_spread: table.stated("crown_spread", QuantityKind::Volume),
        compression_spread: table.stated("compression_spread", QuantityKind::Number),
        least_chamber: table.stated("least_chamber", QuantityKind::Volume),
        most_chamber: table.stated("most_chamber", QuantityKind::Volume),
        least_deck: table.stated("least_deck", QuantityKind::Length),
        most_deck: table.stated("most_deck", QuantityKind::Length),
        least_compression: table.stated("least_compression", QuantityKind::Number),
        most_compression: table.stated("most_compression", QuantityKind::Number),
        least_quench: table.stated("least_quench", QuantityKind::Length),
        most_quench: table.stated("most_quench", QuantityKind::Length),
    };
    table.refuse_rest();
    tolerances
}

/// `[cylinder.3]`: what is different at one cylinder.
pub(super) fn overrides(top: &Table<'_>, count: Option<u32>) -> BTreeMap<u32, CylinderEntry> {
    let mut all = BTreeMap::new();
    for (name, table) in top.sections("cylinder") {
        let overrides = CylinderEntry {
            bore: table.stated("bore", QuantityKind::Length),
            stroke: table.stated("stroke", QuantityKind::Length),
            rod: table.stated("rod", QuantityKind::Length),
            crown: table.stated("crown", QuantityKind::Volume),
            crevice: crevice(&table),
            piston_part: table.text("piston_part"),
            rod_part: table.text("rod_part"),
        };
        table.refuse_rest();
        match name.parse::<u32>() {
            Ok(number) if number >= 1 && count.is_none_or(|count| number <= count) => {
                all.insert(number, overrides);
            }
            _ => {
                let count =
                    count.map_or("the engine's".to_owned(), |count| format!("1 to {count}"));
                let message = format!("found cylinder {name:?}, expected {count}");
                top.fault("cylinder", message, "correct the number of the section");
            }
        }
    }
    all
}

/// `[[stages]]`: the stages in their order, and what each cut changed.
pub(super) fn stages(
    top: &Table<'_>,
    count: Option<u32>,
) -> (Vec<Stage>, BTreeMap<String, StatedValue>) {
    let mut stages = Vec::new();
    let mut cuts = BTreeMap::new();
    for table in top.list_of_sections("stages") {
        let said = table.texts("changed");
        let family = |word: &String| match SpotFamily::typed(word) {
            Ok(family) => Some(family),
            Err(near) => {
                let hint = near.map_or_else(String::new, |near| format!("; did you mean {near}?"));
                let message = format!("found {word:?}, which is not measured{hint}");
                let todo = "name what the cut changed: chamber, deck, crown …";
                table.fault("changed", message, todo);
                None
            }
        };
        let changed = said.map(|words| words.iter().filter_map(family).collect());
        let cylinders = table.cylinders("cylinders");
        let beyond = |number: &u32| count.is_some_and(|count| *number == 0 || *number > count);
        if let Some(number) = cylinders.iter().flatten().find(|number| beyond(number)) {
            let message = format!("found cylinder {number}, which the engine does not have");
            table.fault("cylinders", message, "list the cylinders that were cut");
        }
        let depth = table.stated("depth", QuantityKind::Length);
        if let Some(depth) = depth.filter(|depth| depth.value < 0.0) {
            let message = format!("found {}, expected 0 or more", depth.written);
            table.fault("depth", message, "write how much was taken off");
        }
        match table.text("name") {
            Some(name) => {
                cuts.extend(depth.map(|depth| (name.clone(), depth)));
                stages.push(Stage {
                    name,
                    changed,
                    cylinders,
                });
            }
            None => table.missing("name", "write name = \"milled 1\""),
        }
        table.refuse_rest();
    }
    (stages, cuts)
}

/// `[gauges.NAME]`.
pub(super) fn gauges(top: &Table<'_>) -> BTreeMap<String, GaugeEntry> {
    let mut gauges = BTreeMap::new();
    for (name, table) in top.sections("gauges") {
        if let Some(gauge) = gauge(&table) {
            gauges.insert(name.to_owned(), gauge);
            table.refuse_rest();
        }
    }
    gauges
}

fn gauge(table: &Table<'_>) -> Option<GaugeEntry> {
    let names = GaugeKind::NAMES.map(|(name, _)| name).join(", ");
    let Some(text) = table.text("kind") else {
        if !table.has("kind") {
            table.missing("kind", &format!("write kind = \"…\" with one of {names}"));
        }
        return None;
    };
    let Some((_, kind)) = GaugeKind::NAMES.into_iter().find(|(name, _)| *name == text) else {
        table.fault(
            "kind",
            format!("found {text:?}, expected one of {names}"),
            "correct the kind",
        );
        return None;
    };
    Some(GaugeEntry {
        resolution: size(table, "resolution", kind.measures()),
        u: size(table, "u", kind.measures()),
        u_dof: table.dof("u_dof"),
        scale_u: size(table, "scale_u", QuantityKind::Number),
        zero_off: 0.0,
        zero_u: size(table, "zero_u", kind.measures()),
        zeroed_each: zeroed_each(table),
        repeatability: size(table, "repeatability", kind.measures()),
        repeatability_dof: table.dof("repeatability_dof"),
        checked: table.text("checked"),
        kind,
    })
}

/// `zeroed = "each"`: for every reading; `"once"` (or nothing): the zero's error is shared.
fn zeroed_each(table: &Table<'_>) -> bool {
    match table.text("zeroed").as_deref() {
        None | Some("once") => false,
        Some("each") => true,
        Some(other) => {
            let message = format!("found {other:?}, expected \"each\" or \"once\"");
            table.fault("zeroed", message, "say how often the gauge is zeroed");
            false
        }
    }
}

/// A size in base units (a step, an uncertainty): never negative, never shifted to another zero.
fn size(table: &Table<'_>, key: &str, kind: QuantityKind) -> Option<f64> {
    let text = table.text(key)?;
    let size = text
        .parse::<Quantity>()
        .and_then(|quantity| quantity.expect(kind))
        .map(|quantity| quantity.unit.difference_to_base(quantity.value));
    match size {
        Ok(size) if size >= 0.0 => Some(size),
        Ok(_) => {
            table.fault(
                key,
                format!("found {text}, expected a size"),
                "it cannot be negative",
            );
            None
        }
        Err(error) => {
            table.fault(key, error.to_string(), &format!("give {kind}"));
            None
        }
    }
}
