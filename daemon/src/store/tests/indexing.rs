//! Whatever happens to the files of the index, lists and searches agree with the journals.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use tempfile::TempDir;

use super::{check, keep, new_job, reading};
use crate::clock::SystemClock;
use crate::store::fact::{Fact, Reading};
use crate::store::index::{ReadingQuery, SledIndex};
use crate::store::notice::Notice;
use crate::store::{Access, Store};
use benchhand_files::RealFiles;
use benchhand_testbed::disk::{DiskFault, FailingFiles, Operation};

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

/// The index agrees with the journals; returns the other notices that came meanwhile.
fn agree(store: &Store) -> Vec<Notice> {
    let lists = store.lists().unwrap();
    let all = ReadingQuery {
        all: true,
        ..ReadingQuery::default()
    };
    assert_eq!(lists.search(&all).unwrap(), store.search(&all).unwrap());
    assert_eq!(lists.jobs().unwrap().jobs, store.jobs().unwrap().jobs);
    let reader = store.reader();
    assert_eq!(
        lists.gauge_uses(None).unwrap(),
        reader.gauge_uses(None).unwrap()
    );
    assert_eq!(lists.engines().unwrap(), reader.engines().unwrap());
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
    let query = ReadingQuery {
        spot: Some("chamber/3".into()),
        ..ReadingQuery::default()
    };
    assert_eq!(lists.search(&query).unwrap()[0].id, ack.seq);
    let void = Fact::voided(ack.seq, "slip".into());
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
fn an_index_of_an_older_layout_is_begun_anew() {
    let shop = Shop::new();
    let store = shop.store();
    chambers(&store, "v8", 2);
    assert_eq!(agree(&store), []);
    SledIndex::open(&shop.index()).unwrap().become_layout(b"1");
    let notices = agree(&store);
    assert!(
        matches!(notices.as_slice(), [Notice::BegunAnew { reason }] if reason.contains("layout")),
        "{notices:?}"
    );
    assert_eq!(agree(&store), []);
}

#[test]
fn checks_and_repeats_are_told_as_they_are_kept() {
    let shop = Shop::new();
    let store = shop.store();
    chambers(&store, "v8", 1);
    let lists = store.lists().unwrap();
    assert_eq!(lists.gauge_uses(Some("burette")).unwrap(), []);
    let (mut job, _) = store.job("v8").unwrap();
    let by_gauge = |value: f64| {
        Fact::Final(Reading {
            gauge: Some("burette".into()),
            ..reading("chamber/2", value)
        })
    };
    for fact in [by_gauge(64.0), by_gauge(64.2), check("depth-2", false)] {
        let ack = job.append(fact, None).unwrap();
        lists.changed(job.view(), &ack.touched);
    }
    let uses = lists.gauge_uses(None).unwrap();
    assert_eq!(uses, store.reader().gauge_uses(None).unwrap());
    let [burette, other, depth] = uses.as_slice() else {
        panic!("{uses:?}");
    };
    assert_eq!((burette.readings, burette.scatter[0].dof), (2, 1));
    assert!(
        (burette.scatter[0].squares - 0.02).abs() < 1e-12,
        "{burette:?}"
    );
    assert_eq!((other.readings, other.scatter.len()), (1, 0));
    assert_eq!((depth.readings, depth.checks.len()), (0, 1));
    assert_eq!(depth.checks[0].passed, Some(false));
    let alone = lists.gauge_uses(Some("depth-2")).unwrap();
    assert_eq!(alone, std::slice::from_ref(depth));
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
        DiskFault::Refused(std::io::ErrorKind::PermissionDenied),
    );
    let lists = store.lists().unwrap();
    assert_eq!(lists.search(&ReadingQuery::default()).unwrap().len(), 2);
    let (mut job, _) = store.job("v8").unwrap();
    let ack = job
        .append(Fact::Final(reading("chamber/3", 64.0)), None)
        .unwrap();
    lists.changed(job.view(), &ack.touched);
    assert_eq!(lists.search(&ReadingQuery::default()).unwrap().len(), 3);
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
fn a_journal_that_went_another_way_from_a_copy_is_read_again() {
    let shop = Shop::new();
    let store = shop.store();
    chambers(&store, "v8", 2);
    let copy = fs::read(shop.journal("v8")).unwrap();
    keep(
        &mut store.job("v8").unwrap().0,
        Fact::Final(reading("chamber/3", 64.0)),
    );
    assert_eq!(agree(&store), []);
    fs::write(shop.journal("v8"), copy).unwrap();
    store.accept_damage("v8", "an older copy").unwrap();
    keep(
        &mut store.job("v8").unwrap().0,
        Fact::Final(reading("chamber/4", 64.0)),
    );
    assert_eq!(agree(&store), []);
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

#[test]
fn an_index_that_is_being_let_go_is_waited_for() {
    let folder = TempDir::new().unwrap();
    let held = SledIndex::open(folder.path()).unwrap();
    let both = std::sync::Barrier::new(2);
    std::thread::scope(|scope| {
        let next = scope.spawn(|| {
            both.wait();
            SledIndex::open(folder.path()).map(drop)
        });
        both.wait();
        drop(held);
        assert_eq!(next.join().unwrap(), Ok(()));
    });
}
