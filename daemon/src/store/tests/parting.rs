//! Two machines ran from copies of one data folder: the second becomes a new station, and every
//! reading is there once.

use std::path::Path;

use benchhand_testbed::disk::{DiskFault, Operation};

use super::shop::{TestShop, TestStation, told};
use super::{DATA, check, reading};
use crate::store::fact::{Fact, ImportedReadings, Reading, StatedCondition};
use crate::store::kept_reading::KeptReading;
use crate::store::parting::PartedStation;
use crate::store::station::{JobId, StationId};
use crate::store::view::JobView;

fn chamber(n: u32, value: f64) -> Fact {
    Fact::Final(reading(&format!("chamber/{n}"), value))
}

fn temperature(value: f64) -> Fact {
    Fact::Condition(StatedCondition {
        name: "liquid/temperature".into(),
        value: Some(value),
        unit: Some("°C".into()),
        u: None,
        text: None,
        since: None,
    })
}

/// Two machines with one station's number, each with the same beginning and an end of its own.
struct Forked {
    shop: TestShop,
    second: TestStation,
    /// How many lines both have.
    shared: u64,
    station: StationId,
}

fn forked() -> Forked {
    let mut shop = TestShop::new(2);
    let first = &mut shop.stations[0];
    first.keep(check("burette-1", true));
    first.keep(temperature(19.0));
    first
        .job()
        .append(chamber(1, 64.0), Some("before"))
        .unwrap();
    let held = first.keep(Fact::Held(reading("chamber/2", 40.0)));
    let station = first.id.clone();
    shop.carry_all();
    let mut second = shop.stations[0].copied();
    let shared = second.holds(&shop.job, &station);
    shop.stations[0].keep(chamber(3, 65.0));
    shop.stations[0].keep(temperature(25.0));
    second.clock().advance(1_000_000);
    second.keep(Fact::Revised(Reading {
        supersedes: Some(held),
        ..reading("chamber/2", 64.5)
    }));
    let own = second
        .job()
        .append(chamber(4, 64.2), Some("behind"))
        .unwrap();
    let moved = Fact::Moved {
        of: own.seq,
        from: "chamber/4".into(),
        to: "chamber/5".into(),
        reason: "it was 5".into(),
        by: None,
    };
    second.keep(moved);
    second.keep(Fact::Import(ImportedReadings {
        file: "rows.csv".into(),
        hash: "0".repeat(64),
        rows: vec![reading("chamber/6", 64.6), reading("chamber/7", 64.7)],
    }));
    let bubble = second.keep(chamber(8, 60.0));
    second.keep(Fact::voided(bubble, "a bubble".into()));
    Forked {
        shop,
        second,
        shared,
        station,
    }
}

fn part(second: &mut TestStation, job: &JobId, shared: u64) -> PartedStation {
    second.close();
    let parted = second.store.part_ways(&[(job.clone(), shared)]).unwrap();
    second.id = parted.new.clone();
    parted
}

/// Every reading by what a person knows of it.
fn known(view: &JobView) -> Vec<(String, String, String)> {
    let said = |one: &KeptReading| {
        let state = match &one.state {
            crate::store::view::ReadingState::Superseded { .. } => "superseded".to_owned(),
            other => format!("{other:?}"),
        };
        (one.spot.clone(), one.value.to_string(), state)
    };
    let mut known: Vec<_> = view.readings().map(said).collect();
    known.sort();
    known
}

fn temperature_of(view: &JobView, spot: &str) -> Option<f64> {
    let reading = view.readings().find(|one| one.spot == spot)?;
    let part = view.part_of(reading.id);
    part.condition_in_session("liquid/temperature", reading.id)?
        .what
        .value
}

