//! One job never waits for another, and looking waits for nobody.

use std::path::Path;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Mutex};

use benchhand_files::{AppendFile, FileError, Files, Listed, RealFiles};
use tempfile::TempDir;

use super::{IDLE_US, LOOKED_FOR_US};
use crate::clock::HandClock;
use crate::known::keeper::Keeper;
use crate::store::fact::{Fact, Reading, ReadingSource, RouteStarted};
use crate::store::job::NewJob;

const ENGINE: &str = include_str!("../../../../examples/invented-v8.toml");

/// The machine's own disk, on which the syncs of one job's journal wait until they are let through.
#[derive(Debug)]
struct HeldUp {
    job: &'static str,
    begun: Mutex<Sender<()>>,
    let_through: Arc<Mutex<Receiver<()>>>,
}

/// Tells that a sync has begun, and waits until it is let through.
#[derive(Debug)]
struct HoldUp {
    begun: Sender<()>,
    let_through: Arc<Mutex<Receiver<()>>>,
}

#[derive(Debug)]
struct HeldUpFile {
    file: Box<dyn AppendFile>,
    held_up: Option<HoldUp>,
}

impl AppendFile for HeldUpFile {
    fn append(&mut self, bytes: &[u8]) -> Result<(), FileError> {
        self.file.append(bytes)
    }
    fn sync_data(&mut self) -> Result<(), FileError> {
        if let Some(HoldUp { begun, let_through }) = &self.held_up {
            let _ = begun.send(());
            let _ = let_through.lock().unwrap().recv();
        }
        self.file.sync_data()
    }
    fn truncate(&mut self, len: u64) -> Result<(), FileError> {
        self.file.truncate(len)
    }
    fn len(&self) -> Result<u64, FileError> {
        self.file.len()
    }
}

