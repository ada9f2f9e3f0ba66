//! Whatever is stated, whatever fails, and whenever the power goes: every acknowledged fact is
//! there, in order, once. Nothing else is there, except perhaps the fact that was being written.

use proptest::prelude::*;
use proptest::test_runner::RngSeed;

use super::{TestDisks, check, cut, cut_withdrawn, new_job, reading};
use crate::store::Store;
use crate::store::fact::{Fact, ImportedReadings, InputKind, JobInput, Reading};
use crate::store::job::{Job, JobError};
use crate::store::view::{JobView, KeptReading};

#[derive(Debug, Clone)]
enum Step {
    Say(Saying),
    /// Writers that come together.
    Together(Vec<Saying>),
    /// The same request once more.
    Repeat,
    /// The daemon is killed; the disk goes on.
    Kill,
    /// The power goes; the seed decides what is left of unsynced bytes.
    CutPower(u64),
}

#[derive(Debug, Clone)]
pub(super) enum Saying {
    Held(u8, f64),
    Final(u8, f64),
    Revise(u8, f64),
    Finalise(u8),
    Void(u8),
    Move(u8, u8),
    Cut,
    /// A cut is taken back, or said anew where it is.
    Withdraw(u8),
    CorrectCut(u8),
    Check(bool),
    Import(u8),
    Load(u8),
    Stop,
}

pub(super) fn saying() -> impl Strategy<Value = Saying> {
    let value = -200.0..200.0_f64;
    prop_oneof![
        4 => (0..8_u8, value.clone()).prop_map(|(spot, value)| Saying::Held(spot, value)),
        4 => (0..8_u8, value.clone()).prop_map(|(spot, value)| Saying::Final(spot, value)),
        2 => (any::<u8>(), value).prop_map(|(of, value)| Saying::Revise(of, value)),
        2 => any::<u8>().prop_map(Saying::Finalise),
        2 => any::<u8>().prop_map(Saying::Void),
        2 => (any::<u8>(), 0..8_u8).prop_map(|(of, to)| Saying::Move(of, to)),
        1 => Just(Saying::Cut),
        1 => any::<u8>().prop_map(Saying::Withdraw),
        1 => any::<u8>().prop_map(Saying::CorrectCut),
        1 => any::<bool>().prop_map(Saying::Check),
        1 => (1..5_u8).prop_map(Saying::Import),
        1 => any::<u8>().prop_map(Saying::Load),
        1 => Just(Saying::Stop),
    ]
}

fn step() -> impl Strategy<Value = Step> {
    prop_oneof![
        12 => saying().prop_map(Step::Say),
        3 => prop::collection::vec(saying(), 1..6).prop_map(Step::Together),
        2 => Just(Step::Repeat),
        1 => Just(Step::Kill),
        1 => any::<u64>().prop_map(Step::CutPower),
    ]
}

fn spot(n: u8) -> String {
    format!("chamber/{}", n + 1)
}

/// The `n`th reading there is, wrapping round.
pub(super) fn pick(view: &JobView, n: u8) -> Option<u64> {
    let ids: Vec<_> = view.readings().map(|reading| reading.id).collect();
    (!ids.is_empty()).then(|| ids[usize::from(n) % ids.len()])
}