#[test]
fn every_reading_of_both_machines_is_there_once_at_every_station() {
    let Forked {
        mut shop,
        mut second,
        shared,
        station,
    } = forked();
    let before = known(&second.view());
    let old_journal = second.disks.read("jobs/v8/journal.ndjson");
    let parted = part(&mut second, &shop.job.clone(), shared);
    assert_eq!(parted.old, station);
    let carried = old_journal.lines().count() as u64 - shared;
    assert_eq!(parted.jobs, [("v8".to_owned(), shared, carried)]);
    assert_ne!(second.id, station);
    assert_eq!(
        known(&second.view()),
        before,
        "nothing is lost or there twice"
    );
    assert_eq!(temperature_of(&second.view(), "chamber/5"), Some(19.0));
    // What stays the old station's is as it was, byte for byte.
    let stays = second
        .disks
        .read(&format!("jobs/v8/stations/{station}.ndjson"));
    assert_eq!(stays.lines().count() as u64, shared);
    assert!(old_journal.starts_with(&stays));
    let whole = second.disks.read(&format!("jobs/v8/parted-{station}.txt"));
    assert_eq!(whole, old_journal);
    second.store.verify("v8").unwrap();

    // The stations hear of each other, and so does one that comes last.
    shop.stations.push(second);
    shop.stations.push(TestStation::new(3));
    shop.carry_all();
    for station in &mut shop.stations {
        station.job();
    }
    shop.carry_all();
    let mut all = before;
    all.push(("chamber/3".into(), "65".into(), "Final".into()));
    all.sort();
    let first = told(&shop.stations[0].view());
    for station in &mut shop.stations {
        let view = station.view();
        assert_eq!(known(&view), all);
        assert_eq!(told(&view), first);
        assert_eq!(temperature_of(&view, "chamber/3"), Some(19.0));
        let notes = view.merge().unwrap();
        assert_eq!((notes.waiting(), notes.refused()), (0, 0));
        station.store.verify("v8").unwrap();
    }
}

#[test]
fn a_request_that_is_repeated_after_the_parting_is_not_kept_twice() {
    let Forked {
        shop,
        mut second,
        shared,
        ..
    } = forked();
    part(&mut second, &shop.job, shared);
    let lines = second.holds(&shop.job, &second.id.clone());
    for (key, n, value) in [("before", 1, 64.0), ("behind", 4, 64.2)] {
        let ack = second.job().append(chamber(n, value), Some(key)).unwrap();
        assert!(ack.repeated, "{key}");
        let kept = second.view();
        let kept = kept.reading(ack.seq).unwrap();
        assert_eq!(kept.value, value, "{key}");
    }
    assert_eq!(second.holds(&shop.job, &second.id.clone()), lines);
}

#[test]
fn a_job_that_did_not_fork_stays_the_old_stations_and_goes_on_as_the_new_ones() {
    let Forked {
        shop, mut second, ..
    } = forked();
    let all = second.holds(&shop.job, &second.id.clone());
    let before = known(&second.view());
    let parted = part(&mut second, &shop.job, all);
    assert_eq!(parted.jobs, []);
    assert_eq!(known(&second.view()), before);
    second.keep(chamber(9, 64.9));
    assert_eq!(temperature_of(&second.view(), "chamber/9"), Some(19.0));
    let gauge = second.view();
    let (_, burette) = gauge.gauges().next().unwrap();
    assert_eq!(burette.checks.len(), 1, "its check is known on");
}

#[test]
fn a_job_that_the_shop_does_not_hold_at_all_is_the_new_stations_whole() {
    let Forked {
        shop, mut second, ..
    } = forked();
    let before = known(&second.view());
    second.close();
    let parted = second.store.part_ways(&[]).unwrap();
    second.id = parted.new;
    assert_eq!(known(&second.view()), before);
    // It is the same job: its opening line is the same.
    let lines = second.lines(&shop.job, &second.id, 0);
    assert_eq!(lines[0].hash, shop.job.0);
    let mut other = TestStation::new(4);
    other.take_in(&shop.job, &second.id, &lines);
    assert_eq!(known(&other.view()), before);
}

#[test]
fn a_second_parting_follows_on_the_first() {
    let Forked {
        shop,
        mut second,
        shared,
        ..
    } = forked();
    part(&mut second, &shop.job, shared);
    let before = known(&second.view());
    let end = second.holds(&shop.job, &second.id.clone());
    part(&mut second, &shop.job, end - 2);
    assert_eq!(known(&second.view()), before);
    let card = second.store.station().unwrap().unwrap();
    assert_eq!(card.was.len(), 2);
    let ack = second
        .job()
        .append(chamber(1, 64.0), Some("before"))
        .unwrap();
    assert!(ack.repeated);
}

