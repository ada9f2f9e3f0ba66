//! Evenings over the whole daemon but its HTTP, with faults of the machine in them. One seed draws
//! evening, hand, faults and what the disk forgets; one thread and one clock do the rest, so that a
//! seed replays exactly.

mod bench;
mod daemon;
mod faults;
mod held;
mod tool;

use benchhand_testbed::disk::{DiskFault, Operation};
use benchhand_wire::Reason;
use serde_json::json;

use crate::clock::Clock;
use crate::synth::evening::{EveningKind, EveningPlan, EveningTotals, PlayedEvening, play};
use daemon::SeededDaemon;
use faults::Faults;
use tool::SeededTool;

/// An hour, microseconds: no new evening is begun after it.
const HOUR_US: u64 = 3_600_000_000;

/// How many seeds are played: `BENCHHAND_HOURS`, or enough for every day.
fn hours() -> u64 {
    let asked = std::env::var("BENCHHAND_HOURS").ok();
    asked.and_then(|n| n.parse().ok()).unwrap_or(8)
}

/// The seeds that are played: `BENCHHAND_SEEDS`, such as 4,21,168, or the first ones.
fn seeds() -> Vec<u64> {
    let asked = std::env::var("BENCHHAND_SEEDS").ok();
    let asked = asked.map(|seeds| seeds.split(',').filter_map(|s| s.parse().ok()).collect());
    asked.unwrap_or_else(|| (0..hours()).collect())
}

/// An hour or more of work, as it was played.
struct PlayedHour {
    seed: u64,
    evenings: Vec<PlayedEvening>,
    /// What does not hold of the record.
    wrong: Vec<String>,
    faults: usize,
    gauge_us: u64,
    trace: String,
}

/// Plays the work of a seed: evening after evening, each a job of its own, until an hour has passed.
fn played(seed: u64, faults: Faults) -> PlayedHour {
    let first = EveningPlan::draw(seed, EveningKind::Any);
    let mut daemon = SeededDaemon::new(seed, faults);
    let counts = match first.make.counts_down {
        true => "down",
        false => "up",
    };
    daemon.sets_gauge(first.make.capacity, first.direction_known.then_some(counts));
    let mut hour = PlayedHour {
        seed,
        evenings: Vec::new(),
        wrong: Vec::new(),
        faults: 0,
        gauge_us: 0,
        trace: String::new(),
    };
    let mut shown_at_end = Vec::new();
    while daemon.clock.now_us() < HOUR_US {
        let number = hour.evenings.len() as u64;
        let plan = match number {
            0 => first.clone(),
            // The same burette stands there, from wherever its level was left.
            _ => {
                let next = EveningPlan::draw(seed ^ (number << 32), EveningKind::Any);
                EveningPlan {
                    make: first.make,
                    start: next.start % first.make.capacity,
                    ..next
                }
            }
        };
        let job = format!("engine-{number}");
        let mut tool = SeededTool::begin(&mut daemon, &plan, job.clone());
        hour.evenings.push(play(&plan, &mut tool));
        for stop in 0..plan.stops.len() {
            let (spot, round) = tool::place(&plan, stop);
            let shown = daemon.reading(&job, &spot, round);
            shown_at_end.push(((job.clone(), spot, round), shown));
        }
    }
    hour.gauge_us = daemon.clock.now_us();
    hour.wrong = held::hold(&mut daemon);
    for ((job, spot, round), shown) in shown_at_end {
        let now = daemon.reading(&job, &spot, round);
        if now != shown {
            let lost = format!("{job}: {spot} round {round} showed {shown:?}, and shows {now:?}");
            hour.wrong.push(lost);
        }
    }
    hour.faults = daemon.known.faults;
    hour.trace = daemon.trace();
    hour
}

/// Plays seeds on all processors, in the order of the seeds.
fn all(seeds: &[u64], faults: impl Fn(u64) -> Faults + Sync) -> Vec<PlayedHour> {
    let workers = std::thread::available_parallelism().map_or(1, usize::from);
    let of = |from: usize| -> Vec<_> {
        let own = seeds.iter().skip(from).step_by(workers);
        own.map(|&seed| played(seed, faults(seed))).collect()
    };
    let mut all: Vec<PlayedHour> = std::thread::scope(|scope| {
        let running: Vec<_> = (0..workers)
            .map(|from| {
                scope.spawn({
                    let of = &of;
                    move || of(from)
                })
            })
            .collect();
        let ended = running
            .into_iter()
            .flat_map(|worker| worker.join().expect("an hour"));
        ended.collect()
    });
    all.sort_by_key(|hour| hour.seed);
    all
}

