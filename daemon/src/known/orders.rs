//! Orders of a job: as they are typed, as they are shown, and beside what was measured since.

use std::collections::{BTreeMap, BTreeSet};

use benchhand_blueprint::known_word::meant;
use benchhand_blueprint::report::{OrderedReport, OrderedSize, SizeOrdered, beside_ordered};
use benchhand_blueprint::spot::SpotFamily;
use benchhand_blueprint::units::QuantityKind;
use benchhand_blueprint::{Engine, Figure, Spot, Unit};
use benchhand_wire::{OrderShown, PartOrdered, PartToOrder, Reason, Refusal};
use benchhand_words::ordered::order_told;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use super::inputs::{Asked, cylinders};
use super::quantities::quantity;
use crate::store::fact::{OrderedPart, OrderedParts};
use crate::store::stamped::Stamped;
use crate::store::station::base_in;
use crate::store::view::{JobView, KeptReading};

/// The words by which a size is ordered. A dome and a dish are told apart by their words, so that
/// nobody has to know a sign.
const WORDS: [(&str, OrderedSize, f64); 6] = [
    ("dome", OrderedSize::Crown, 1.0),
    ("dish", OrderedSize::Crown, -1.0),
    ("height", OrderedSize::Height, 1.0),
    ("bore", OrderedSize::Bore, 1.0),
    ("skirt", OrderedSize::Skirt, 1.0),
    ("rod", OrderedSize::Rod, 1.0),
];

fn family(size: OrderedSize) -> SpotFamily {
    match size {
        OrderedSize::Crown => SpotFamily::Crown,
        OrderedSize::Height => SpotFamily::Height,
        OrderedSize::Bore => SpotFamily::Bore,
        OrderedSize::Skirt => SpotFamily::Skirt,
        OrderedSize::Rod => SpotFamily::Rod,
    }
}

fn kind(size: OrderedSize) -> QuantityKind {
    match size {
        OrderedSize::Crown => QuantityKind::Volume,
        _ => QuantityKind::Length,
    }
}

/// A size's name, `dish` or `dish/3`, as the record has it: `crown`, `crown/3`; and the sign of its
/// value.
///
/// # Errors
/// Where no such size is ordered, or the engine has no such cylinder.
pub(crate) fn named(engine: &Engine, typed: &str) -> Result<(String, OrderedSize, f64), Refusal> {
    let (word, number) = match typed.trim().split_once(['/', ' ']) {
        Some((word, number)) => (word, Some(number.trim())),
        None => (typed.trim(), None),
    };
    // The record's own word for a dome or dish is understood where nothing has a sign.
    let known = WORDS.iter().map(|(known, ..)| *known);
    let word = meant(word, known.chain(["crown"])).map_err(|near| {
        let names = WORDS.map(|(known, ..)| known).join(", ");
        let refusal = Refusal::new(
            Reason::BadInput,
            format!("{typed:?} is no size that is ordered"),
        )
        .expected(format!("one of {names}, or with a cylinder: dish/3"));
        match near {
            Some(near) => refusal.todo(format!("did you mean {near}? nothing was kept")),
            None => refusal,
        }
    })?;
    let found = WORDS.iter().find(|(known, ..)| *known == word);
    let (size, sign) = found.map_or((OrderedSize::Crown, 0.0), |(_, size, sign)| (*size, *sign));
    let Some(number) = number else {
        return Ok((size.name().to_owned(), size, sign));
    };
    let all = cylinders(engine);
    let cylinder = number.parse::<u32>().ok().filter(|one| all.contains(one));
    let cylinder = cylinder.ok_or_else(|| {
        let all: Vec<String> = all.iter().map(u32::to_string).collect();
        Refusal::new(
            Reason::BadInput,
            format!("{typed:?}: the engine has no cylinder {number:?}"),
        )
        .expected(format!("one of {}", all.join(", ")))
    })?;
    Ok((format!("{size}/{cylinder}"), size, sign))
}