/// Whatever refuses at whatever moment, and however the power goes then: the next writer finds the
/// folder as it was, or as the new station, and no reading is lost or there twice.
#[test]
fn a_parting_that_is_broken_off_anywhere_is_undone_or_finished() {
    use Operation::{CreateDir, Remove, Rename, Replace, SyncDir};
    let other = std::io::ErrorKind::Other;
    let faults = [DiskFault::Refused(other), DiskFault::DoneAllTheSame(other)];
    let mut broken = 0;
    for operation in [Replace, Rename, Remove, SyncDir, CreateDir] {
        for (fault, seed) in faults.into_iter().zip([7, 8]) {
            for nth in 1.. {
                let Forked {
                    shop,
                    mut second,
                    shared,
                    station,
                } = forked();
                let before = known(&second.view());
                second.close();
                second.disks.files.fail(operation, nth, fault);
                let held = [(shop.job.clone(), shared)];
                if second.store.part_ways(&held).is_ok() {
                    break;
                }
                broken += 1;
                let TestStation { disks, store, .. } = second;
                drop(store);
                disks.disk.cut_power(seed + nth);
                let store = disks.store();
                let now = store.station().unwrap().unwrap();
                let what = format!("{operation:?} {nth} {fault:?}");
                let (view, _) = store.view("v8").unwrap();
                assert_eq!(known(&view), before, "{what}");
                if now.station == station {
                    store.part_ways(&held).unwrap();
                }
                let (job, opening) = store.job("v8").unwrap();
                assert_eq!(opening.wrong(), None, "{what}");
                assert_eq!(known(job.view()), before, "{what}");
                drop(job);
                store.verify("v8").unwrap();
                let folder = disks.reader().files().list(Path::new(DATA)).unwrap();
                assert!(
                    folder.iter().all(|one| one.name != "parting.json"),
                    "{what}"
                );
            }
        }
    }
    assert!(broken > 20, "{broken}");
}

/// The spots of the readings that are marked, as a station sees them.
fn marked(view: &JobView) -> Vec<String> {
    let marked = view.readings().filter(|one| one.marked.is_some());
    let mut spots: Vec<String> = marked.map(|one| one.spot.clone()).collect();
    spots.sort();
    spots.dedup();
    spots
}

/// Two machines part behind a good check and a reading that rests on it; both measure on, and the
/// second one's gauge is found wrong. Gives every station's marks, and the second one's.
fn found_wrong(good_between: bool) -> (Vec<Vec<String>>, Vec<String>) {
    let mut shop = TestShop::new(2);
    let first = &mut shop.stations[0];
    first.keep(chamber(1, 64.0));
    first.keep(check("burette-1", true));
    first.keep(chamber(2, 64.0));
    let station = first.id.clone();
    shop.carry_all();
    let mut second = shop.stations[0].copied();
    let shared = second.holds(&shop.job, &station);
    shop.stations[0].keep(chamber(3, 64.0));
    second.clock().advance(1_000_000);
    second.keep(chamber(4, 64.0));
    part(&mut second, &shop.job.clone(), shared);
    if good_between {
        second.keep(check("burette-1", true));
    }
    second.keep(chamber(5, 64.0));
    second.keep(check("burette-1", false));
    let alone = marked(&second.view());
    shop.stations.push(TestStation::new(3));
    shop.carry_all();
    shop.stations.insert(0, second);
    shop.carry_all();
    let all = shop.stations.iter_mut().map(|one| marked(&one.view()));
    (all.collect(), alone)
}

#[test]
fn a_gauge_found_wrong_after_the_parting_marks_what_was_read_before_it() {
    // Chamber 1 stands before the good check; chamber 3 was measured at the other machine.
    let (all, alone) = found_wrong(false);
    let doubtful = ["chamber/2", "chamber/4", "chamber/5"];
    assert_eq!(alone, doubtful);
    for station in all {
        assert_eq!(station, doubtful);
    }
}

#[test]
fn a_good_check_after_the_parting_ends_what_a_bad_one_marks() {
    let (all, alone) = found_wrong(true);
    assert_eq!(alone, ["chamber/5"]);
    for station in all {
        assert_eq!(station, ["chamber/5"]);
    }
}

#[test]
fn a_failed_check_goes_back_through_two_partings() {
    let mut shop = TestShop::new(1);
    shop.stations[0].keep(chamber(1, 64.0));
    let job = shop.job.clone();
    let mut second = shop.stations[0].copied();
    let shared = second.holds(&job, &second.id.clone());
    second.keep(chamber(2, 64.0));
    second.keep(Fact::Stop {});
    part(&mut second, &job, shared);
    let end = second.holds(&job, &second.id.clone());
    second.keep(chamber(3, 64.0));
    part(&mut second, &job, end);
    second.keep(check("burette-1", false));
    assert_eq!(
        marked(&second.view()),
        ["chamber/1", "chamber/2", "chamber/3"]
    );
}
