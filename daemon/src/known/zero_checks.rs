//! The checks around the readings: a second point at zero before them, the closing zero after them,
//! and the plate first and last.
//!
//! No signal shows a zero that was wrong throughout; only these checks do. Everything is told from
//! the journal.

use std::collections::{BTreeMap, BTreeSet};

use benchhand_blueprint::report::{Finding, FindingKind};
use benchhand_blueprint::{Engine, Unit};

use crate::known::marks::marked;
use crate::store::checked::{CheckedPlate, ZeroedGauge};
use crate::store::fact::{CheckedGauge, ReadingSource};
use crate::store::view::{JobView, KeptReading, Stamped, StationPart};

/// How far two plate checks may differ where nobody stated how well the plate is known, as a share
/// of the flow: flow benches repeat to about this (common practice, no source).
const PLATES: f64 = 0.01;

/// The readings that count from one zero, and the checks around them.
struct ZeroUse<'a> {
    gauge: &'a str,
    readings: Vec<&'a KeptReading>,
    /// Whether the zero was checked between zeroing and the first reading.
    second_point: bool,
    /// Whether the zero was checked after the last reading, before the gauge was zeroed again.
    closing: bool,
}

/// How far the zero was off in a check of the zero alone, in the check's unit.
fn off_zero(check: &CheckedGauge, zero: &ZeroedGauge) -> Option<f64> {
    let expected = check.expected.unwrap_or(0.0);
    let master = zero.nominal.unwrap_or(0.0);
    let own = check.points.is_empty() && check.channel == 0 && check.unit == zero.unit;
    (own && (expected - master).abs() < 1e-9).then_some(check.result - expected)
}

fn uses(view: &JobView) -> Vec<ZeroUse<'_>> {
    let mut all = Vec::new();
    for (gauge, record) in view.gauges() {
        for (at, zero) in record.zeros.iter().enumerate() {
            let end = record.zeros.get(at + 1).map_or(u64::MAX, |next| next.seq);
            let holds = |seq: u64| zero.seq < seq && seq < end;
            let readings = view.readings_between(zero.seq, end).filter(|kept| {
                let captured = kept.source == ReadingSource::Captured && kept.state.is_live();
                captured && kept.gauge.as_deref() == Some(gauge)
            });
            let readings: Vec<_> = readings.collect();
            let checks = record.checks.iter().filter(|check| holds(check.seq));
            let checks = checks.filter(|check| off_zero(&check.what, &zero.what).is_some());
            let checks: Vec<u64> = checks.map(|check| check.seq).collect();
            let (first, last) = match (readings.first(), readings.last()) {
                (Some(first), Some(last)) => (first.id, last.id),
                _ => (u64::MAX, u64::MAX),
            };
            all.push(ZeroUse {
                gauge,
                readings,
                second_point: checks.iter().any(|&seq| seq < first),
                closing: checks.iter().any(|&seq| seq > last),
            });
        }
    }
    all
}

/// The furthest that a gauge's zero was off in checks of the zero alone, base units. The zero may
/// have stood anywhere within this half-width meanwhile.
pub(crate) fn drift(view: &JobView, gauge: &str) -> f64 {
    let Some(record) = view.gauge(gauge) else {
        return 0.0;
    };
    let off = |check: &Stamped<CheckedGauge>| {
        let zero = record.zeros.iter().rfind(|zero| zero.seq < check.seq)?;
        let unit: Unit = check.what.unit.parse().ok()?;
        Some(unit.difference_to_base(off_zero(&check.what, &zero.what)?.abs()))
    };
    record.checks.iter().filter_map(off).fold(0.0, f64::max)
}

/// What is still to be checked on a route, in words: for the gauges that count from a zero, and for
/// the metering orifice where flow is measured. `taken` once every stop is taken.
pub(crate) fn to_check(
    view: &JobView,
    gauges: &[&str],
    orifice: Option<&str>,
    taken: bool,
) -> Vec<String> {
    let job = view.name();
    let uses = uses(view);
    let mut told = Vec::new();
    for gauge in gauges {
        let named = view.own().named(gauge);
        let Some(last) = uses.iter().rfind(|one| one.gauge == named) else {
            continue;
        };
        let how = format!("benchhand gauge check {gauge} --job {job}");
        if last.readings.is_empty() && !last.second_point {
            told.push(format!(
                "second point at zero: {gauge} elsewhere on its zero face, then {how}"
            ));
        } else if taken && !last.readings.is_empty() && !last.closing {
            told.push(format!(
                "closing zero: {gauge} back on its zero face, then {how}"
            ));
        }
    }
    if let Some(orifice) = orifice {
        let part = view.own();
        let flows = flows((view, part), None, orifice, Some(orifice));
        let (first, last) = plates(part, orifice, &flows);
        let how = format!("benchhand flow-bench plate {job} --orifice {orifice}");
        if first.is_none() && !taken {
            told.push(format!("plate first: {how}"));
        } else if taken && last.is_none() {
            told.push(format!("plate last: {how}"));
        }
    }
    told
}

/// The flow readings that were taken at a station's bench through an orifice; `own` is the orifice of
/// readings that name none.
fn flows<'a>(
    (view, part): (&'a JobView, &StationPart),
    stage: Option<&str>,
    orifice: &str,
    own: Option<&str>,
) -> Vec<&'a KeptReading> {
    let through = |kept: &&KeptReading| {
        let named = kept.labels.get("orifice").map(String::as_str).or(own);
        let here = stage.is_none_or(|stage| kept.stage == stage);
        let at_bench = kept.source != ReadingSource::Imported && kept.state.is_live();
        here && at_bench
            && part.wrote(kept.id)
            && kept.spot.starts_with("flow/")
            && named == Some(orifice)
    };
    view.readings().filter(through).collect()
}

