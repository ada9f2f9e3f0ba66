//! What being one of several stations costs: a reading's acknowledged append in a folder that never
//! joined a shop, in one that joined, and in a job that another station measures too; and how fast
//! another station's lines are taken in. Prints ratios against the first of the same run.
//!
//! The folders take turns reading by reading, so that a disk that slows down slows all of them. On a file
//! system in memory (`TMPDIR=/dev/shm`) it shows what the program alone costs.

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
const TIMES: u32 = 51;
const ORDERS: [[usize; 3]; 6] = [
    [0, 1, 2],
    [2, 1, 0],
    [1, 2, 0],
    [0, 2, 1],
    [2, 0, 1],
    [1, 0, 2],
];

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

/// What one more line costs where a journal has so many: to find it and give it out, and at another
/// station to take it in.
fn one_more_line() {
    for readings in [10, 1000, 50_000] {
        let (from, to) = (Bench::new(Some("A")), Bench::new(Some("B")));
        let mut job = from.create();
        let all: Vec<Fact> = (0..readings).map(reading).collect();
        for portion in all.chunks(PORTION) {
            job.append_together(portion.to_vec(), None).unwrap();
        }
        let station = from.store.station().unwrap().unwrap().station;
        let head = |job: &Job| from.store.own_head("v8", Some(job.kept_len())).unwrap();
        let id = head(&job).unwrap().job;
        to.store
            .take_in(&id, &station, &from.lines(&id, &station))
            .unwrap();
        let (mut taking, _) = to.store.job("v8").unwrap();
        let (mut given, mut taken) = (Vec::new(), Vec::new());
        for n in 0..TIMES {
            job.append(reading(n), None).unwrap();
            let began = Instant::now();
            let head = head(&job).unwrap();
            let last = (head.number - 1, PORTION);
            let kept = Some(job.kept_len());
            let lines = from.store.lines(&id, &station, last, kept).unwrap();
            given.push(began.elapsed());
            assert_eq!(lines.len(), 1);
            let began = Instant::now();
            taking.take_in(&station, &lines).unwrap();
            taken.push(began.elapsed());
        }
        println!(
            "one more line behind {readings}: given out in {:.0} us, taken in in {:.0} us",
            1e6 * median(given),
            1e6 * median(taken)
        );
    }
}

fn main() {
    one_more_line();
    let (alone, joined, other, both) = (
        Bench::new(None),
        Bench::new(Some("A")),
        Bench::new(Some("B")),
        Bench::new(Some("C")),
    );
    let mut alone_job = alone.create();
    let mut joined_job = joined.create();
    // As many readings as the other station's: what is compared are jobs of one size.
    let before: Vec<Fact> = (0..READINGS).map(reading).collect();
    for portion in before.chunks(PORTION) {
        for job in [&mut alone_job, &mut joined_job] {
            job.append_together(portion.to_vec(), None).unwrap();
        }
    }
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
        // Each follows on each of the others equally often: what one leaves to the disk is not always
        // the same one's to wait for.
        let jobs = [&mut alone_job, &mut joined_job, &mut both_job];
        for place in ORDERS[n as usize % ORDERS.len()] {
            times[place].push(timed(jobs[place], n));
        }
    }
    let [alone, joined, both] = times.map(median);
    println!("a reading, never joined: {:.0} us", 1e6 * alone);
    println!("joined: {:.3} of its rate", alone / joined);
    println!(
        "another station measured as many: {:.3} of its rate",
        alone / both
    );
}
