//! What a station keeps of the others' journals, and what of its own goes to them.

use std::io::Cursor;
use std::path::Path;
use std::sync::Arc;

use benchhand_files::Files;

use super::shop::{TestShop, TestStation, told};
use super::{DATA, TestDisks, keep, new_job, open_v8, reading};
use crate::store::backup::restore::restore;
use crate::store::backup::write::back_up;
use crate::store::error::StoreError;
use crate::store::fact::{Fact, InputKind, JobInput};
use crate::store::job::{EngineFile, JobError};
use crate::store::other_journals::JournalLine;
use crate::store::station_fault::StationFault;
use crate::store::{Access, Store};

fn chamber(value: f64) -> Fact {
    Fact::Final(reading("chamber/1", value))
}

fn fault<T: std::fmt::Debug>(result: Result<T, StoreError>) -> StationFault {
    match result {
        Err(StoreError::Job(JobError::Station(fault))) => fault,
        other => panic!("expected a fault, got {other:?}"),
    }
}

#[test]
fn a_folder_that_never_joined_writes_as_it_always_did_and_joins_without_loss() {
    let disks = TestDisks::new(1);
    let before = {
        let store = disks.store();
        let mut job = open_v8(&store);
        keep(&mut job, chamber(64.0));
        disks.read("jobs/v8/journal.ndjson")
    };
    assert!(!before.contains("stamp") && !before.contains("station"));
    let store = disks.store();
    let card = store.join_shop(Some("A")).unwrap();
    let (mut job, _) = store.job("v8").unwrap();
    keep(&mut job, chamber(64.1));
    let after = disks.read("jobs/v8/journal.ndjson");
    assert!(after.starts_with(&before), "old lines stay as they are");
    let new: Vec<&str> = after[before.len()..].lines().collect();
    assert!(new[0].contains("\"fact\":\"joined\"") && new[0].contains(&card.station.0));
    assert!(new.last().unwrap().contains("\"stamp\":17"), "{new:?}");
    assert!(
        new.last().unwrap().contains("\"rests_on\":1,"),
        "the first stage"
    );
    drop(job);
    // Without the file that says so it is no station any more.
    disks
        .disk
        .remove(&Path::new(DATA).join("station.json"))
        .unwrap();
    let (mut job, _) = store.job("v8").unwrap();
    keep(&mut job, chamber(64.2));
    let left = disks.read("jobs/v8/journal.ndjson");
    assert!(!left[after.len()..].contains("stamp"));
    assert_eq!(job.view().counts().live, 3);
}

#[test]
fn lines_come_in_once_in_order_and_only_as_they_were_written() {
    let mut shop = TestShop::new(2);
    shop.stations[0].keep(chamber(64.0));
    shop.stations[0].keep(chamber(64.1));
    let (job, id) = (shop.job.clone(), shop.stations[0].id.clone());
    let lines = shop.stations[0].lines(&job, &id, 0);
    let (to, held) = (&shop.stations[1], shop.stations[0].id.clone());
    let known = to.holds(&job, &held) as usize;
    assert!(known < lines.len());
    let store = &to.store;
    let skipped = fault(store.take_in(&job, &id, &lines[known + 1..]));
    assert!(matches!(skipped, StationFault::Gap { .. }), "{skipped}");
    let mut changed = lines[known..].to_vec();
    changed[0].text = changed[0].text.replace("\"value\":64", "\"value\":65");
    assert_ne!(changed[0].text, lines[known].text);
    let changed = fault(store.take_in(&job, &id, &changed));
    assert!(
        matches!(changed, StationFault::NotSound { .. }),
        "{changed}"
    );
    for _ in 0..2 {
        store.take_in(&job, &id, &lines).unwrap();
        assert_eq!(to.holds(&job, &held) as usize, lines.len());
    }
    let mut other = lines.clone();
    other[1].hash = "0".repeat(64);
    let forked = fault(store.take_in(&job, &id, &other));
    assert!(
        matches!(forked, StationFault::Forked { number: 2, .. }),
        "{forked}"
    );
    let own = fault(store.take_in(&job, &to.id, &lines));
    assert!(matches!(own, StationFault::Own { .. }), "{own}");
    assert_eq!(to.lines(&job, &held, 0), lines, "byte for byte");
}