pub(super) fn fact(view: &JobView, saying: &Saying) -> Option<Fact> {
    Some(match *saying {
        Saying::Held(n, value) => Fact::Held(reading(&spot(n), value)),
        Saying::Final(n, value) => Fact::Final(Reading {
            window: vec![(1_000, value), (2_000, value + 0.01)],
            ..reading(&spot(n), value)
        }),
        Saying::Revise(n, value) => {
            let id = pick(view, n)?;
            let at = &view.reading(id)?.spot;
            Fact::Revised(Reading {
                supersedes: Some(id),
                ..reading(at, value)
            })
        }
        Saying::Finalise(n) => Fact::Finalised { of: pick(view, n)? },
        Saying::Void(n) => Fact::Voided {
            of: pick(view, n)?,
            reason: "slip".into(),
            by: None,
        },
        Saying::Move(n, to) => {
            let of = pick(view, n)?;
            let from = view.reading(of)?.spot.clone();
            Fact::Moved {
                of,
                from,
                to: spot(to),
                reason: "it was that one".into(),
                by: None,
            }
        }
        Saying::Cut => cut(&format!("milled {}", view.stages().len())),
        Saying::Withdraw(n) => withdrawn(view, n, None)?,
        Saying::CorrectCut(n) => {
            let what = format!("{n} tenths of a millimetre");
            withdrawn(view, n, Some(&what))?
        }
        Saying::Check(passed) => check("burette-1", passed),
        Saying::Import(rows) => Fact::Import(ImportedReadings {
            file: "book.csv".into(),
            hash: "0".repeat(64),
            rows: (0..rows).map(|n| reading(&spot(n), f64::from(n))).collect(),
        }),
        Saying::Load(n) => Fact::Input(JobInput::new(InputKind::Route, "own", format!("n = {n}"))),
        Saying::Stop => Fact::Stop {},
    })
}

/// What is said of the `n`th cut there is, wrapping round.
fn withdrawn(view: &JobView, n: u8, instead: Option<&str>) -> Option<Fact> {
    let cuts = view.opened_stages().iter().filter(|one| one.cut.is_some());
    let cuts: Vec<u64> = cuts.map(|stage| stage.seq).collect();
    let of = *cuts.get(usize::from(n) % cuts.len().max(1))?;
    Some(cut_withdrawn(view, of, instead))
}

/// What a view keeps while facts come is what going through all of its readings gives.
pub(super) fn counted_right(view: &JobView) {
    let mut all: Vec<_> = view.readings().collect();
    all.sort_by_key(|one| one.order());
    let live = || all.iter().filter(|one| one.state.is_live());
    let marked = live().filter(|one| one.marked.is_some()).count();
    let counts = view.counts();
    assert_eq!((counts.live, counts.marked), (live().count(), marked));
    for one in &all {
        let opened = view.opened_stages().iter();
        let until = opened.take_while(|stage| stage.seq != one.opened_in);
        let own = view.opened_by(one.opened_in).unwrap();
        let counts = until.chain([own]).filter(|stage| stage.stands()).last();
        assert_eq!(counts.unwrap().name, one.stage, "the stage of {}", one.id);
    }
    for stage in view.stages() {
        let stage = stage.name.as_str();
        let mut below = 0;
        for spot in (0..8).map(spot) {
            let at = |one: &&&KeptReading| one.spot == spot && one.stage == stage;
            let there: Vec<u64> = all.iter().filter(at).map(|one| one.id).collect();
            let found: Vec<u64> = view.at_spot(stage, &spot).map(|one| one.id).collect();
            assert_eq!(found, there, "at {spot}");
            let mut newest: Vec<u64> = live().filter(at).map(|one| one.id).collect();
            newest.reverse();
            let found: Vec<u64> = view.newest_at(stage, &spot).map(|one| one.id).collect();
            assert_eq!(found, newest, "counting at {spot}");
            assert_eq!(view.count_at(stage, &spot), newest.len());
            below += newest.len();
        }
        let family = view.newest_of(stage, "chamber");
        assert_eq!(
            family.map(|(_, readings)| readings.count()).sum::<usize>(),
            below
        );
    }
}

/// What the outside knows: the acknowledged facts, and the refused ones since then.
#[derive(Default)]
struct Known {
    acknowledged: Vec<Fact>,
    /// Each as what was written together.
    refused: Vec<Vec<Fact>>,
    last: Option<(Fact, String)>,
    keys: u32,
}

impl Known {
    fn say(&mut self, job: &mut Job, fact: Fact, key: String) {
        self.last = Some((fact.clone(), key.clone()));
        match job.append(fact.clone(), Some(&key)) {
            Ok(ack) if ack.repeated => assert!(self.acknowledged.contains(&fact)),
            Ok(_) => {
                self.acknowledged.push(fact);
                self.refused.clear();
            }
            Err(JobError::Misfit(_)) => self.last = None,
            Err(_) => self.refused.push(vec![fact]),
        }
    }

