//! Reads the top of an engine file. The sections are read in `sections`.

use benchhand_toml_places::{PlacedTable, PlacedValue, parse};

use super::table::{Document, Table, cylinders};
use super::{Bank, Engine, EngineFileFaults, LengthUnits, card, check, flow, free, sections};
use crate::units::QuantityKind;

/// The most cylinders that an engine may have.
const MOST_CYLINDERS: u32 = 24;

pub(super) fn read(text: &str) -> Result<Engine, EngineFileFaults> {
    let document = Document::new(text);
    let parsed = match parse(text) {
        Ok(parsed) => parsed,
        Err(error) => {
            let message = format!("found text that is not TOML: {}", error.message);
            document.fault(error.place, "", message, "correct this line");
            return Err(unfinished(document));
        }
    };
    // A missing key is pointed out at the beginning of the file.
    let top = Table::new(
        &document,
        String::new(),
        PlacedTable::new(parsed.get_ref(), 0..0),
    );
    let engine = top_level(&top);
    // What the rest is measured by must be understood, or not be there at all.
    let understood = |engine: &&Engine| {
        let read = [
            ("bore", engine.bore.is_some()),
            ("stroke", engine.stroke.is_some()),
        ];
        read.iter().all(|(key, read)| *read || !top.has(key))
    };
    if let Some(engine) = engine.as_ref().filter(understood) {
        check::absurd(engine, &top);
    }
    top.refuse_rest();
    match (engine, document.finish()) {
        (Some(engine), Ok(())) => Ok(engine),
        (_, Err(faults)) => Err(faults),
        (None, Ok(())) => {
            // Every part that cannot be read has reported its fault, so this is never reached. It
            // is here for safety.
            let document = Document::new(text);
            document.fault(
                0..0,
                "",
                "this is no engine file".to_owned(),
                "see docs/engine-file.md",
            );
            Err(unfinished(document))
        }
    }
}

fn unfinished(document: Document<'_>) -> EngineFileFaults {
    match document.finish() {
        Err(faults) => faults,
        Ok(()) => EngineFileFaults {
            faults: Vec::new(),
            more: 0,
        },
    }
}

fn top_level(top: &Table<'_>) -> Option<Engine> {
    let name = needed(top, "name", top.text("name"), "write name = \"…\"");
    let units = needed(
        top,
        "units",
        units(top),
        "write units = \"inch\" or units = \"metric\"",
    );
    let cylinders = top.whole("cylinders", 1..=MOST_CYLINDERS);
    let cylinders = needed(top, "cylinders", cylinders, "write cylinders = 8");
    let bore = top.stated("bore", QuantityKind::Length);
    let stroke = top.stated("stroke", QuantityKind::Length);
    let banks = cylinders.map(|count| (banks(top, count), firing_order(top, count)));
    let overrides = sections::overrides(top, cylinders);
    let (stages, cuts) = sections::stages(top, cylinders);
    let piston = sections::piston(top);
    let gasket = sections::gasket(top);
    let head = sections::head(top);
    let liquid = sections::liquid(top);
    let bench = flow::flow(top);
    let ports = flow::ports(top);
    let targets = sections::targets(top);
    let tolerances = sections::tolerances(top);
    let gauges = sections::gauges(top);
    let rod = top.stated("rod", QuantityKind::Length);
    let block_height = top.stated("block_height", QuantityKind::Length);
    let speed = top.stated("speed", QuantityKind::Rotation);
    let torque_plate = top.flag("torque_plate");
    let deck_points = top.texts("deck_points").unwrap_or_default();
    for point in deck_points.iter().filter(|point| {
        crate::spot::SpotName::parse(point).is_none_or(|name| name.as_str() != point.as_str())
    }) {
        top.fault(
            "deck_points",
            format!("found {point:?}"),
            "write small letters, digits and hyphens, such as \"quench-pad\"",
        );
    }
    let invented = top.flag("invented").unwrap_or(false);
    let note = top.text("note");
    // Read before anything that is missing ends the reading: its keys are known.
    let named = banks.as_ref().map(|(banks, _)| banks.as_slice());
    let card = card::card(top, named);
    let free = free::free(top, named);
    let (banks, firing_order) = banks?;
    Some(Engine {
        name: name?,
        invented,
        note,
        card,
        units: units?,
        cylinders: cylinders?,
        banks,
        firing_order,
        bore,
        stroke,
        rod,
        block_height,
        speed,
        torque_plate,
        deck_points,
        piston,
        gasket,
        head,
        liquid,
        flow: bench,
        ports,
        free,
        targets,
        tolerances,
        overrides,
        gauges,
        stages,
        cuts,
    })
}

/// Reports a key that is not there at all; one that is there but wrong has reported itself.
fn needed<T>(top: &Table<'_>, key: &str, value: Option<T>, help: &str) -> Option<T> {
    if value.is_none() && !top.has(key) {
        top.missing(key, help);
    }
    value
}

fn units(top: &Table<'_>) -> Option<LengthUnits> {
    match top.text("units")?.as_str() {
        "inch" => Some(LengthUnits::Inch),
        "metric" => Some(LengthUnits::Metric),
        other => {
            let message = format!("found {other:?}, expected \"inch\" or \"metric\"");
            top.fault(
                "units",
                message,
                "write units = \"inch\" or units = \"metric\"",
            );
            None
        }
    }
}

/// The banks: `[[1, 3, 5, 7], [2, 4, 6, 8]]` or `{ left = [1, 3, 5, 7], right = [2, 4, 6, 8] }`.
fn banks(top: &Table<'_>, count: u32) -> Vec<Bank> {
    let all = || {
        vec![Bank {
            name: "1".to_owned(),
            cylinders: (1..=count).collect(),
        }]
    };
    let Some(value) = top.get("banks") else {
        return all();
    };
    let banks: Option<Vec<Bank>> = if value.table().is_some() {
        top.section("banks").map(|table| {
            let bank = |name: &str| {
                Some(Bank {
                    name: name.to_owned(),
                    cylinders: table.cylinders(name)?,
                })
            };
            table.keys().filter_map(bank).collect()
        })
    } else {
        value.list().and_then(|list| {
            let bank = |(number, item): (usize, &PlacedValue<'_>)| {
                Some(Bank {
                    name: number.to_string(),
                    cylinders: cylinders(item)?,
                })
            };
            (1..).zip(&list).map(bank).collect()
        })
    };
    let help = "list every cylinder once, such as banks = [[1, 3, 5, 7], [2, 4, 6, 8]]";
    let Some(banks) = banks else {
        top.fault(
            "banks",
            "found something that is not a list of banks".to_owned(),
            help,
        );
        return all();
    };
    let mut listed: Vec<u32> = banks
        .iter()
        .flat_map(|bank| bank.cylinders.clone())
        .collect();
    listed.sort_unstable();
    if listed != (1..=count).collect::<Vec<u32>>() {
        let message = format!("found cylinders {listed:?}, expected each of 1 to {count} once");
        top.fault("banks", message, help);
        return all();
    }
    banks
}

fn firing_order(top: &Table<'_>, count: u32) -> Vec<u32> {
    let Some(order) = top.cylinders("firing_order") else {
        return Vec::new();
    };
    let mut sorted = order.clone();
    sorted.sort_unstable();
    if sorted != (1..=count).collect::<Vec<u32>>() {
        let message = format!("found {order:?}, expected each of 1 to {count} once");
        top.fault("firing_order", message, "list every cylinder once");
    }
    order
}
