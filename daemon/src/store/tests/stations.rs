//! One job at several stations: whatever was said where, and however it came, all see the same.

use proptest::prelude::*;
use proptest::test_runner::RngSeed;

use super::random::{Saying, counted_right, fact, pick, saying};
use super::shop::{TestShop, TestStation, told};
use crate::store::fact::{Fact, InputKind, JobInput, StatedCondition, ZeroedGauge};
use crate::store::view::JobView;

#[derive(Debug, Clone)]
pub(super) enum Step {
    /// A station states something that fits what it knows.
    Say(usize, Told),
    /// Lines of a station's journal come from one to another, up to so many.
    Carry(usize, usize, usize, u64),
    /// A station's clock goes on, seconds.
    Wait(usize, u64),
    /// A station is started anew.
    Restart(usize),
}

#[derive(Debug, Clone)]
pub(super) enum Told {
    Common(Saying),
    Restore(u8),
    Keep(u8),
    Engine(u8),
    Condition(f64),
    ConditionOf(u8, f64),
    Zero(f64),
}

const STATIONS: usize = 3;

fn told_fact() -> impl Strategy<Value = Told> {
    prop_oneof![
        8 => saying().prop_map(Told::Common),
        2 => any::<u8>().prop_map(Told::Restore),
        1 => any::<u8>().prop_map(Told::Keep),
        1 => any::<u8>().prop_map(Told::Engine),
        1 => (10.0..30.0).prop_map(Told::Condition),
        1 => (any::<u8>(), 10.0..30.0).prop_map(|(n, value)| Told::ConditionOf(n, value)),
        1 => (0.0..1.0).prop_map(Told::Zero),
    ]
}

pub(super) fn step() -> impl Strategy<Value = Step> {
    let station = || 0..STATIONS;
    prop_oneof![
        10 => (station(), told_fact()).prop_map(|(at, told)| Step::Say(at, told)),
        5 => (station(), station(), station(), 1..40_u64)
            .prop_map(|(from, to, of, until)| Step::Carry(from, to, of, until)),
        1 => (station(), 0..200_u64).prop_map(|(at, seconds)| Step::Wait(at, seconds)),
        1 => station().prop_map(Step::Restart),
    ]
}

fn said(view: &JobView, told: &Told) -> Option<Fact> {
    let condition = |value: f64, since| {
        Fact::Condition(StatedCondition {
            name: "liquid/temperature".into(),
            value: Some(value),
            unit: Some("°C".into()),
            u: None,
            text: None,
            since,
        })
    };
    Some(match told {
        Told::Common(saying) => fact(view, saying)?,
        Told::Restore(n) => Fact::Restored {
            of: pick(view, *n)?,
        },
        Told::Keep(n) => Fact::Kept {
            of: pick(view, *n)?,
            asked: "far from its fellows".into(),
        },
        Told::Engine(n) => {
            let text = format!("bore = \"4.0{n:02} in\"\n");
            Fact::Input(JobInput::new(InputKind::Engine, "engine", text))
        }
        Told::Condition(value) => condition(*value, None),
        Told::ConditionOf(n, value) => condition(*value, Some(pick(view, *n)?)),
        Told::Zero(raw) => zero(*raw),
    })
}

fn zero(raw: f64) -> Fact {
    Fact::Zero(ZeroedGauge {
        gauge: "burette-1".into(),
        channel: 0,
        raw,
        unit: "cc".into(),
        u: None,
        against: "its own zero".into(),
        nominal: None,
        sd: None,
        n: None,
        hanging: None,
        let_stand: false,
    })
}

/// A shop of several stations after these steps; in the end each has heard of all.
pub(super) fn played(steps: &[Step], last: &[(usize, usize, usize, u64)]) -> TestShop {
    let mut shop = TestShop::new(STATIONS);
    for step in steps {
        match step {
            Step::Say(at, saying) => {
                let job = shop.stations[*at].job();
                // A person's request that does not fit is refused at the door.
                if let Some(fact) = said(job.view(), saying)
                    && job.view().fits(&fact).is_ok()
                {
                    job.append(fact, None).unwrap();
                    let own = told(job.view());
                    let (read, _) = shop.stations[*at].store.view("v8").unwrap();
                    assert_eq!(told(&read), own, "as read from the disk");
                }
            }
            Step::Carry(from, to, of, until) => shop.carry(*from, *to, *of, *until),
            Step::Wait(at, seconds) => shop.stations[*at].clock().advance(seconds * 1_000_000),
            Step::Restart(at) => shop.stations[*at].close(),
        }
    }
    for (from, to, of, until) in last {
        shop.carry(*from, *to, *of, *until);
    }
    shop.carry_all();
    // A station that opens the job only now says so.
    for station in &mut shop.stations {
        station.job();
    }
    shop.carry_all();
    shop
}

fn run(steps: &[Step], last: &[(usize, usize, usize, u64)]) {
    let mut shop = played(steps, last);
    let first = told(&shop.stations[0].view());
    for station in &mut shop.stations {
        let view = station.view();
        assert_eq!(told(&view), first, "at station {}", station.id);
        counted_right(&view);
        let (read, _) = station.store.view("v8").unwrap();
        assert_eq!(told(&read), first, "read at station {}", station.id);
        station.store.verify("v8").unwrap();
        let mut followed = Vec::new();
        let whole = station.store.reader().follow("v8", |view, _| {
            followed = view.readings().cloned().collect();
            Ok::<(), ()>(())
        });
        assert!(whole.is_ok());
        assert_eq!(followed, view.readings().cloned().collect::<Vec<_>>());
        let notes = view.merge().unwrap();
        assert_eq!((notes.waiting(), notes.refused()), (0, 0));
    }
    // And a station that comes last, with everything at once.
    let mut late = TestStation::new(STATIONS);
    for station in &shop.stations {
        let lines = shop.stations[0].lines(&shop.job, &station.id, 0);
        late.take_in(&shop.job, &station.id, &lines);
    }
    let (read, _) = late.store.view("v8").unwrap();
    assert_eq!(told(&read), first, "at a late station");
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 400,
        rng_seed: RngSeed::Fixed(20_261_130),
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    /// Whatever several stations say, and in whatever order and portions it comes, all of them see
    /// the same, and so does one that comes last.
    #[test]
    fn all_stations_see_the_same(
        steps in prop::collection::vec(step(), 1..60),
        last in prop::collection::vec((0..STATIONS, 0..STATIONS, 0..STATIONS, 1..60_u64), 0..8),
    ) {
        run(&steps, &last);
    }
}
