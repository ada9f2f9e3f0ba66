//! Jobs are created, opened, read and written; requests are repeated; files are edited by hand.

use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use super::{DATA, ENGINE_TEXT, TestDisks, keep, live, new_job, open_v8, reading};
use crate::clock::SystemClock;
use crate::store::error::StoreError;
use crate::store::fact::{Fact, InputKind};
use crate::store::job::{EngineFile, JobError, NewJob};
use crate::store::{Access, Store};
use benchhand_files::{Files, RealFiles};

#[test]
fn what_was_kept_is_there_when_the_job_is_opened_again() {
    let disks = TestDisks::new(2);
    let store = disks.store();
    let mut job = open_v8(&store);
    keep(&mut job, Fact::Final(reading("chamber/1", 64.1)));
    let view = job.view().clone();
    drop(job);

    let (job, opening) = store.job("v8").unwrap();
    assert_eq!(job.view(), &view);
    assert_eq!(opening, Default::default());
    assert_eq!(disks.reader().view("v8").unwrap().0, view);
    let verified = store.verify("v8").unwrap();
    assert_eq!(
        (verified.lines, verified.last_seq, verified.torn_bytes),
        (3, 3, 0)
    );
}

#[test]
fn a_repeated_request_is_kept_once_and_answered_the_same() {
    let disks = TestDisks::new(2);
    let store = disks.store();
    let mut job = open_v8(&store);
    let fact = Fact::Final(reading("chamber/1", 64.1));
    let first = job.append(fact.clone(), Some("req-1")).unwrap();
    let second = job.append(fact.clone(), Some("req-1")).unwrap();
    assert_eq!(
        (second.seq, second.at, second.repeated),
        (first.seq, first.at, true)
    );
    drop(job);

    let (mut job, _) = store.job("v8").unwrap();
    assert!(job.append(fact, Some("req-1")).unwrap().repeated);
    assert_eq!(live(&job, "as received").len(), 1);
    let other = Fact::Final(reading("chamber/1", 64.2));
    let error = job.append(other, Some("req-1")).unwrap_err();
    assert!(
        matches!(error, JobError::KeyReused { seq: 3, .. }),
        "{error}"
    );
    let error = job.append(Fact::Stop {}, Some("")).unwrap_err();
    assert!(matches!(error, JobError::BadKey(0)), "{error}");
}