    fn say_together(&mut self, job: &mut Job, sayings: &[Saying]) {
        let (mut facts, mut places) = (Vec::new(), Vec::new());
        for saying in sayings {
            let Some(fact) = fact(job.view(), saying) else {
                continue;
            };
            self.keys += 1;
            let key = format!("key-{}", self.keys);
            match job.put_in_line(fact.clone(), Some(&key)) {
                Ok((_, place)) => {
                    facts.push(fact);
                    places.push(place);
                }
                Err(JobError::Misfit(_)) => {}
                Err(other) => panic!("{other}"),
            }
        }
        if facts.is_empty() {
            return;
        }
        let mut batch = job.take_batch().unwrap();
        batch.write();
        job.take_back(batch);
        let kept = places
            .into_iter()
            .map(|place| job.outcome(place).unwrap().is_ok());
        let kept: Vec<bool> = kept.collect();
        assert!(
            kept.iter().all(|one| *one == kept[0]),
            "kept in part: {kept:?}"
        );
        if kept[0] {
            self.acknowledged.extend(facts);
            self.refused.clear();
        } else {
            self.refused.push(facts);
        }
    }

    /// The kept facts are the acknowledged ones, and at most those of one more write, whole.
    fn compare(&mut self, store: &Store, job: &Job, before: &JobView) {
        let kept: Vec<_> = store.entries("v8").unwrap().into_iter().skip(2).collect();
        let kept: Vec<_> = kept.into_iter().map(|entry| entry.fact).collect();
        let (same, more) = kept.split_at(self.acknowledged.len().min(kept.len()));
        assert_eq!(same, self.acknowledged);
        match more {
            [] => assert_eq!(job.view(), before),
            more if self.refused.iter().any(|refused| refused == more) => {
                self.acknowledged.extend_from_slice(more);
            }
            other => panic!("never acknowledged: {other:?}"),
        }
        self.refused.clear();
        store.verify("v8").unwrap();
    }
}

fn run(seed: u64, failures: usize, steps: &[Step]) {
    let disks = TestDisks::new(seed);
    let mut store = disks.store();
    let (mut job, _) = store.create_job(new_job("v8")).unwrap();
    let mut known = Known::default();
    for step in steps.iter().chain([&Step::Kill]) {
        disks.files.fail_one_in(failures);
        match step {
            Step::Say(saying) => {
                let Some(fact) = fact(job.view(), saying) else {
                    continue;
                };
                known.keys += 1;
                let key = format!("key-{}", known.keys);
                // A copy is what the job was, whatever becomes of the job.
                let copy = (known.keys % 16 == 1).then(|| job.view().clone());
                let before = copy.as_ref().map(|copy| format!("{copy:?}"));
                known.say(&mut job, fact, key);
                if let (Some(copy), Some(before)) = (copy, before) {
                    assert_eq!(format!("{copy:?}"), before);
                    counted_right(job.view());
                }
            }
            Step::Together(sayings) => known.say_together(&mut job, sayings),
            Step::Repeat => {
                if let Some((fact, key)) = known.last.clone() {
                    known.say(&mut job, fact, key);
                }
            }
            Step::Kill | Step::CutPower(_) => {
                disks.files.fail_one_in(0);
                let before = job.view().clone();
                drop((job, store));
                if let Step::CutPower(seed) = step {
                    disks.disk.cut_power(*seed);
                }
                store = disks.store();
                job = store.job("v8").unwrap().0;
                known.compare(&store, &job, &before);
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 2000,
        rng_seed: RngSeed::Fixed(20260302),
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn what_was_acknowledged_is_there_whatever_fails(
        seed in any::<u64>(),
        failures in prop_oneof![Just(0_usize), 2..12_usize],
        steps in prop::collection::vec(step(), 1..60),
    ) {
        run(seed, failures, &steps);
    }
}