#[test]
fn what_a_crash_left_of_anothers_lines_is_cut_off_and_comes_again() {
    let mut shop = TestShop::new(2);
    shop.stations[0].keep(chamber(64.0));
    shop.carry_all();
    let (job, id) = (shop.job.clone(), shop.stations[0].id.clone());
    let path = format!("{DATA}/jobs/v8/stations/{id}.ndjson");
    let (path, disk) = (Path::new(&path), &shop.stations[1].disks.disk);
    let mut bytes = disk.read(path).unwrap();
    let whole = bytes.clone();
    bytes.truncate(bytes.len() - 20);
    disk.replace(path, &bytes).unwrap();
    shop.stations[1].close();
    let held = shop.stations[1].holds(&job, &id);
    assert_eq!(
        held as usize,
        shop.stations[0].lines(&job, &id, 0).len() - 1
    );
    shop.carry_all();
    assert_eq!(shop.stations[1].disks.disk.read(path).unwrap(), whole);
    shop.stations[1].job();
    shop.carry_all();
    assert_eq!(
        told(&shop.stations[0].view()),
        told(&shop.stations[1].view())
    );
}

#[test]
fn lines_of_a_newer_program_are_kept_and_counted_and_own_work_goes_on() {
    let mut shop = TestShop::new(2);
    let (job, id) = (shop.job.clone(), shop.stations[1].id.clone());
    shop.stations[1].keep(chamber(64.0));
    let mut lines = shop.stations[1].lines(&job, &id, 0);
    let last = lines.last().unwrap().clone();
    let body = format!(
        "{{\"v\":2,\"seq\":9,\"at\":\"x\",\"prev\":\"{}\",\"melted\":1",
        last.hash
    );
    let hash = blake3::hash(body.as_bytes()).to_hex().to_string();
    lines.push(JournalLine {
        number: last.number + 1,
        text: format!("{body},\"sum\":\"{hash}\"}}"),
        hash,
    });
    shop.stations[0].job().take_in(&id, &lines).unwrap();
    let standing = shop.stations[0].job().stations();
    let other = standing.iter().find(|one| !one.own).unwrap();
    assert_eq!((other.not_understood, other.lines), (1, last.number + 1));
    let unread = |station: &mut TestStation| {
        let view = station.view();
        view.merge().unwrap().not_understood().to_vec()
    };
    assert_eq!(unread(&mut shop.stations[0]), [("B".to_owned(), 1)]);
    assert_eq!(unread(&mut shop.stations[1]), []);
    let own = shop.stations[0].keep(chamber(64.3));
    shop.stations[0].close();
    let view = shop.stations[0].view();
    assert!(view.reading(own).is_some());
    assert_eq!(view.counts().live, 2);
    // It is told after the next start too, and by who only reads.
    let (read, _) = shop.stations[0].store.view("v8").unwrap();
    for view in [&view, &read] {
        let unread = view.merge().unwrap().not_understood();
        assert_eq!(unread, [("B".to_owned(), 1)]);
    }
    shop.stations[0].store.verify("v8").unwrap();
}

#[test]
fn a_restored_folder_takes_back_its_own_later_lines() {
    let mut shop = TestShop::new(2);
    shop.stations[0].keep(chamber(64.0));
    shop.carry_all();
    let whole = shop.stations[1].view();
    let (job, id) = (shop.job.clone(), shop.stations[1].id.clone());
    let own = shop.stations[1].keep(chamber(64.4));
    let lines = shop.stations[1].lines(&job, &id, 0);
    shop.carry_all();
    // The backup holds nothing of the last reading.
    let station = &mut shop.stations[1];
    station.close();
    let path = Path::new(DATA).join("jobs/v8/journal.ndjson");
    let bytes = station.disks.disk.read(&path).unwrap();
    let cut = bytes.len() - lines.last().unwrap().text.len() - 1;
    station.disks.disk.replace(&path, &bytes[..cut]).unwrap();
    station
        .disks
        .disk
        .remove(&Path::new(DATA).join("jobs/v8/journal.end"))
        .unwrap();
    let (view, _) = station.store.view("v8").unwrap();
    assert!(view.reading(own).is_none());
    station.store.take_back(&job, &lines).unwrap();
    assert_eq!(station.disks.disk.read(&path).unwrap(), bytes);
    assert!(station.view().reading(own).is_some());
    assert_ne!(told(&whole), told(&station.view()));
    // And a station that lost its disk gets the whole job.
    let mut lost = TestStation::new(1);
    let first = shop.stations[0].id.clone();
    let opener = shop.stations[0].lines(&job, &first, 0);
    lost.take_in(&job, &first, &opener);
    lost.store.take_back(&job, &lines).unwrap();
    assert_eq!(told(&lost.view()), told(&shop.stations[0].view()));
}

