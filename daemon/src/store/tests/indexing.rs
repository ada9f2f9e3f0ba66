//! Lists and searches: the two implementations agree, and whatever happens to the files of the
//! index, the answers are what the journals say.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use jiff::Timestamp;
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use tempfile::TempDir;

use super::{keep, new_job, reading};
use crate::clock::SystemClock;
use crate::files::{FailingFiles, Fault, Operation, RealFiles};
use crate::store::fact::Fact;
use crate::store::index::{Index, MemoryIndex, Query, Row, SledIndex, Standing};
use crate::store::lists::Notice;
use crate::store::summary::JobSummary;
use crate::store::{Access, Store};

fn at(second: i64) -> Timestamp {
    Timestamp::from_second(1_772_000_000 + second).unwrap()
}

fn summary(job: &str, seq: u64) -> JobSummary {
    JobSummary {
        name: job.into(),
        title: None,
        opened: Some(at(0)),
        last: Some(at(seq.cast_signed())),
        seq,
        hash: format!("{seq:064}"),
        stage: "as received".into(),
        readings: 0,
        marked: 0,
    }
}

#[derive(Debug, Clone)]
enum Change {
    Put(u8, Vec<Row>),
    Update(u8, Vec<Row>),
    Forget(u8),
}

fn job(n: u8) -> String {
    format!("job-{}", n % 3)
}

fn row() -> impl Strategy<Value = Row> {
    let spots = prop::sample::select(vec!["chamber/1", "chamber/10", "chamber", "deck/1/front"]);
    let gauges = prop::sample::subsequence(vec!["depth-2", "depth", "burette-1"], 0..=3);
    (0..3_u8, 0..6_u64, spots, gauges, 0..50_i64, 0..4_usize).prop_map(
        |(of, id, spot, gauges, second, standing)| Row {
            job: job(of),
            id,
            spot: spot.into(),
            stage: "as received".into(),
            value: 64.0,
            unit: "cc".into(),
            u: None,
            gauges: gauges.into_iter().map(str::to_owned).collect(),
            round: None,
            at: at(second),
            standing: [
                Standing::Held,
                Standing::Final,
                Standing::Superseded,
                Standing::Voided,
            ][standing],
            marked: false,
        },
    )
}

fn change() -> impl Strategy<Value = Change> {
    let rows = || prop::collection::vec(row(), 0..5);
    prop_oneof![
        2 => (0..3_u8, rows()).prop_map(|(of, rows)| Change::Put(of, rows)),
        4 => (0..3_u8, rows()).prop_map(|(of, rows)| Change::Update(of, rows)),
        1 => (0..3_u8).prop_map(Change::Forget),
    ]
}

fn query() -> impl Strategy<Value = Query> {
    let word = |words: Vec<&'static str>| {
        prop::option::of(prop::sample::select(words).prop_map(str::to_owned))
    };
    (
        word(vec!["job-0", "job-1", "job-9"]),
        word(vec!["chamber", "chamber/", "chamber/1", "cham", "deck"]),
        word(vec!["depth", "depth-2", "scale"]),
        prop::option::of((0..50_i64).prop_map(at)),
        prop::option::of((0..50_i64).prop_map(at)),
        any::<bool>(),
    )
        .prop_map(|(job, spot, gauge, from, until, all)| Query {
            job,
            spot,
            gauge,
            from,
            until,
            all,
        })
}

fn make(index: &mut dyn Index, seq: u64, change: &Change) {
    // A job's rows are of that job and each number is there once, as in a journal.
    let own = |of: u8, rows: &[Row]| -> Vec<Row> {
        let mut own = std::collections::BTreeMap::new();
        for row in rows {
            own.insert(
                row.id,
                Row {
                    job: job(of),
                    ..row.clone()
                },
            );
        }
        own.into_values().collect()
    };
    match change {
        Change::Put(of, rows) => index.put(&summary(&job(*of), seq), &own(*of, rows)),
        Change::Update(of, rows) => index.update(&summary(&job(*of), seq), &own(*of, rows)),
        Change::Forget(of) => index.forget(&job(*of)),
    }
    .unwrap();
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 48,
        rng_seed: RngSeed::Fixed(347),
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn the_index_on_disk_and_the_one_in_memory_agree(
        changes in prop::collection::vec(change(), 1..25),
        queries in prop::collection::vec(query(), 1..12),
        reopen_at in 0..25_usize,
    ) {
        let folder = TempDir::new().unwrap();
        let mut memory = MemoryIndex::default();
        let mut disk = Some(SledIndex::open(folder.path()).unwrap());
        for (seq, change) in changes.iter().enumerate() {
            if seq == reopen_at {
                drop(disk.take());
                disk = Some(SledIndex::open(folder.path()).unwrap());
            }
            make(&mut memory, seq as u64, change);
            make(disk.as_mut().unwrap(), seq as u64, change);
        }
        let disk = disk.unwrap();
        prop_assert_eq!(memory.jobs().unwrap(), disk.jobs().unwrap());
        for query in queries.iter().chain([&Query { all: true, ..Query::default() }]) {
            prop_assert_eq!(memory.search(query).unwrap(), disk.search(query).unwrap());
        }
    }
}