#[test]
fn a_job_created_again_under_its_key_is_the_same_job() {
    let store = TestDisks::new(2).store();
    let new = NewJob {
        key: Some("create-1".into()),
        ..new_job("v8")
    };
    store.create_job(new.clone()).unwrap();
    assert_eq!(
        store.create_job(new).unwrap().0.view().head().unwrap().seq,
        2
    );
    let error = store.create_job(new_job("V8")).unwrap_err();
    assert!(
        error.to_string().contains(r#"a job "v8" is there already"#),
        "{error}"
    );
}

#[test]
fn an_engine_file_edited_by_hand_is_loaded_when_the_job_is_next_opened() {
    let disks = TestDisks::new(2);
    let store = disks.store();
    drop(open_v8(&store));
    let path = Path::new(DATA).join("jobs/v8/engine.toml");
    disks
        .files
        .replace(&path, b"bore = \"4.040 in\"\n")
        .unwrap();

    assert_eq!(
        disks.reader().view("v8").unwrap().1.engine,
        EngineFile::NotLoaded
    );
    let (job, opening) = store.job("v8").unwrap();
    assert_eq!(opening.engine, EngineFile::Loaded(3));
    assert_eq!(
        job.view().engine().unwrap().content,
        "bore = \"4.040 in\"\n"
    );
    let loads = job
        .view()
        .inputs()
        .find(|(kind, ..)| *kind == InputKind::Engine)
        .unwrap()
        .2;
    assert_eq!((loads.len(), &*loads[0].content), (2, ENGINE_TEXT));
}

#[test]
fn an_engine_file_that_cannot_be_used_leaves_the_last_one_in_force() {
    let disks = TestDisks::new(2);
    let refuse_zero = |text: &str| match text.contains("\"0 in\"") {
        true => Err("line 1: the bore is 0".to_owned()),
        false => Ok(()),
    };
    let store = disks.store().with_engine_check(refuse_zero);
    drop(open_v8(&store));
    let path = Path::new(DATA).join("jobs/v8/engine.toml");
    disks.files.replace(&path, b"bore = \"0 in\"\n").unwrap();

    let (job, opening) = store.job("v8").unwrap();
    assert_eq!(
        opening.engine,
        EngineFile::Refused("line 1: the bore is 0".into())
    );
    assert_eq!(job.view().engine().unwrap().content, ENGINE_TEXT);
    let bad = NewJob {
        engine: "bore = \"0 in\"".into(),
        ..new_job("other")
    };
    assert!(matches!(store.create_job(bad), Err(StoreError::Engine(_))));
    assert_eq!(store.job_names().unwrap(), ["v8"]);
}

#[test]
fn a_missing_engine_file_is_written_again_from_the_record() {
    let disks = TestDisks::new(2);
    let store = disks.store();
    drop(open_v8(&store));
    disks
        .files
        .remove(&Path::new(DATA).join("jobs/v8/engine.toml"))
        .unwrap();
    assert_eq!(store.job("v8").unwrap().1.engine, EngineFile::Restored);
    assert_eq!(disks.read("jobs/v8/engine.toml"), ENGINE_TEXT);
}

#[test]
fn an_input_is_kept_when_it_changes_and_only_then() {
    let store = TestDisks::new(2).store();
    let mut job = open_v8(&store);
    let text = |text: &str| crate::store::fact::JobInput::new(InputKind::Profile, "depth", text);
    assert!(job.load(text("a = 1")).unwrap().is_some());
    assert!(job.load(text("a = 1")).unwrap().is_none());
    assert!(job.load(text("a = 2")).unwrap().is_some());
    assert_eq!(
        job.view()
            .input(InputKind::Profile, "depth")
            .unwrap()
            .content,
        "a = 2"
    );
    let mut forged = text("a = 3");
    forged.hash = "0".repeat(64);
    let error = job
        .append(Fact::Input(forged), None)
        .unwrap_err()
        .to_string();
    assert!(error.contains("but its content gives"), "{error}");
}

#[test]
fn a_second_writer_is_told_who_writes_and_a_reader_is_let_in() {
    let folder = tempfile::tempdir().unwrap();
    let open = |access| {
        Store::open(
            folder.path(),
            Arc::new(RealFiles),
            Arc::new(SystemClock::new()),
            access,
        )
    };
    let writer = open(Access::write("serve")).unwrap();
    let mut job = open_v8(&writer);
    keep(&mut job, Fact::Final(reading("chamber/1", 64.1)));

    let wait = Duration::from_millis(60);
    let error = open(Access::Write {
        what: "import".into(),
        wait,
    })
    .unwrap_err()
    .to_string();
    assert!(
        error.contains(&format!("process {} (serve, since 20", std::process::id())),
        "{error}"
    );
    let reader = open(Access::Read).unwrap();
    assert_eq!(reader.view("v8").unwrap().0.readings().count(), 1);
    assert!(matches!(reader.job("v8"), Err(StoreError::ReadOnly)));
    drop((writer, job));
    open(Access::Write {
        what: "import".into(),
        wait,
    })
    .unwrap();
}

#[test]
fn a_job_that_is_not_there_names_those_that_are() {
    let disks = TestDisks::new(2);
    let empty = disks.reader();
    let error = empty.view("v8").unwrap_err().to_string();
    assert!(error.contains("create one from an engine file"), "{error}");
    let store = disks.store();
    drop(open_v8(&store));
    let error = store.view("v6").unwrap_err().to_string();
    assert!(error.contains("there are v8"), "{error}");
    assert!(matches!(store.view("../v8"), Err(StoreError::Name(_))));
    let list = store.jobs().unwrap();
    assert_eq!((list.jobs.len(), &*list.jobs[0].stage), (1, "as received"));
}
