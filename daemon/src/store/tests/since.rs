//! How much was kept since a sheet was made, by one station or by several.

use super::shop::{TestShop, TestStation};
use super::{TestDisks, keep, open_v8, reading};
use crate::store::fact::Fact;
use crate::store::since::JournalMark;

fn chamber(n: u32) -> Fact {
    Fact::Final(reading(&format!("chamber/{n}"), 64.0))
}

fn marks(station: &TestStation) -> Vec<JournalMark> {
    station.store.reader().journal_marks("v8").unwrap()
}

fn since(station: &TestStation, hash: &str, marks: &[JournalMark]) -> Option<u64> {
    let reader = station.store.reader();
    reader.kept_since("v8", hash, marks).unwrap()
}

#[test]
fn of_one_journal_the_lines_behind_a_hash_are_counted() {
    let disks = TestDisks::new(2);
    let store = disks.store();
    let mut job = open_v8(&store);
    keep(&mut job, chamber(1));
    let hash = job.view().head().unwrap().hash.clone();
    assert_eq!(store.reader().journal_marks("v8").unwrap(), []);
    for n in 2..5 {
        keep(&mut job, chamber(n));
    }
    let since = |hash: &str| store.reader().kept_since("v8", hash, &[]).unwrap();
    assert_eq!(since(&hash), Some(3));
    assert_eq!(since(&"0".repeat(64)), None);
}

#[test]
fn of_several_journals_what_came_late_counts_too_wherever_it_stands() {
    let mut shop = TestShop::new(2);
    shop.stations[0].keep(chamber(1));
    shop.stations[1].keep(chamber(2));
    // The second one measures on, unheard.
    shop.carry_all();
    shop.stations[1].keep(chamber(3));
    shop.stations[0].clock().advance(5_000_000);
    shop.stations[0].keep(chamber(4));
    let first = marks(&shop.stations[0]);
    assert_eq!(first.len(), 2);
    assert_eq!(since(&shop.stations[0], "", &first), Some(0));
    shop.carry_all();
    // Chamber 3 stands before chamber 4, and was not there when the sheet was made.
    assert_eq!(since(&shop.stations[0], "", &first), Some(1));
    assert_eq!(since(&shop.stations[1], "", &first), Some(1));
    // A sheet of the second station is traced at the first, by its hash alone too.
    let second = marks(&shop.stations[1]);
    assert_eq!(since(&shop.stations[0], "", &second), Some(0));
    for hash in second.iter().map(|mark| &mark.hash) {
        assert!(since(&shop.stations[0], hash, &[]).is_some());
    }
    let forged = [JournalMark {
        hash: "0".repeat(64),
        ..second[0].clone()
    }];
    assert_eq!(since(&shop.stations[0], "", &forged), None);
}

#[test]
fn a_sheet_from_before_the_folder_became_a_new_station_is_found() {
    let mut shop = TestShop::new(2);
    shop.stations[0].keep(chamber(1));
    shop.stations[1].keep(chamber(9));
    shop.carry_all();
    let mut second = shop.stations[0].copied();
    let job = shop.job.clone();
    let shared = second.holds(&job, &second.id.clone());
    let before = marks(&second);
    second.keep(chamber(2));
    let between = marks(&second);
    second.keep(chamber(3));
    second.close();
    second.store.part_ways(&[(job, shared)]).unwrap();
    for (sheet, least) in [(before, 2), (between, 1)] {
        assert!(since(&second, "", &sheet) >= Some(least));
        assert!(since(&second, &sheet[0].hash, &[]) >= Some(least));
    }
}