/// A size as it is typed.
///
/// # Errors
/// Where it cannot be ordered so.
pub(crate) fn typed(engine: &Engine, part: &PartToOrder) -> Result<OrderedPart, Refusal> {
    let (name, size, sign) = named(engine, &part.part)?;
    if sign == 0.0 {
        return Err(
            Refusal::new(Reason::BadInput, "a piston has either a dome or a dish")
                .expected("dome or dish, with a volume without a sign"),
        );
    }
    let of = |refusal: Refusal| Refusal {
        found: format!("{}: {}", part.part, refusal.found),
        ..refusal
    };
    let value = quantity(&part.value, kind(size)).map_err(of)?;
    if value.value < 0.0 || value.value == 0.0 && size != OrderedSize::Crown {
        return Err(Refusal::new(
            Reason::BadInput,
            format!("{} is {:?}", part.part, part.value),
        )
        .expected("a size above 0")
        .todo(match (size, part.value.trim().strip_prefix(['-', '−'])) {
            (OrderedSize::Crown, Some(size)) => {
                let [this, other] = match sign > 0.0 {
                    true => ["dome", "dish"],
                    false => ["dish", "dome"],
                };
                let size = size.trim();
                format!("a {this} of less than nothing is a {other}: order a {other} of {size}")
            }
            _ => "correct it; nothing was kept".to_owned(),
        }));
    }
    let tolerance = part.tolerance.as_deref().map(str::trim);
    let tolerance = tolerance
        .filter(|text| !text.is_empty())
        .map(|text| quantity(text, kind(size)).map_err(of))
        .transpose()?;
    let unit = value.unit;
    let tolerance = tolerance
        .map(|found| unit.difference_from_base(found.unit.difference_to_base(found.value)));
    if tolerance.is_some_and(|width| width <= 0.0) {
        return Err(Refusal::new(
            Reason::BadInput,
            format!("the tolerance of {} is {:?}", part.part, part.tolerance),
        )
        .expected("how far it may be off on either side, above 0"));
    }
    Ok(OrderedPart {
        part: name,
        value: sign * value.value,
        tolerance,
        unit: unit.symbol().to_owned(),
    })
}

/// The size that an ordered part names, with its cylinder; `None` where a newer program ordered it.
fn size_of(name: &str) -> Option<(OrderedSize, Option<u32>)> {
    let (word, number) = match name.split_once('/') {
        Some((word, number)) => (word, Some(number.parse().ok()?)),
        None => (name, None),
    };
    let size = OrderedSize::ALL.iter().find(|size| size.name() == word)?;
    Some((*size, number))
}

/// The cylinders that a size's name is about.
fn about(engine: &Engine, name: &str) -> Vec<(OrderedSize, u32)> {
    match size_of(name) {
        None => Vec::new(),
        Some((size, Some(one))) => vec![(size, one)],
        Some((size, None)) => cylinders(engine)
            .into_iter()
            .map(|one| (size, one))
            .collect(),
    }
}

/// The orders that hold now for what an order names, by their numbers.
pub(crate) fn touched(view: &JobView, engine: &Engine, order: &OrderedParts) -> BTreeSet<u64> {
    let parts = order.parts.iter().map(|one| &one.part);
    let names = parts.chain(&order.taken_back);
    let all = names.flat_map(|name| about(engine, name));
    all.filter_map(|(size, cylinder)| Some(view.ordered(size.name(), cylinder)?.0.seq))
        .collect()
}

/// What is said of a reading of a size that was ordered since the size was first read at the stage: it may
/// be that of the new part, which would be averaged with the old one. Empty where nothing is to be said.
pub(crate) fn beside_the_old(view: &JobView, spot: &Spot, stage: &str, newest: u64) -> String {
    let size = OrderedSize::ALL
        .iter()
        .find(|size| family(**size) == spot.family());
    let (Some(size), Some(cylinder)) = (size, spot.cylinder()) else {
        return String::new();
    };
    let orders = view.orders_of(size.name(), cylinder);
    let Some(first) = orders.iter().map(|(order, _)| order.seq).min() else {
        return String::new();
    };
    let here = spot.to_string();
    let mut old = view.readings().filter(|reading| {
        reading.spot == here && reading.stage == stage && reading.state.is_live()
    });
    match first < newest && old.any(|reading| reading.id < first) {
        false => String::new(),
        true => format!(
            "It counts together with what was read of the old part. If it is a part that came, void it, \
             begin a stage for the new parts (`benchhand job cut {} --stage new-parts --what \"new parts\" \
             --changes {} --cylinders {cylinder}`), and measure it there.",
            view.name(),
            spot.family().name()
        ),
    }
}