struct Shop {
    folder: TempDir,
}

impl Shop {
    fn new() -> Self {
        Self {
            folder: TempDir::new().unwrap(),
        }
    }

    fn store(&self) -> Store {
        let clock = Arc::new(SystemClock::new());
        Store::open(
            self.folder.path(),
            Arc::new(RealFiles),
            clock,
            Access::write("test"),
        )
        .unwrap()
    }

    fn index(&self) -> std::path::PathBuf {
        self.folder.path().join("index")
    }

    fn journal(&self, job: &str) -> std::path::PathBuf {
        self.folder
            .path()
            .join("jobs")
            .join(job)
            .join("journal.ndjson")
    }
}

fn chambers(store: &Store, job: &str, count: u32) {
    let mut job = store.create_job(new_job(job)).unwrap().0;
    for n in 1..=count {
        keep(
            &mut job,
            Fact::Final(reading(&format!("chamber/{n}"), 64.0)),
        );
    }
}

/// What the index says is what the journals say, and says what else was noticed meanwhile.
fn agree(store: &Store) -> Vec<Notice> {
    let lists = store.lists().unwrap();
    let all = Query {
        all: true,
        ..Query::default()
    };
    assert_eq!(lists.search(&all).unwrap(), store.search(&all).unwrap());
    assert_eq!(lists.jobs().unwrap().jobs, store.jobs().unwrap().jobs);
    lists.take_notices()
}

#[test]
fn an_index_follows_every_fact_and_is_in_step_after_a_restart() {
    let shop = Shop::new();
    let store = shop.store();
    chambers(&store, "v8", 2);
    let lists = store.lists().unwrap();
    let (mut job, _) = store.job("v8").unwrap();
    let ack = job
        .append(Fact::Final(reading("chamber/3", 64.0)), None)
        .unwrap();
    lists.changed(job.view(), &ack.touched);
    let query = Query {
        spot: Some("chamber/3".into()),
        ..Query::default()
    };
    assert_eq!(lists.search(&query).unwrap()[0].id, ack.seq);
    let void = Fact::Voided {
        of: ack.seq,
        reason: "slip".into(),
    };
    let void = job.append(void, None).unwrap();
    lists.changed(job.view(), &void.touched);
    assert_eq!(lists.search(&query).unwrap(), []);
    assert_eq!(lists.jobs().unwrap().jobs, store.jobs().unwrap().jobs);
    drop(lists);
    assert_eq!(agree(&store), []);
}

#[test]
fn an_index_that_was_left_behind_catches_up() {
    let shop = Shop::new();
    let store = shop.store();
    chambers(&store, "v8", 2);
    assert_eq!(agree(&store), []);
    // Facts that no index was told of, as after a kill.
    keep(
        &mut store.job("v8").unwrap().0,
        Fact::Final(reading("chamber/3", 64.0)),
    );
    chambers(&store, "v6", 1);
    assert_eq!(agree(&store), []);
    fs::remove_dir_all(shop.folder.path().join("jobs/v6")).unwrap();
    assert_eq!(agree(&store), [Notice::Gone { job: "v6".into() }]);
}

#[test]
fn a_folder_of_garbage_is_set_aside_and_the_index_begun_anew() {
    let shop = Shop::new();
    let store = shop.store();
    chambers(&store, "v8", 2);
    for name in ["conf", "db", "blobs", "snap.0000000000000000"] {
        fs::create_dir_all(shop.index()).unwrap();
        fs::write(shop.index().join(name), b"\x07garbage\xff".repeat(400)).unwrap();
    }
    let notices = agree(&store);
    assert!(
        matches!(notices.as_slice(), [Notice::BegunAnew { .. }]),
        "{notices:?}"
    );
    assert!(shop.folder.path().join("index.broken").is_dir());
    assert_eq!(agree(&store), []);
}

