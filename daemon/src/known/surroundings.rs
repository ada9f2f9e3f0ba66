//! The surroundings of a reading, as the blueprint takes them.
//!
//! The job's journal holds what was stated when; nothing is calculated from it here.

use std::collections::BTreeSet;

use benchhand_blueprint::readings::{ConditionValue, ReadingConditions};
use benchhand_blueprint::report::{Finding, FindingKind};
use benchhand_blueprint::units::QuantityKind;
use benchhand_blueprint::{Engine, Unit};

use crate::store::fact::{ReadingSource, StatedCondition};
use crate::store::view::{JobView, KeptReading, Stamped, StationPart};

/// The names of the conditions that figures use.
pub(crate) const LIQUID: &str = "liquid";
const LIQUID_TEMPERATURE: &str = "liquid/temperature";
const CHAMBER_TEMPERATURE: &str = "chamber/temperature";
const AIR_TEMPERATURE: &str = "air/temperature";
const AIR_PRESSURE: &str = "air/pressure";
const AIR_HUMIDITY: &str = "air/humidity";
const VALVES_AND_PLUGS: &str = "valves-and-plugs";
const FILL_HOLE: &str = "fill-hole/volume";
/// The conditions that figures use.
pub(crate) const USED: [&str; 8] = [
    LIQUID,
    LIQUID_TEMPERATURE,
    CHAMBER_TEMPERATURE,
    AIR_TEMPERATURE,
    AIR_PRESSURE,
    AIR_HUMIDITY,
    VALVES_AND_PLUGS,
    FILL_HOLE,
];
/// The liquid whose density follows from its temperature.
pub(crate) const WATER: &str = "water";
/// Any other liquid: its density is the engine file's.
pub(crate) const OTHER: &str = "other";

/// The surroundings of a reading; `None` where nothing was stated and nobody was asked.
pub(crate) fn of(view: &JobView, kept: &KeptReading) -> Option<Box<ReadingConditions>> {
    // A row of a notebook was not measured at the time of its import.
    let at_the_bench = kept.source != ReadingSource::Imported;
    let number = |name: &str, kind: QuantityKind| {
        let one = match at_the_bench {
            true => view.condition_in_session(name, kept.id),
            false => view.condition_of(name, kept.id),
        };
        said(one?, kind)
    };
    let words = |name: &str| word(&view.condition_of(name, kept.id)?.what);
    let conditions = ReadingConditions {
        liquid: words(LIQUID),
        liquid_temperature: number(LIQUID_TEMPERATURE, QuantityKind::Temperature),
        chamber_temperature: number(CHAMBER_TEMPERATURE, QuantityKind::Temperature),
        air_temperature: number(AIR_TEMPERATURE, QuantityKind::Temperature),
        air_pressure: number(AIR_PRESSURE, QuantityKind::Pressure),
        humidity: number(AIR_HUMIDITY, QuantityKind::Humidity),
        valves_and_plugs: words(VALVES_AND_PLUGS),
        // The hole in the plate stays as it was measured.
        fill_hole: view
            .condition_of(FILL_HOLE, kept.id)
            .and_then(|one| said(one, QuantityKind::Volume))
            .map(exact_at_nothing),
        asked: kept.source == ReadingSource::Captured,
        // A notebook gives a job what it gives by itself; the finding asks about its chambers.
        set_up_asked: is_chamber(kept) && kept.source != ReadingSource::Imported,
    };
    (conditions != ReadingConditions::default()).then(|| Box::new(conditions))
}

fn is_chamber(kept: &KeptReading) -> bool {
    kept.spot.starts_with("chamber/")
}

/// Findings about typed or imported chambers for which nobody stated the set-up. Every chamber names
/// the set-up among what its figure lacks; nobody was at a stop to be asked about these, so the
/// finding says how to answer. `holding` are the readings on which the stage's figures rest.
pub(crate) fn findings(view: &JobView, stage: &str, holding: &BTreeSet<u64>) -> Vec<Finding> {
    let by_hand = |kept: &&KeptReading| {
        let live = kept.state.is_live();
        let here = kept.stage == stage || holding.contains(&kept.id);
        live && here && kept.source != ReadingSource::Captured && is_chamber(kept)
    };
    let lacks = |name: &str| -> Vec<&KeptReading> {
        let unsaid = |kept: &&KeptReading| view.condition_of(name, kept.id).is_none();
        view.readings().filter(by_hand).filter(unsaid).collect()
    };
    let job = view.name();
    let mut all = Vec::new();
    for (name, value, what) in [
        (
            VALVES_AND_PLUGS,
            "running",
            "whether the valves and plugs are those that run",
        ),
        (FILL_HOLE, "VOLUME", "what stands in the plate's fill hole"),
    ] {
        let readings = lacks(name);
        let Some(first) = readings.iter().min_by_key(|kept| kept.order()) else {
            continue;
        };
        let first = first.said_number();
        let text =
            format!("nobody said {what}: benchhand condition {job} {name} {value} --since {first}");
        let spots: BTreeSet<&str> = readings.iter().map(|kept| kept.spot.as_str()).collect();
        all.extend(spots.into_iter().map(|spot| Finding {
            spot: spot.to_owned(),
            kind: FindingKind::Unchecked,
            text: text.clone(),
            replaced: Vec::new(),
        }));
    }
    all
}

fn said(one: &Stamped<StatedCondition>, kind: QuantityKind) -> Option<ConditionValue> {
    let what = &one.what;
    let unit: Unit = what.unit.as_deref()?.parse().ok()?;
    (unit.kind() == kind).then_some(())?;
    Some(ConditionValue {
        name: what.name.clone(),
        fact: Some(one.seq.to_string()),
        value: unit.to_base(what.value?),
        u: what.u.map(|u| unit.difference_to_base(u)),
        step: None,
    })
}

/// Who stops at the lower edge of the hole has nothing in it: that 0 is chosen, not read off.
fn exact_at_nothing(stated: ConditionValue) -> ConditionValue {
    let u = stated.u.or((stated.value == 0.0).then_some(0.0));
    ConditionValue { u, ..stated }
}

fn word(what: &StatedCondition) -> Option<String> {
    what.text.as_ref().map(|text| text.trim().to_lowercase())
}

/// An engine file that states no liquid still takes weights of water, once somebody stated that
/// water is in the burette.
pub(crate) fn into_engine(view: &JobView, engine: &mut Engine) {
    let water = view
        .parts()
        .flat_map(StationPart::conditions)
        .any(|(name, one)| name == LIQUID && word(&one.what).as_deref() == Some(WATER));
    if water && engine.liquid.density.is_none() {
        engine.liquid.water = true;
    }
}

/// What the engine file states of a condition, as written there.
pub(crate) fn stated(engine: &Engine, name: &str) -> Option<String> {
    let stated = match name {
        LIQUID if engine.liquid.water => return Some(WATER.to_owned()),
        LIQUID if engine.liquid.density.is_some() => return Some("as stated".to_owned()),
        LIQUID_TEMPERATURE => engine.liquid.temperature,
        CHAMBER_TEMPERATURE => engine.liquid.chamber_temperature,
        AIR_TEMPERATURE => engine.flow.air_temperature,
        AIR_PRESSURE => engine.flow.air_pressure,
        AIR_HUMIDITY => engine.flow.humidity,
        _ => None,
    };
    stated.map(|stated| stated.written.to_string())
}