/// The last plate check before the readings, and the first one after them.
fn plates<'a>(
    part: &'a StationPart,
    orifice: &str,
    readings: &[&KeptReading],
) -> (Option<&'a CheckedPlate>, Option<&'a CheckedPlate>) {
    let of = || part.plates().iter().filter(|p| p.what.orifice == orifice);
    let first = readings.first().map_or(u64::MAX, |kept| kept.id);
    let last = readings.last().map_or(u64::MAX, |kept| kept.id);
    let before = of().rfind(|plate| plate.seq < first);
    let after = of().find(|plate| plate.seq > last);
    (before.map(|p| &p.what), after.map(|p| &p.what))
}

/// The spots whose readings are in doubt, by the reason. `holding` are the readings on which the
/// stage's figures rest: a doubt is not cut off with the metal.
pub(crate) fn in_doubt(
    view: &JobView,
    holding: &BTreeSet<u64>,
) -> BTreeMap<String, BTreeSet<String>> {
    let mut doubts: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for kept in holding.iter().filter_map(|id| view.reading(*id)) {
        if let Some(why) = marked(view, kept) {
            doubts.entry(why).or_default().insert(kept.spot.clone());
        }
    }
    doubts
}

/// The readings of a spot that are in doubt for this reason, by their numbers, where others of the spot
/// are in no doubt.
fn replaced(view: &JobView, holding: &BTreeSet<u64>, spot: &str, why: &str) -> Vec<String> {
    let here = || {
        let all = holding.iter().filter_map(|id| view.reading(*id));
        all.filter(|kept| kept.spot == spot)
    };
    if here().all(|kept| marked(view, kept).is_some()) {
        return Vec::new();
    }
    let doubted = here().filter(|kept| marked(view, kept).as_deref() == Some(why));
    doubted.map(KeptReading::said_number).collect()
}

/// The report's findings about the checks around the readings on which the figures of a stage rest,
/// whatever stage they were taken in.
pub(crate) fn findings(
    view: &JobView,
    engine: &Engine,
    stage: &str,
    holding: &BTreeSet<u64>,
) -> Vec<Finding> {
    let finding = |spot: &str, kind, text| Finding {
        spot: spot.to_owned(),
        kind,
        text,
        replaced: Vec::new(),
    };
    let doubts = in_doubt(view, holding);
    let marked = doubts.iter().flat_map(|(why, spots)| {
        let found = |spot: &String| Finding {
            replaced: replaced(view, holding, spot, why),
            ..finding(spot, FindingKind::Marked, why.clone())
        };
        spots.iter().map(found)
    });
    let mut all: Vec<Finding> = marked.collect();
    for one in uses(view) {
        let here = one.readings.iter().find(|kept| holding.contains(&kept.id));
        let (Some(first), gauge) = (here, one.gauge) else {
            continue;
        };
        let lacks = match (one.second_point, one.closing) {
            (true, true) => continue,
            (false, false) => "neither a second point at zero nor a closing zero",
            (false, true) => "no second point at zero",
            (true, false) => "no closing zero",
        };
        let text = format!("gauge {gauge}: {lacks}");
        all.push(finding(&first.spot, FindingKind::Unchecked, text));
    }
    for part in view.parts() {
        let plates = of_plates((view, part), engine, stage);
        let found = plates.into_iter();
        all.extend(found.map(|(spot, kind, text)| finding(&spot, kind, text)));
    }
    all
}

/// What is to be said of the plate checks around a station's flow readings: the first spot, and what.
fn of_plates(
    (view, part): (&JobView, &StationPart),
    engine: &Engine,
    stage: &str,
) -> Vec<(String, FindingKind, String)> {
    let own = engine.flow.orifice.as_deref();
    let mut all = Vec::new();
    for (orifice, known) in &engine.flow.orifices {
        // Checked orifices stand beside the stated ones in the engine.
        if known.plate.is_some() {
            continue;
        }
        let readings = flows((view, part), Some(stage), orifice, own);
        let Some(first) = readings.first() else {
            continue;
        };
        let (kind, told) = match plates(part, orifice, &readings) {
            (Some(before), Some(after)) => match apart(before, after) {
                Some(apart) => (FindingKind::Marked, apart),
                None => continue,
            },
            (None, None) => (FindingKind::Unchecked, "no plate first or last".to_owned()),
            (None, _) => (FindingKind::Unchecked, "no plate first".to_owned()),
            (_, None) => (FindingKind::Unchecked, "no plate last".to_owned()),
        };
        let named = part.named(orifice);
        let text = format!("orifice {named}: {told}");
        all.push((first.spot.clone(), kind, text));
    }
    all
}

/// The difference of two plate checks of an orifice at one pressure, where it is more than the
/// checks are known to.
fn apart(first: &CheckedPlate, last: &CheckedPlate) -> Option<String> {
    // The flow through an orifice is proportional to the root of its pressure.
    let of = |plate: &CheckedPlate| {
        let base = |value: f64, unit: &str| -> Option<f64> {
            let unit: Unit = unit.parse().ok()?;
            Some(unit.to_base(value))
        };
        let flow = base(plate.flow, &plate.unit)?;
        let root = base(plate.pressure, &plate.pressure_unit)?.sqrt();
        Some((flow / root, plate.u.map(|u| u / plate.flow)))
    };
    let ((first, u), (last, other)) = (of(first)?, of(last)?);
    let differ = last / first - 1.0;
    let allowed = match (u, other) {
        (Some(u), Some(other)) => 2.0 * u.hypot(other),
        _ => PLATES,
    };
    (differ.abs() > allowed).then(|| {
        format!(
            "plate first and last differ by {:.1} %, {:.1} % allowed",
            100.0 * differ.abs(),
            100.0 * allowed
        )
    })
}