fn totals(hours: &[PlayedHour]) -> EveningTotals {
    let mut totals = EveningTotals::default();
    for evening in hours.iter().flat_map(|hour| &hour.evenings) {
        totals.add(evening);
    }
    totals
}

/// Nothing may be wrong with a record; every seed with which something is tells it, and the first one
/// its story.
fn assert_nothing_lost(hours: &[PlayedHour]) {
    let wrong: Vec<_> = hours.iter().filter(|hour| !hour.wrong.is_empty()).collect();
    let each: Vec<_> = wrong.iter().map(|hour| (hour.seed, &hour.wrong)).collect();
    let first = wrong.first().map(|hour| hour.evenings.as_slice());
    let story: String = first
        .iter()
        .flat_map(|all| all.iter())
        .map(PlayedEvening::told)
        .collect();
    assert!(wrong.is_empty(), "{each:#?}\n{story}");
}

#[test]
fn seeded_hours_with_faults_lose_nothing() {
    let hours = all(&seeds(), Faults::of);
    assert_nothing_lost(&hours);
    let faults: usize = hours.iter().map(|hour| hour.faults).sum();
    let gauge_us: u64 = hours.iter().map(|hour| hour.gauge_us).sum();
    assert!(gauge_us >= HOUR_US * hours.len() as u64);
    assert!(faults > 0, "nothing went wrong");
}

#[test]
fn no_more_is_wrong_in_silence_with_faults_than_without() {
    let seeds = seeds();
    let sound = all(&seeds, |_| Faults::none());
    assert_nothing_lost(&sound);
    let (with, without) = (totals(&all(&seeds, Faults::of)), totals(&sound));
    assert!(
        with.failed.len() <= without.failed.len(),
        "with faults {:?} {:?}, without {:?} {:?}\n{}",
        with.of,
        with.failed,
        without.of,
        without.failed,
        with.stories.concat()
    );
}

#[test]
fn a_seed_replays_exactly() {
    for seed in seeds().into_iter().take(2) {
        let once = played(seed, Faults::of(seed));
        let again = played(seed, Faults::of(seed));
        assert_eq!(once.trace, again.trace, "seed {seed}");
        let other = played(seed, Faults::none());
        assert_ne!(
            once.trace, other.trace,
            "without its faults it is another hour"
        );
    }
}

/// The disk takes the first line of a control, that a reading does not count, and refuses the second,
/// where the route stands: the control is refused, and whoever watches is told of the reading.
#[test]
fn what_a_control_kept_before_the_disk_refused_the_rest_is_told() {
    let mut daemon = SeededDaemon::new(1, Faults::none());
    daemon.sets_gauge(100.0, Some("up"));
    let plan = EveningPlan::draw(1, EveningKind::Sound);
    drop(SeededTool::begin(&mut daemon, &plan, "v8".to_owned()));
    let typed = json!({"job": "v8", "control": "type", "value": "46.1 cc", "sure": true});
    daemon.ask("routes/control", typed).unwrap();
    let states = |daemon: &SeededDaemon| -> Vec<String> {
        let told = daemon.known.told.values();
        told.map(|(_, state)| state.clone()).collect()
    };
    assert_eq!(states(&daemon), ["final"]);
    // It is asked which reading is meant, and the answer takes it back.
    let again = json!({"job": "v8", "control": "again"});
    daemon.ask("routes/control", again.clone()).unwrap();
    let refused = DiskFault::Refused(std::io::ErrorKind::StorageFull);
    daemon.disks.files.fail(Operation::Append, 2, refused);
    let refusal = daemon.ask("routes/control", again).unwrap_err();
    assert_eq!(refusal.reason, Reason::Storage, "{refusal}");
    assert_eq!(states(&daemon), ["voided"]);
}