#[test]
fn a_job_of_the_same_name_that_another_station_opened_gets_a_name_of_its_own() {
    let mut shop = TestShop::new(1);
    shop.stations[0].keep(chamber(64.0));
    let mut other = TestStation::new(1);
    other.clock().advance(1);
    drop(other.store.create_job(new_job("v8")).unwrap());
    let (job, id) = (shop.job.clone(), shop.stations[0].id.clone());
    let lines = shop.stations[0].lines(&job, &id, 0);
    let taken = other.store.take_in(&job, &id, &lines).unwrap();
    assert!(taken.is_new);
    let names = other.store.job_names().unwrap();
    assert_eq!(names.len(), 2, "{names:?}");
    assert!(taken.name.starts_with("v8-"), "{}", taken.name);
    let (view, _) = other.store.view(&taken.name).unwrap();
    assert_eq!((view.name(), view.counts().live), (taken.name.as_str(), 1));
    assert_eq!(other.view().counts().live, 0);
}

#[test]
fn a_backup_holds_what_the_others_wrote_and_which_station_it_was() {
    let mut shop = TestShop::new(3);
    let id = shop.stations[0].keep(chamber(64.0));
    shop.carry_all();
    shop.stations[1].keep(chamber(64.1));
    shop.stations[1].keep(Fact::voided(id, "bubble".into()));
    shop.carry_all();
    shop.stations[0].keep(Fact::Restored { of: id });
    shop.carry_all();
    // The third one never opened the job and has no journal of its own.
    for n in 0..3 {
        let station = &mut shop.stations[n];
        let (before, _) = station.store.view("v8").unwrap();
        let mut bytes = Vec::new();
        let now = "2026-03-02T10:00:00Z".parse().unwrap();
        back_up(station.store.reader(), now, &mut bytes, &mut |_| ()).unwrap();
        let (length, to) = (bytes.len() as u64, Path::new("/restored"));
        let disks = TestDisks::new(9);
        restore(&disks.files, Cursor::new(bytes), length, to, &mut |_| ()).unwrap();
        let (files, clock) = (Arc::new(disks.files.clone()), disks.clock.clone());
        let restored = Store::open(to, files, clock, Access::write("test")).unwrap();
        let (after, _) = restored.view("v8").unwrap();
        assert_eq!(told(&after), told(&before), "station {n}");
        assert_eq!(restored.station().unwrap().unwrap().station, station.id);
    }
}

#[test]
fn an_engine_file_follows_the_others_but_an_edit_is_never_overwritten() {
    let engine = |text: &str| Fact::Input(JobInput::new(InputKind::Engine, "engine", text));
    let (first, edit, third) = (
        "bore = \"4.040 in\"\n",
        "bore = \"4.5 in\"\n",
        "bore = \"4.1 in\"\n",
    );
    let mut shop = TestShop::new(2);
    shop.stations[1].job();
    shop.stations[0].keep(engine(first));
    shop.carry_all();
    assert_eq!(shop.stations[1].disks.read("jobs/v8/engine.toml"), first);
    let path = Path::new(DATA).join("jobs/v8/engine.toml");
    shop.stations[1]
        .disks
        .disk
        .replace(&path, edit.as_bytes())
        .unwrap();
    shop.stations[0].keep(engine(third));
    shop.carry_all();
    assert_eq!(shop.stations[1].disks.read("jobs/v8/engine.toml"), edit);
    assert_eq!(shop.stations[1].view().engine().unwrap().content, third);
    shop.stations[1].close();
    let (job, opening) = shop.stations[1].store.job("v8").unwrap();
    assert!(
        matches!(opening.engine, EngineFile::Loaded(_)),
        "{opening:?}"
    );
    assert_eq!(job.view().engine().unwrap().content, edit);
    let findings = job.view().merge().unwrap().findings().len();
    assert_eq!(findings, 1, "it did not know of the third");
}