#[test]
fn a_snapshot_that_was_never_finished_costs_nothing() {
    let shop = Shop::new();
    let store = shop.store();
    chambers(&store, "v8", 2);
    assert_eq!(agree(&store), []);
    fs::write(
        shop.index().join("snap.0000000000000001.generating"),
        b"half",
    )
    .unwrap();
    assert!(
        SledIndex::open(&shop.index()).is_err(),
        "the trap this test is about is gone"
    );
    let notices = agree(&store);
    assert!(
        matches!(notices.as_slice(), [Notice::BegunAnew { .. }]),
        "{notices:?}"
    );
    assert_eq!(agree(&store), []);
}

#[test]
fn damaged_files_of_the_index_never_change_an_answer() {
    let shop = Shop::new();
    let store = shop.store();
    chambers(&store, "v8", 30);
    assert_eq!(agree(&store), []);
    for round in 0..12 {
        damage(&shop.index(), round);
        agree(&store);
    }
}

/// Overwrites a part of every file, another part each round.
fn damage(folder: &Path, round: usize) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_file() {
            let mut bytes = fs::read(&path).unwrap();
            let start = bytes.len() * round / 12;
            let end = (start + 64).min(bytes.len());
            bytes[start..end].fill(0xA5);
            fs::write(&path, bytes).unwrap();
        }
    }
}

#[test]
fn a_file_in_the_place_of_the_index_is_set_aside() {
    let shop = Shop::new();
    let store = shop.store();
    chambers(&store, "v8", 2);
    fs::write(shop.index(), b"a file").unwrap();
    let notices = agree(&store);
    assert!(
        matches!(notices.as_slice(), [Notice::BegunAnew { .. }]),
        "{notices:?}"
    );
}

#[test]
fn an_index_that_cannot_even_be_set_aside_leaves_the_answers_to_memory() {
    let shop = Shop::new();
    fs::create_dir(shop.index()).unwrap();
    fs::write(
        shop.index().join("snap.0000000000000001.generating"),
        b"half",
    )
    .unwrap();
    let files = FailingFiles::over(Arc::new(RealFiles), 1);
    let clock = Arc::new(SystemClock::new());
    let access = Access::write("test");
    let store = Store::open(shop.folder.path(), Arc::new(files.clone()), clock, access).unwrap();
    chambers(&store, "v8", 2);
    files.fail(
        Operation::Rename,
        1,
        Fault::Refused(std::io::ErrorKind::PermissionDenied),
    );
    let lists = store.lists().unwrap();
    assert_eq!(lists.search(&Query::default()).unwrap().len(), 2);
    let (mut job, _) = store.job("v8").unwrap();
    let ack = job
        .append(Fact::Final(reading("chamber/3", 64.0)), None)
        .unwrap();
    lists.changed(job.view(), &ack.touched);
    assert_eq!(lists.search(&Query::default()).unwrap().len(), 3);
    let notices = lists.take_notices();
    assert!(
        matches!(notices.as_slice(), [Notice::InMemory { .. }]),
        "{notices:?}"
    );
}

#[test]
fn a_journal_that_lost_facts_which_the_index_knew_is_reported() {
    let shop = Shop::new();
    let store = shop.store();
    chambers(&store, "v8", 3);
    assert_eq!(agree(&store), []);
    let whole = fs::read_to_string(shop.journal("v8")).unwrap();
    let shorter: String = whole.split_inclusive('\n').take(3).collect();
    fs::write(shop.journal("v8"), shorter).unwrap();
    let expected = Notice::Shortened {
        job: "v8".into(),
        known: 5,
        found: 3,
    };
    assert_eq!(agree(&store), [expected]);
}

#[test]
fn a_job_that_cannot_be_read_is_listed_with_the_reason() {
    let shop = Shop::new();
    let store = shop.store();
    chambers(&store, "v8", 1);
    fs::create_dir(shop.folder.path().join("jobs/empty")).unwrap();
    let list = store.lists().unwrap().jobs().unwrap();
    assert_eq!((list.jobs.len(), &*list.unreadable[0].0), (1, "empty"));
    assert!(list.unreadable[0].1.to_string().contains("journal.ndjson"));
}
