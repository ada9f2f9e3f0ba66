//! How fast readings are kept and how fast a large job is opened again, on the disk that the
//! temporary folder lies on. Figures are recorded, not gated.
//!
//! `append_synced` is beside `bare_write_and_sync`, a bare write of a line of the same length
//! with the same sync and nothing else: what the disk itself takes.

use std::fs::OpenOptions;
use std::hint::black_box;
use std::io::Write;
use std::sync::Arc;

use benchhand_daemon::clock::SystemClock;
use benchhand_daemon::store::fact::{Fact, Reading, ReadingSource, WindowSample};
use benchhand_daemon::store::index::ReadingQuery;
use benchhand_daemon::store::job::{Job, NewJob};
use benchhand_daemon::store::{Access, Store};
use benchhand_files::RealFiles;
use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use tempfile::TempDir;

const READINGS: u32 = 10_000;

/// A captured reading with three seconds of its gauge's samples.
fn reading(n: u32) -> Fact {
    let sample = |k: u64| -> WindowSample { (k * 100_000, 64.0 + f64::from(n % 100) / 100.0) };
    Fact::Final(Reading {
        u: Some(0.02),
        gauge: Some("burette-1".into()),
        n: Some(30),
        sd: Some(0.004),
        round: Some(1 + n / 8),
        window: (0..30).map(sample).collect(),
        ..Reading::new(
            format!("chamber/{}", n % 8 + 1),
            64.0,
            "cc",
            ReadingSource::Captured,
        )
    })
}

fn store(folder: &TempDir) -> Store {
    let clock = Arc::new(SystemClock::new());
    Store::open(
        folder.path(),
        Arc::new(RealFiles),
        clock,
        Access::write("bench"),
    )
    .unwrap()
}

fn new_job(store: &Store) -> Job {
    let new = NewJob {
        name: "v8".into(),
        engine: "bore = \"4 in\"\n".into(),
        ..NewJob::default()
    };
    store.create_job(new).unwrap().0
}

fn appending(c: &mut Criterion) {
    let folder = TempDir::new().unwrap();
    let store = store(&folder);
    let mut job = new_job(&store);
    let mut group = c.benchmark_group("append");
    group.throughput(Throughput::Elements(1)).sample_size(50);
    let mut n = 0;
    group.bench_function("append_synced", |b| {
        b.iter(|| {
            n += 1;
            job.append(reading(n), None).unwrap()
        });
    });
    let journal = std::fs::read_to_string(job.dir().join("journal.ndjson")).unwrap();
    let line = journal.lines().last().unwrap().to_owned() + "\n";
    let path = folder.path().join("bare");
    let mut file = OpenOptions::new()
        .create(true)
        .append(true)
        .open(path)
        .unwrap();
    group.bench_function("bare_write_and_sync", |b| {
        b.iter(|| {
            file.write_all(line.as_bytes()).unwrap();
            file.sync_data().unwrap();
        });
    });
    group.finish();
}

fn opening(c: &mut Criterion) {
    let folder = TempDir::new().unwrap();
    let store = store(&folder);
    let mut job = new_job(&store);
    for n in 0..READINGS {
        job.append(reading(n), None).unwrap();
    }
    drop(job);
    let mut group = c.benchmark_group("10000_readings");
    group
        .throughput(Throughput::Elements(u64::from(READINGS)))
        .sample_size(10);
    group.bench_function("open_for_writing", |b| {
        b.iter(|| black_box(store.job("v8").unwrap()))
    });
    group.bench_function("read", |b| b.iter(|| black_box(store.view("v8").unwrap())));
    group.bench_function("verify", |b| b.iter(|| store.verify("v8").unwrap()));
    let query = ReadingQuery {
        spot: Some("chamber/3".into()),
        ..ReadingQuery::default()
    };
    group.bench_function("search_journals", |b| {
        b.iter(|| store.search(&query).unwrap())
    });
    let lists = store.lists().unwrap();
    assert_eq!(lists.search(&query).unwrap(), store.search(&query).unwrap());
    group.bench_function("search_index", |b| b.iter(|| lists.search(&query).unwrap()));
    group.finish();
}

criterion_group!(benches, appending, opening);
criterion_main!(benches);
