//! What views over many jobs take, beside folding the journals anew in the same run. Figures are
//! recorded, not gated. The folder is generated and invented.
//!
//! `cargo bench -p benchhand-daemon --bench views` builds the index of 100 jobs of 1,000 readings
//! again and asks a daemon over HTTP; two numbers after `--` are jobs and readings of each.

#![allow(clippy::print_stdout)] // A benchmark that measures a daemon says what it found.

use std::io::{Read, Write};
use std::net::{Ipv4Addr, SocketAddr, TcpListener, TcpStream};
use std::path::Path;
use std::sync::{Arc, mpsc};
use std::time::{Duration, Instant};

use benchhand_daemon::clock::SystemClock;
use benchhand_daemon::store::fact::{Fact, Reading, ReadingSource};
use benchhand_daemon::store::job::NewJob;
use benchhand_daemon::store::{Access, Store};
use benchhand_daemon::{Desk, SerialOpener, serve_on};
use benchhand_drivers::RealTime;
use benchhand_files::{AppendFile, FileError, Files, Listed, RealFiles};
use serde_json::{Value, json};
use tempfile::TempDir;
use tokio::sync::oneshot;

const ENGINE: &str = include_str!("../../examples/invented-v8.toml");

/// The disk without its syncs: a folder of a million readings is made in seconds.
#[derive(Debug)]
struct Unsynced;

#[derive(Debug)]
struct UnsyncedAppend(Box<dyn AppendFile>);

impl AppendFile for UnsyncedAppend {
    fn append(&mut self, bytes: &[u8]) -> Result<(), FileError> {
        self.0.append(bytes)
    }
    fn sync_data(&mut self) -> Result<(), FileError> {
        Ok(())
    }
    fn truncate(&mut self, len: u64) -> Result<(), FileError> {
        self.0.truncate(len)
    }
    fn len(&self) -> Result<u64, FileError> {
        self.0.len()
    }
}

impl Files for Unsynced {
    fn open_append(&self, path: &Path) -> Result<Box<dyn AppendFile>, FileError> {
        Ok(Box::new(UnsyncedAppend(RealFiles.open_append(path)?)))
    }
    fn read(&self, path: &Path) -> Result<Vec<u8>, FileError> {
        RealFiles.read(path)
    }
    fn len(&self, path: &Path) -> Result<u64, FileError> {
        RealFiles.len(path)
    }
    fn read_end(&self, path: &Path, most: usize) -> Result<Vec<u8>, FileError> {
        RealFiles.read_end(path, most)
    }
    fn replace(&self, path: &Path, bytes: &[u8]) -> Result<(), FileError> {
        RealFiles.replace(path, bytes)
    }
    fn sync_dir(&self, _: &Path) -> Result<(), FileError> {
        Ok(())
    }
    fn list(&self, path: &Path) -> Result<Vec<Listed>, FileError> {
        RealFiles.list(path)
    }
    fn create_dir(&self, path: &Path) -> Result<(), FileError> {
        RealFiles.create_dir(path)
    }
    fn rename(&self, from: &Path, to: &Path) -> Result<(), FileError> {
        RealFiles.rename(from, to)
    }
    fn remove(&self, path: &Path) -> Result<(), FileError> {
        RealFiles.remove(path)
    }
    fn try_lock(&self, path: &Path) -> Result<Option<Box<dyn Send + Sync>>, FileError> {
        RealFiles.try_lock(path)
    }
}

/// Every spot that a job measures, with the gauge and about what it shows.
fn spots() -> Vec<(String, &'static str, f64, &'static str)> {
    let mut spots = Vec::new();
    for cylinder in 1..=8 {
        spots.push((format!("chamber/{cylinder}"), "burette", 64.2, "cc"));
        spots.push((format!("crown/{cylinder}"), "burette", -3.2, "cc"));
        for point in ["front", "rear", "thrust", "antithrust"] {
            let spot = format!("deck/{cylinder}/{point}");
            spots.push((spot, "depth-2", 0.0082, "in"));
        }
        for height in ["top", "middle", "bottom"] {
            for direction in ["thrust", "pin"] {
                let spot = format!("bore/{cylinder}/{height}/{direction}");
                spots.push((spot, "bore-gauge", 4.0305, "in"));
            }
        }
    }
    spots
}

/// A fixed pattern that wanders by a few steps.
fn wander(n: usize) -> f64 {
    (n * 7919 % 11) as f64 / 10.0 - 0.5
}

fn reading(n: usize, of: &(String, &str, f64, &str), spots: usize) -> Fact {
    let (spot, gauge, value, unit) = of;
    let step = if *unit == "cc" { 0.1 } else { 0.0005 };
    Fact::Final(Reading {
        u: Some(step / 2.0),
        gauge: Some((*gauge).to_owned()),
        n: Some(30),
        sd: Some(step / 10.0),
        round: u32::try_from(1 + n / spots).ok(),
        ..Reading::new(
            spot,
            value + step * wander(n),
            *unit,
            ReadingSource::Captured,
        )
    })
}

fn store(folder: &Path) -> Store {
    let clock = Arc::new(SystemClock::new());
    Store::open(folder, Arc::new(Unsynced), clock, Access::write("bench")).expect("a store")
}

fn generate(store: &Store, jobs: usize, readings: usize) {
    let spots = spots();
    for job in 0..jobs {
        let new = NewJob {
            name: format!("job-{job:04}"),
            title: Some("Invented V8".into()),
            engine: ENGINE.replacen("4.047 in", &format!("4.0{}7 in", job % 10), 1),
            ..NewJob::default()
        };
        let (mut open, _) = store.create_job(new).expect("a job");
        for n in 0..readings {
            let fact = reading(n + job, &spots[n % spots.len()], spots.len());
            open.append(fact, None).expect("a reading");
        }
    }
}

