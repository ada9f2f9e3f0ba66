//! The engine is read once for each fact that it rests on.

use super::*;
use crate::store::fact::{
    CheckedGauge, CheckedPlate, Fact, JobInput, OpenedJob, PartsCut, StatedCondition, ZeroedGauge,
};
use crate::store::fold::Stamp;

const ENGINE: &str = include_str!("../../../../examples/invented-v8.toml");
const PROFILE: &str = include_str!("../../../../drivers/profiles/ascii-length.toml");

fn facts() -> Vec<Fact> {
    let reading = |value| fact::Reading::new("chamber/1", value, "cc", ReadingSource::Typed);
    let zero = |raw| ZeroedGauge {
        gauge: "depth".to_owned(),
        channel: 0,
        raw,
        unit: "mm".to_owned(),
        u: Some(0.002),
        against: "the plate".to_owned(),
        nominal: None,
        sd: None,
        n: None,
        hanging: None,
        let_stand: false,
    };
    let check = CheckedGauge {
        gauge: "depth".to_owned(),
        channel: 0,
        result: 0.01,
        expected: None,
        unit: "mm".to_owned(),
        passed: Some(true),
        u: None,
        correction: None,
        against: "its own zero".to_owned(),
        scale: None,
        allow: None,
        points: Vec::new(),
    };
    let plate = CheckedPlate {
        orifice: "new".to_owned(),
        unnamed: false,
        flow: 100.0,
        unit: "cfm".to_owned(),
        u: None,
        pressure: 28.0,
        pressure_unit: "inH2O".to_owned(),
        said: None,
        passed: None,
        against: "the shop's plate".to_owned(),
    };
    let water = StatedCondition {
        name: surroundings::LIQUID.to_owned(),
        value: None,
        unit: None,
        u: None,
        text: Some(surroundings::WATER.to_owned()),
        since: None,
    };
    let cut = PartsCut {
        stage: "milled".to_owned(),
        what: "both heads".to_owned(),
        changes: vec!["chamber".to_owned()],
        cylinders: Vec::new(),
        depths: Vec::new(),
    };
    let gauge = "profile = \"own\"\n";
    vec![
        Fact::Opened(OpenedJob {
            job: "v8".to_owned(),
            title: None,
            stage: "as received".to_owned(),
            program: "a test".to_owned(),
            copy_of: None,
        }),
        Fact::Input(JobInput::new(InputKind::Engine, "engine", ENGINE)),
        Fact::Final(reading(64.0)),
        Fact::Input(JobInput::new(InputKind::Profile, "own", PROFILE)),
        Fact::Input(JobInput::new(InputKind::Gauge, "depth", gauge)),
        Fact::Zero(zero(0.0)),
        Fact::Final(reading(64.2)),
        Fact::Check(check),
        Fact::Zero(zero(0.1)),
        Fact::Plate(plate),
        Fact::Condition(water),
        Fact::voided(3, "a bubble".to_owned()),
        Fact::Cut(cut),
        Fact::Final(reading(62.0)),
        Fact::Input(JobInput::new(
            InputKind::Engine,
            "engine",
            ENGINE.replacen("cylinders = 8", "# eight\ncylinders = 8", 1),
        )),
    ]
}

#[test]
fn the_engine_that_is_held_is_the_one_that_would_be_read() {
    let mut view = JobView::default();
    let mut held: Option<Arc<Engine>> = None;
    for (at, fact) in facts().into_iter().enumerate() {
        let a_reading = matches!(fact, Fact::Final(_) | Fact::Voided { .. });
        let seq = at as u64 + 1;
        let stamp = Stamp {
            seq,
            at: jiff::Timestamp::UNIX_EPOCH,
            hash: seq.to_string(),
        };
        view.apply(stamp, fact).unwrap();
        let (Ok(found), Ok(read)) = (engine(&view), read_engine(&view)) else {
            assert_eq!(seq, 1, "only before there is an engine file");
            continue;
        };
        assert_eq!(
            format!("{found:?}"),
            format!("{read:?}"),
            "after fact {seq}"
        );
        let again = engine(&view.clone()).unwrap();
        assert!(Arc::ptr_eq(&found, &again), "a copy reads it anew");
        if let (true, Some(held)) = (a_reading, &held) {
            assert!(Arc::ptr_eq(held, &found), "a reading has it read anew");
        }
        held = Some(found);
    }
    assert!(held.is_some());
}

/// A dial that failed its check keeps its decks in doubt after heads were milled: the doubt is of
/// the reading, whatever stage asks for it.
#[test]
fn a_doubt_is_not_cut_off_with_the_metal() {
    let mut deck = fact::Reading::new("deck/1/front", 0.2, "mm", ReadingSource::Captured);
    deck.gauge = Some("depth".to_owned());
    let mut all = facts();
    let failed = all.iter().find_map(|fact| match fact {
        Fact::Check(check) => Some(CheckedGauge {
            passed: Some(false),
            ..check.clone()
        }),
        _ => None,
    });
    let cut = all.iter().position(|fact| matches!(fact, Fact::Cut(_)));
    let cut = cut.expect("a cut");
    all.insert(cut, Fact::Final(deck));
    all.insert(cut + 1, Fact::Check(failed.expect("a check")));
    let mut view = JobView::default();
    for (at, fact) in all.into_iter().enumerate() {
        let seq = at as u64 + 1;
        let stamp = Stamp {
            seq,
            at: jiff::Timestamp::UNIX_EPOCH,
            hash: seq.to_string(),
        };
        view.apply(stamp, fact).unwrap();
    }
    assert_eq!(view.stage(), "milled");
    let asked = Asked::new(&view, None).unwrap();
    let doubts = zero_checks::in_doubt(&view, &asked.holding());
    let (why, spots) = doubts.iter().next().expect("a doubt");
    assert!(why.starts_with("gauge depth failed its check"), "{why}");
    assert_eq!(spots.iter().collect::<Vec<_>>(), ["deck/1/front"]);
    let found = zero_checks::findings(&view, &asked.engine, &asked.stage, &asked.holding());
    let marked = found.iter().filter(|one| one.spot == "deck/1/front");
    assert!(marked.count() > 0, "{found:?}");
}

/// 64.2 cc that a person typed without a width is known to half of its last digit, whether it was
/// typed as a value or as two levels.
#[test]
fn what_was_typed_is_known_to_its_last_digit() {
    let mut view = JobView::default();
    let mut typed = fact::Reading::new("chamber/1", 64.2, "cc", ReadingSource::Typed);
    typed.labels.insert(DECIMALS.to_owned(), "1".to_owned());
    let mut all = facts();
    all.truncate(2);
    all.push(Fact::Final(typed));
    for (at, fact) in all.into_iter().enumerate() {
        let seq = at as u64 + 1;
        let stamp = Stamp {
            seq,
            at: jiff::Timestamp::UNIX_EPOCH,
            hash: seq.to_string(),
        };
        view.apply(stamp, fact).unwrap();
    }
    let engine = engine(&view).unwrap();
    let all = readings(&view, &engine).unwrap();
    assert_eq!(all[0].step, Some(0.1));
}
