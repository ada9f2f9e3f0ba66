//! The conditions under which a job is measured: which are known, and which are asked for.

use std::cell::OnceCell;

use benchhand_blueprint::spot::SpotFamily;
use benchhand_blueprint::units::QuantityKind;
use benchhand_blueprint::{Engine, Spot};
use benchhand_wire::{Asked, AskedChoice};
use jiff::Timestamp;

use super::surroundings;
use crate::store::fact::StatedCondition;
use crate::store::kept_reading::KeptReading;
use crate::store::view::{JobView, Stamped};

/// A condition whose name ends in one of these words is a quantity of that kind, never a word.
pub(crate) const MEASURED: [(&str, QuantityKind); 4] = [
    ("temperature", QuantityKind::Temperature),
    ("pressure", QuantityKind::Pressure),
    ("humidity", QuantityKind::Humidity),
    ("volume", QuantityKind::Volume),
];

/// A condition as it is shown.
pub(crate) fn shown(condition: &StatedCondition) -> String {
    match (condition.value, &condition.unit, &condition.text) {
        (Some(value), Some(unit), _) => format!("{value} {unit}"),
        (_, _, Some(text)) => text.clone(),
        _ => String::new(),
    }
}

/// Quantities that change from one session to the next.
const CHANGES: [QuantityKind; 3] = [
    QuantityKind::Temperature,
    QuantityKind::Pressure,
    QuantityKind::Humidity,
];

/// Whether a condition is asked for in each session.
fn is_asked_anew(name: &str) -> bool {
    let last = name.rsplit('/').next();
    let of = MEASURED.iter().find(|(word, _)| Some(*word) == last);
    of.is_some_and(|(_, kind)| CHANGES.contains(kind))
}

/// What is known at `now` of each condition that a route asks for. A temperature of an earlier
/// session counts as not known.
pub(crate) fn asked(names: &[String], view: &JobView, now: Timestamp) -> Vec<Asked> {
    let session = view.sessions().at(now);
    let last = |name: &String| {
        let mut all = view.conditions();
        all.find(|(n, _)| n == name).map(|(_, one)| one)
    };
    let of_today = |one: &Stamped<StatedCondition>| {
        let from = one.what.since.unwrap_or(one.seq);
        session == Some(view.sessions().of(from))
    };
    let said = |name: &String| {
        let one = last(name)?;
        let holds = !is_asked_anew(name) || of_today(one);
        holds.then(|| shown(&one.what))
    };
    let engine = OnceCell::new();
    let stated = |name: &String| {
        let read = || Engine::from_toml(&view.engine()?.content).ok();
        let engine = engine.get_or_init(read).as_ref()?;
        Some(format!(
            "{}, by the engine file",
            surroundings::stated(engine, name)?
        ))
    };
    let known = |name: &String| said(name).or_else(|| stated(name));
    let one = |name: &String| Asked {
        known: known(name),
        before: last(name)
            .filter(|one| is_asked_anew(name) && !of_today(one))
            .map(|one| shown(&one.what)),
        ..asked_of_nobody(name)
    };
    names.iter().map(one).collect()
}

/// A condition as it is asked for where no job is named.
pub(crate) fn asked_of_nobody(name: &str) -> Asked {
    let words = benchhand_words::conditions::condition(name);
    let choice = |(value, words): &(&str, &str)| AskedChoice {
        value: (*value).to_owned(),
        words: (*words).to_owned(),
    };
    Asked {
        name: name.to_owned(),
        known: None,
        before: None,
        label: words.label,
        help: words.help.to_owned(),
        choices: words.choices.iter().map(choice).collect(),
        left_out: 0,
        first_left_out: None,
    }
}

/// The readings of the present stage that a condition is about and of which nothing is said, by
/// their numbers, the first first.
pub(crate) fn unsaid(view: &JobView, name: &str) -> Vec<String> {
    let of = match name.split_once('/') {
        Some(("air", _)) => SpotFamily::Flow,
        _ => SpotFamily::Chamber,
    };
    let concerned = view.live(view.stage()).filter(|kept| {
        let spot = kept.spot.parse::<Spot>();
        spot.is_ok_and(|spot| spot.family() == of) && view.condition_of(name, kept.id).is_none()
    });
    concerned.map(KeptReading::said_number).collect()
}

/// What is asked, with the readings that were kept before and have nothing said of it.
pub(crate) fn with_left_out(asked: Asked, view: &JobView) -> Asked {
    let unsaid = unsaid(view, &asked.name);
    Asked {
        left_out: u32::try_from(unsaid.len()).unwrap_or(u32::MAX),
        first_left_out: unsaid.into_iter().next(),
        ..asked
    }
}
