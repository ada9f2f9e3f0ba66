//! Where a route stood that is taken up after more than a day, and what has changed since.
//!
//! Everything is told from the job's journal, from the gauges' entries and from the route's text as
//! they are now; nothing is calculated.

mod texts;

use std::collections::BTreeMap;

use benchhand_blueprint::Engine;
use benchhand_wire::TakenUp;
use jiff::{SignedDuration, Timestamp};

use crate::known::{marks, told, words};
use crate::route::StopOutcome;
use crate::store::fact::{ASKED, InputKind, ReadingId};
use crate::store::view::{JobView, KeptReading, LoadedInput, ReadingState};

/// After a pause of this length a person is told where the route stood.
const A_DAY: SignedDuration = SignedDuration::from_hours(24);

/// A route at the moment when it is taken up.
pub(crate) struct RouteAtTakeUp<'a> {
    /// The job.
    pub(crate) view: &'a JobView,
    /// Its engine as it is told, where that can be used.
    pub(crate) engine: Option<&'a Engine>,
    /// The present time.
    pub(crate) now: Timestamp,
    /// The spots of the stops, in their order.
    pub(crate) spots: Vec<String>,
    /// What became of each stop.
    pub(crate) became: &'a [StopOutcome],
    /// The stop that is next.
    pub(crate) next: Option<usize>,
    /// The gauges' present entries in the register, by name.
    pub(crate) gauges: BTreeMap<String, String>,
    /// The route's name and its present text.
    pub(crate) route: Option<(&'a str, &'a str)>,
}

/// Where the route stood; `None` where the route has no reading, or the last one is less than a day
/// old.
pub(crate) fn taken_up(standing: &RouteAtTakeUp<'_>) -> Option<TakenUp> {
    let own = standing.view.own();
    let here = |kept: &&KeptReading| standing.spots.contains(&kept.spot) && own.wrote(kept.id);
    let stands = |kept: &&KeptReading| kept.state.is_live() || kept.state == ReadingState::Asked;
    let last = standing
        .view
        .readings()
        .filter(stands)
        .filter(here)
        .last()?;
    let passed = standing.now.duration_since(last.at);
    if passed < A_DAY {
        return None;
    }
    let kept = standing.spots.iter().zip(standing.became);
    let kept =
        kept.filter(|(_, became)| matches!(became, StopOutcome::Taken(_) | StopOutcome::Held(_)));
    Some(TakenUp {
        last: last.at.strftime("%Y-%m-%d %H:%M").to_string(),
        ago: words::ago(passed),
        kept: kept.map(|(spot, _)| spot.clone()).collect(),
        open: standing
            .view
            .readings()
            .filter(here)
            .filter_map(|kept| open(standing.engine, standing.view, kept))
            .collect(),
        next: standing.next.and_then(|at| standing.spots.get(at).cloned()),
        changed: changed(standing, last.id),
    })
}

/// What is still open about a reading.
fn open(engine: Option<&Engine>, view: &JobView, kept: &KeptReading) -> Option<String> {
    let (spot, shown) = (&kept.spot, told::shown(engine, kept));
    match (&kept.state, marks::marked(view, kept)) {
        (ReadingState::Asked, _) => Some(match kept.labels.get(ASKED) {
            Some(asked) => asked.clone(),
            None => format!("{spot}: {shown} was asked about"),
        }),
        (ReadingState::Held, _) => Some(format!("{spot}: {shown} was still open")),
        (ReadingState::Final, Some(why)) => Some(format!("{spot}: {shown}, {why}")),
        _ => None,
    }
}

/// What has changed after the fact `last`, in the order of the facts; changes that no fact holds
/// yet come last.
fn changed(standing: &RouteAtTakeUp<'_>, last: ReadingId) -> Vec<String> {
    let view = standing.view;
    // Of other stations' facts the numbers say nothing about before and after.
    let since = |seq: u64| view.own().wrote(seq) && seq > last;
    let mut told: Vec<(u64, String)> = Vec::new();
    for stage in view.opened_stages() {
        let stands = stage.stands();
        if let Some(cut) = stage.cut.as_ref().filter(|_| since(stage.seq) && stands) {
            told.push((stage.seq, words::cut(cut)));
        } else if let Some(said) = stage.corrected.as_ref().filter(|said| since(said.seq)) {
            told.push((said.seq, words::corrected(stage, said)));
        }
    }
    for (name, record) in view.gauges() {
        let checks = record.checks.iter().filter(|check| since(check.seq));
        told.extend(checks.map(|check| (check.seq, words::checked(&check.what))));
        let zero = record.zeros.last().filter(|zero| since(zero.seq));
        told.extend(zero.map(|zero| (zero.seq, format!("{name} was zeroed anew"))));
    }
    for plate in view.plates().iter().filter(|plate| since(plate.seq)) {
        let text = format!("orifice {} was checked by a plate", plate.what.orifice);
        told.push((plate.seq, text));
    }
    let leaks = view.leaks().iter().filter(|leak| since(leak.seq));
    told.extend(leaks.map(|leak| (leak.seq, "the leak was measured".to_owned())));
    let said = view.conditions().filter(|(_, one)| since(one.seq));
    told.extend(said.map(|(name, one)| {
        let said = crate::known::conditions::shown(&one.what);
        (one.seq, format!("{name}: {said}"))
    }));
    for fitted in view.all_fitted().filter(|fitted| since(fitted.seq)) {
        let (position, part) = (&fitted.what.position, &fitted.what.part);
        told.push((fitted.seq, format!("{position}: {part} fitted")));
    }
    let moves = view.readings().flat_map(|kept| &kept.moves);
    let moves = moves.filter(|moved| since(moved.seq));
    told.extend(moves.map(|by| (by.seq, format!("{} was moved to {}", by.from, by.to))));
    let engine = loads(view, InputKind::Engine, "engine").last();
    told.extend(engine.into_iter().flat_map(|now| {
        let then = as_of(view, InputKind::Engine, "engine", last);
        let changes = texts::changes(then.unwrap_or(&now.content), &now.content);
        let tell = |change| (now.seq, format!("engine file: {change}"));
        changes.into_iter().map(tell).collect::<Vec<_>>()
    }));
    told.sort_by_key(|(seq, _)| *seq);
    let mut told: Vec<String> = told.into_iter().map(|(_, text)| text).collect();
    for (name, now) in &standing.gauges {
        match as_of(view, InputKind::Gauge, name, last) {
            Some(then) => {
                let changes = texts::changes(then, now).into_iter();
                told.extend(changes.map(|change| format!("gauge {name}: {change}")));
            }
            None => told.push(format!("gauge {name} was not on this job then")),
        }
    }
    if let Some((name, now)) = standing.route
        && as_of(view, InputKind::Route, name, last).is_some_and(|then| then != now)
    {
        told.push(format!("the route {name} reads otherwise"));
    }
    told
}

fn loads<'a>(view: &'a JobView, kind: InputKind, name: &str) -> &'a [LoadedInput] {
    let mut all = view.inputs();
    let found = all.find(|(k, n, _)| (*k, *n) == (kind, name));
    found.map_or(&[], |(_, _, loads)| loads)
}

/// A text as it was when a reading was kept.
fn as_of<'a>(view: &'a JobView, kind: InputKind, name: &str, at: ReadingId) -> Option<&'a str> {
    let then = loads(view, kind, name)
        .iter()
        .rfind(|load| load.seq <= at)?;
    Some(&then.content)
}