impl Files for HeldUp {
    fn open_append(&self, path: &Path) -> Result<Box<dyn AppendFile>, FileError> {
        let held_up = path.to_string_lossy().contains(self.job);
        let begun = self.begun.lock().unwrap().clone();
        Ok(Box::new(HeldUpFile {
            file: RealFiles.open_append(path)?,
            held_up: held_up.then(|| HoldUp {
                begun,
                let_through: Arc::clone(&self.let_through),
            }),
        }))
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
    fn sync_dir(&self, path: &Path) -> Result<(), FileError> {
        RealFiles.sync_dir(path)
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

fn clock() -> Arc<HandClock> {
    Arc::new(HandClock::new("2026-03-02T09:00:00Z".parse().unwrap()))
}

fn new_job(name: &str) -> NewJob {
    NewJob {
        name: name.to_owned(),
        engine: ENGINE.to_owned(),
        ..NewJob::default()
    }
}

fn chamber(value: f64) -> Fact {
    Fact::Final(Reading::new("chamber/1", value, "cc", ReadingSource::Typed))
}

fn kept(keeper: &Keeper, job: &str) -> Vec<f64> {
    let (view, _) = keeper.view(job).unwrap();
    view.readings().map(|reading| reading.value).collect()
}

#[test]
fn a_slow_disk_under_one_job_holds_up_neither_others_nor_those_who_look() {
    let folder = TempDir::new().unwrap();
    {
        let (files, clock) = (Arc::new(RealFiles), clock());
        let keeper = Keeper::holding(folder.path().to_owned(), files, clock).unwrap();
        for job in ["slow", "quick"] {
            keeper.create(new_job(job)).unwrap();
        }
    }
    let (begun, has_begun) = channel();
    let (let_through, waits) = channel();
    let files = Arc::new(HeldUp {
        job: "slow",
        begun: Mutex::new(begun),
        let_through: Arc::new(Mutex::new(waits)),
    });
    let keeper = Keeper::holding(folder.path().to_owned(), files, clock()).unwrap();
    // Opening syncs once.
    let_through.send(()).unwrap();
    keeper.view("slow").unwrap();
    has_begun.recv().unwrap();
    std::thread::scope(|scope| {
        let writing = scope.spawn(|| keeper.append("slow", chamber(64.0), None).unwrap());
        has_begun.recv().unwrap();
        // The disk is syncing the slow job's reading now, and goes on doing so.
        keeper.append("quick", chamber(64.2), None).unwrap();
        assert_eq!(kept(&keeper, "quick"), [64.2]);
        assert!(
            kept(&keeper, "slow").is_empty(),
            "it is not acknowledged yet"
        );
        assert!(!writing.is_finished());
        let_through.send(()).unwrap();
        writing.join().unwrap();
    });
    assert_eq!(kept(&keeper, "slow"), [64.0]);
}

#[test]
fn a_job_that_nobody_asked_for_is_closed_in_good_order_and_opened_again_as_it_was() {
    let folder = TempDir::new().unwrap();
    let clock = clock();
    let keeper = Keeper::holding(folder.path().to_owned(), Arc::new(RealFiles), clock.clone());
    let keeper = keeper.unwrap();
    for job in ["idle", "on-route", "busy"] {
        keeper.create(new_job(job)).unwrap();
        keeper.append(job, chamber(64.0), Some("k")).unwrap();
    }
    let started = Fact::RouteStarted(RouteStarted {
        route: "chambers".to_owned(),
        stops: vec!["chamber/1".to_owned()],
        rounds: 1,
        mean_s: None,
        gauges: Vec::new(),
    });
    keeper.append("on-route", started, None).unwrap();
    let stopped = |job: &str| {
        let journal = keeper.layout().job(job).join("journal.ndjson");
        let text = std::fs::read_to_string(journal).unwrap();
        text.lines().last().unwrap().contains("\"fact\":\"stop\"")
    };
    clock.advance(IDLE_US - LOOKED_FOR_US);
    keeper.view("busy").unwrap();
    assert!(!stopped("idle"));
    clock.advance(LOOKED_FOR_US);
    keeper.view("busy").unwrap();
    assert!(stopped("idle"));
    assert!(!stopped("busy") && !stopped("on-route"));
    assert_eq!(kept(&keeper, "idle"), [64.0]);
    let again = keeper.append("idle", chamber(64.0), Some("k")).unwrap();
    assert!(again.repeated, "its keys are known");
    keeper.append("idle", chamber(64.1), None).unwrap();
    assert_eq!(kept(&keeper, "idle"), [64.0, 64.1]);
}

#[test]
fn a_job_that_is_not_there_is_not_remembered() {
    let folder = TempDir::new().unwrap();
    let keeper = Keeper::holding(folder.path().to_owned(), Arc::new(RealFiles), clock()).unwrap();
    for n in 0..50 {
        assert!(keeper.view(&format!("none-{n}")).is_err());
        assert!(keeper.append("none", chamber(64.0), None).is_err());
    }
    assert_eq!(keeper.open_jobs(), 0);
    keeper.create(new_job("v8")).unwrap();
    assert!(keeper.create(new_job("v8")).is_err());
    assert_eq!(keeper.open_jobs(), 1);
}

#[test]
fn writers_who_come_while_the_disk_syncs_share_the_next_sync() {
    let folder = TempDir::new().unwrap();
    {
        let (files, clock) = (Arc::new(RealFiles), clock());
        let keeper = Keeper::holding(folder.path().to_owned(), files, clock).unwrap();
        keeper.create(new_job("slow")).unwrap();
    }
    let (begun, has_begun) = channel();
    let (let_through, waits) = channel();
    let files = Arc::new(HeldUp {
        job: "slow",
        begun: Mutex::new(begun),
        let_through: Arc::new(Mutex::new(waits)),
    });
    let keeper = Keeper::holding(folder.path().to_owned(), files, clock()).unwrap();
    let_through.send(()).unwrap();
    keeper.view("slow").unwrap();
    has_begun.recv().unwrap();
    let in_line = |n: usize| {
        let waiting = keeper.with_open_job("slow", |job| job.view().readings().count());
        waiting == Some(n)
    };
    std::thread::scope(|scope| {
        let keeper = &keeper;
        let write = |n: usize| {
            keeper
                .append("slow", chamber(60.0 + n as f64), None)
                .unwrap()
        };
        let first = scope.spawn(move || write(0));
        has_begun.recv().unwrap();
        // The first one is syncing. These are held against it, and wait.
        let others: Vec<_> = (1..8).map(|n| scope.spawn(move || write(n))).collect();
        while !in_line(8) {
            std::thread::yield_now();
        }
        let_through.send(()).unwrap();
        first.join().unwrap();
        has_begun.recv().unwrap();
        assert_eq!(kept(keeper, "slow"), [60.0]);
        let_through.send(()).unwrap();
        let acks: Vec<_> = others.into_iter().map(|one| one.join().unwrap()).collect();
        assert!(acks.iter().all(|ack| !ack.repeated));
        assert!(has_begun.try_recv().is_err(), "one sync was enough");
    });
    assert_eq!(kept(&keeper, "slow").len(), 8);
    let journal = keeper.layout().job("slow").join("journal.ndjson");
    let text = std::fs::read_to_string(journal).unwrap();
    assert!(text.contains("\"batch\":7,\"place\":7"), "{text}");
}