fn size(folder: &Path) -> u64 {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let sizes = entries.map(|entry| match entry.metadata() {
        Ok(meta) if meta.is_dir() => size(&entry.path()),
        Ok(meta) => meta.len(),
        Err(_) => 0,
    });
    sizes.sum()
}

/// The most memory that this process has had, MiB; `None` where the system does not say.
fn peak_mib() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    Some(line.split_whitespace().nth(1)?.parse::<u64>().ok()? / 1024)
}

fn timed<T>(work: impl FnOnce() -> T) -> (T, Duration) {
    let began = Instant::now();
    let done = work();
    (done, began.elapsed())
}

fn rebuild(folder: &Path, store: &Store, all: usize) {
    let (_, folded) = timed(|| {
        for job in store.job_names().expect("jobs") {
            store.view(&job).expect("a view");
        }
    });
    let index = folder.join("index");
    let _ = std::fs::remove_dir_all(&index);
    let before = peak_mib();
    let (_, built) = timed(|| drop(store.lists().expect("lists")));
    println!(
        "index of {all} readings built again: {:.2} s, {:.0} readings/s, {:.2} of folding the \
         journals one by one ({:.2} s); index {:.1} MiB, journals {:.1} MiB; peak memory {:?} MiB \
         ({before:?} before)",
        built.as_secs_f64(),
        all as f64 / built.as_secs_f64(),
        built.as_secs_f64() / folded.as_secs_f64(),
        folded.as_secs_f64(),
        size(&index) as f64 / 1024.0 / 1024.0,
        size(&folder.join("jobs")) as f64 / 1024.0 / 1024.0,
        peak_mib(),
    );
}

/// A daemon on a thread of its own, asked over HTTP as the page and the command line do.
struct Served {
    address: SocketAddr,
    token: String,
    stop: Option<oneshot::Sender<()>>,
    thread: Option<std::thread::JoinHandle<()>>,
}

impl Served {
    fn start(data: &Path) -> Served {
        let data = data.to_owned();
        let (tell, told) = mpsc::channel();
        let (stop, stopped) = oneshot::channel::<()>();
        let thread = std::thread::spawn(move || {
            let runtime = tokio::runtime::Runtime::new().expect("a runtime");
            let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).expect("a free port");
            let serving = serve_on(
                &data,
                listener,
                Arc::new(SerialOpener::new(Arc::new(RealTime::new()))),
                Arc::new(SystemClock::new()),
                move |ready| tell.send((ready.address, ready.token)).expect("a listener"),
                async {
                    let _ = stopped.await;
                },
            );
            runtime.block_on(serving).expect("a daemon");
        });
        let (address, token) = told.recv().expect("a daemon that answers");
        Served {
            address,
            token,
            stop: Some(stop),
            thread: Some(thread),
        }
    }

    /// Asks, and gives the answer's bytes.
    fn ask(&self, path: &str) -> Vec<u8> {
        let mut line = TcpStream::connect(self.address).expect("a connection");
        let Served { address, token, .. } = self;
        write!(
            line,
            "GET /v1/{path} HTTP/1.1\r\nHost: {address}\r\nAuthorization: Bearer {token}\r\n\
             Connection: close\r\n\r\n"
        )
        .expect("asked");
        let mut answer = Vec::new();
        line.read_to_end(&mut answer).expect("an answer");
        assert!(answer.starts_with(b"HTTP/1.1 200"), "{path}");
        answer
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        self.stop = None;
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

/// How often each view is asked for.
const ASKED: usize = 21;

fn views(folder: &Path) {
    let served = Served::start(folder);
    // Once the index is in step it answers.
    served.ask("jobs");
    let folding = Desk::open(folder).expect("a desk");
    let asks: [(&str, &str, Value); 6] = [
        ("gauges", "gauges", json!({})),
        (
            "gauges/history?name=depth-2",
            "gauges/history",
            json!({"name": "depth-2"}),
        ),
        (
            "jobs/like?job=job-0003",
            "jobs/like",
            json!({"job": "job-0003"}),
        ),
        ("jobs", "jobs", json!({})),
        ("jobs?spot=chamber/3", "jobs", json!({"spot": "chamber/3"})),
        (
            "readings/at?spot=chamber/3",
            "readings/at",
            json!({"spot": "chamber/3"}),
        ),
    ];
    for (path, folded_path, body) in asks {
        let (_, first) = timed(|| served.ask(path));
        let mut times: Vec<Duration> = (0..ASKED).map(|_| timed(|| served.ask(path)).1).collect();
        times.sort();
        let (median, longest) = (times[ASKED / 2], times[ASKED - 1]);
        let (_, folded) = timed(|| {
            folding
                .dispatch(folded_path, body, None)
                .expect("an answer")
        });
        println!(
            "{path}: {:.1} ms (first {:.1}, longest {:.1}); folding the journals anew {:.0} ms, \
             {:.0} times as long",
            median.as_secs_f64() * 1e3,
            first.as_secs_f64() * 1e3,
            longest.as_secs_f64() * 1e3,
            folded.as_secs_f64() * 1e3,
            folded.as_secs_f64() / median.as_secs_f64(),
        );
    }
}

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let mut numbers = words.iter().filter_map(|word| word.parse().ok());
    let jobs: usize = numbers.next().unwrap_or(100);
    let readings: usize = numbers.next().unwrap_or(1000);
    let folder = TempDir::new().expect("a folder");
    let store = store(folder.path());
    let (_, made) = timed(|| generate(&store, jobs, readings));
    println!("{jobs} jobs of {readings} readings made in {made:.1?}");
    rebuild(folder.path(), &store, jobs * readings);
    drop(store);
    views(folder.path());
}