/// An order as it is shown.
pub(crate) fn shown(view: &JobView, engine: &Engine, order: &Stamped<OrderedParts>) -> OrderShown {
    let what = &order.what;
    let part = |one: &OrderedPart| PartOrdered {
        part: one.part.clone(),
        value: one.value,
        tolerance: one.tolerance,
        unit: one.unit.clone(),
        told: told(one),
        replaced: !about(engine, &one.part)
            .into_iter()
            .any(|(size, cylinder)| {
                let held = view.ordered(size.name(), cylinder);
                held.is_some_and(|(held, part)| held.seq == order.seq && part == one)
            }),
    };
    OrderShown {
        id: order.seq,
        at: order.at.to_string(),
        parts: what.parts.iter().map(part).collect(),
        taken_back: what.taken_back.clone(),
        from: what.from.clone(),
        on: what.on.map(|on| on.to_string()),
        by: what.by.clone(),
        sheet: what.sheet.clone(),
        note: what.note.clone(),
    }
}

/// `dish 4.21 ± 0.12 cc`, of one cylinder `cylinder 3: dish 4.21 ± 0.12 cc`.
fn told(part: &OrderedPart) -> String {
    let unit = part.unit.parse::<Unit>();
    let (Some((size, cylinder)), Ok(unit)) = (size_of(&part.part), unit) else {
        return format!("{} {} {}", part.part, part.value, part.unit);
    };
    let chosen = |value| Figure::new(value, Some(0.0), unit);
    let tolerance = part.tolerance.map(chosen);
    let size_told = order_told(size, &chosen(part.value), tolerance.as_ref());
    let name = match size {
        OrderedSize::Crown => String::new(),
        _ => format!("{} ", benchhand_words::ordered::name(size)),
    };
    let whose = cylinder.map_or(String::new(), |number| format!("cylinder {number}: "));
    format!("{whose}{name}{size_told}")
}

/// Every size that is ordered now, cylinder by cylinder, beside what was measured since. Readings
/// count from the first order of the size on, so that a corrected entry does not make parts unmeasured.
///
/// # Errors
/// Where there is no such stage.
pub(crate) fn beside(view: &JobView, asked: &Asked) -> Result<Vec<OrderedReport>, Refusal> {
    let mut groups: BTreeMap<(OrderedSize, Vec<u64>), Vec<SizeOrdered>> = BTreeMap::new();
    let mut chains = BTreeMap::new();
    for size in OrderedSize::ALL {
        for cylinder in cylinders(&asked.engine) {
            let all = view.orders_of(size.name(), cylinder);
            let Some((_, part)) = all.first() else {
                continue;
            };
            let Ok(unit) = part.unit.parse::<Unit>() else {
                continue;
            };
            let numbers: Vec<u64> = all.iter().map(|(order, _)| order.seq).collect();
            let one = SizeOrdered {
                size: *size,
                cylinder,
                value: part.value,
                tolerance: part.tolerance,
                unit,
            };
            groups
                .entry((*size, numbers.clone()))
                .or_default()
                .push(one);
            let orders = all.into_iter().map(|(order, _)| order);
            chains.insert(numbers, orders.collect::<Vec<_>>());
        }
    }
    let mut rows = Vec::new();
    for ((size, numbers), sizes) in groups {
        let orders = &chains[&numbers];
        let since = |id: u64| {
            let reading = view.reading(id);
            reading.is_some_and(|reading| orders.iter().any(|order| follows(reading, order)))
        };
        let asked = asked.with_only(family(size), since);
        let beside = beside_ordered(&asked.inputs(), &sizes);
        rows.extend(beside.map_err(|e| Refusal::new(Reason::NotFound, e.to_string()))?);
    }
    rows.sort_by_key(|one| (one.size, one.cylinder));
    Ok(rows)
}

/// Whether a reading was taken after parts were ordered: after the entry, or after the day that it
/// names.
fn follows(reading: &KeptReading, order: &Stamped<OrderedParts>) -> bool {
    let day = |at: jiff::Timestamp| at.to_zoned(TimeZone::UTC).date();
    let earlier = |on: Date| on < day(order.at) && day(reading.at) > on;
    // Numbers of two stations tell nothing of time.
    let later = match base_in(reading.id) == base_in(order.seq) {
        true => reading.id > order.seq,
        false => reading.at > order.at,
    };
    later || order.what.on.is_some_and(earlier)
}
