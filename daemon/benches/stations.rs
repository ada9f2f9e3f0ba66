//! What being one of several stations costs: a reading's acknowledged append in a folder that never
//! joined a shop, in one that joined, and in a job that another station measures too; and how fast
//! another station's lines are taken in. Prints ratios against the first of the same run.
//!
//! The folders take turns reading by reading, so that a disk that slows down slows all of them.

#![allow(clippy::print_stdout)] // A benchmark says what it found.

use std::sync::Arc;
use std::time::{Duration, Instant};

use benchhand_daemon::clock::SystemClock;
use benchhand_daemon::store::fact::{Fact, Reading, ReadingSource, WindowSample};
use benchhand_daemon::store::job::{Job, NewJob};
use benchhand_daemon::store::other_journals::JournalLine;
use benchhand_daemon::store::station::{JobId, StationId};
use benchhand_daemon::store::{Access, Store};
use benchhand_files::RealFiles;
use tempfile::TempDir;

const READINGS: u32 = 3000;
const PORTION: usize = 500;

/// A captured reading with three seconds of its gauge's samples.
fn reading(n: u32) -> Fact {
    let sample = |k: u64| -> WindowSample { (k * 100_000, 64.0 + f64::from(n % 100) / 100.0) };
    Fact::Final(Reading {
        gauge: Some("burette-1".into()),
        window: (0..30).map(sample).collect(),
        ..Reading::new(
            format!("chamber/{}", n % 8 + 1),
            64.0,
            "cc",
            ReadingSource::Captured,
        )
    })
}

struct Bench {
    store: Store,
    _folder: TempDir,
}

impl Bench {
    fn new(letter: Option<&str>) -> Bench {
        let folder = TempDir::new().unwrap();
        let (files, clock) = (Arc::new(RealFiles), Arc::new(SystemClock::new()));
        let store = Store::open(folder.path(), files, clock, Access::write("bench")).unwrap();
        if letter.is_some() {
            store.join_shop(letter).unwrap();
        }
        Bench {
            store,
            _folder: folder,
        }
    }

    fn create(&self) -> Job {
        let new = NewJob {
            name: "v8".into(),
            engine: "bore = \"4 in\"\n".into(),
            ..NewJob::default()
        };
        self.store.create_job(new).unwrap().0
    }

    fn lines(&self, job: &JobId, station: &StationId) -> Vec<JournalLine> {
        let all = (0, usize::MAX);
        self.store.lines(job, station, all, None).unwrap()
    }
}

fn timed(job: &mut Job, n: u32) -> Duration {
    let began = Instant::now();
    job.append(reading(n), None).unwrap();
    began.elapsed()
}

fn median(mut times: Vec<Duration>) -> f64 {
    times.sort();
    times[times.len() / 2].as_secs_f64()
}

fn main() {
    let (alone, joined, other, both) = (
        Bench::new(None),
        Bench::new(Some("A")),
        Bench::new(Some("B")),
        Bench::new(Some("C")),
    );
    let mut alone_job = alone.create();
    let mut joined_job = joined.create();
    // B measures a job of its own, which C takes up and measures too.
    let mut other_job = other.create();
    for n in 0..READINGS {
        other_job.append(reading(n), None).unwrap();
    }
    let station = other.store.station().unwrap().unwrap().station;
    let heads = other.store.heads(|_| None).unwrap();
    let job = heads[0].job.clone();
    let lines = other.lines(&job, &station);
    both.store
        .take_in(&job, &station, &lines[..PORTION])
        .unwrap();
    let (mut both_job, _) = both.store.job("v8").unwrap();
    both_job.append(reading(0), None).unwrap();
    let began = Instant::now();
    for portion in lines[PORTION..].chunks(PORTION) {
        both_job.take_in(&station, portion).unwrap();
    }
    let rate = (lines.len() - PORTION) as f64 / began.elapsed().as_secs_f64();
    println!("taken in by an open job, all before its own last fact: {rate:.0} lines a second");
    let mut times = [const { Vec::new() }; 3];
    for n in 0..READINGS {
        let jobs = [&mut alone_job, &mut joined_job, &mut both_job];
        for (times, job) in times.iter_mut().zip(jobs) {
            times.push(timed(job, n));
        }
    }
    let [alone, joined, both] = times.map(median);
    println!("a reading, never joined: {:.0} us", 1e6 * alone);
    println!("joined: {:.3} of its rate", alone / joined);
    println!(
        "another station measured {READINGS} too: {:.3} of its rate",
        alone / both
    );
}
