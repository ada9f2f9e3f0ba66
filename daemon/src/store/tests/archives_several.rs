//! A job of several stations as one file: every station's journal stays its own.

use std::path::Path;

use benchhand_files::Files;

use super::archives::{carried, pack};
use super::shop::{TestShop, TestStation, told};
use super::{DATA, TestDisks, new_job, reading};
use crate::store::Store;
use crate::store::error::StoreError;
use crate::store::fact::Fact;
use crate::store::station::StationCard;

fn chamber(n: u32, value: f64) -> Fact {
    Fact::Final(reading(&format!("chamber/{n}"), value))
}

/// Two stations measured, each took back a reading of the other, and one looks on.
fn measured() -> TestShop {
    let mut shop = TestShop::new(3);
    let first = shop.stations[0].keep(chamber(1, 64.0));
    shop.carry_all();
    shop.stations[1].keep(chamber(2, 64.2));
    let second = shop.stations[1].keep(chamber(3, 64.3));
    shop.stations[1].keep(Fact::voided(first, "a bubble".into()));
    shop.carry_all();
    shop.stations[0].keep(Fact::voided(second, "the plug".into()));
    shop.stations[0].keep(Fact::Restored { of: first });
    shop.carry_all();
    for station in &mut shop.stations {
        station.close();
    }
    shop
}

fn view_of(store: &Store, name: &str) -> String {
    told(&store.view(name).unwrap().0)
}

fn unpacked(store: &Store, archive: &[u8]) -> Result<String, StoreError> {
    let unpacked = store.unpack(&mut carried(archive), None)?;
    let (read, _) = store.view(unpacked.view.name())?;
    assert_eq!(told(&read), told(&unpacked.view), "as read from the disk");
    store.verify(read.name())?;
    Ok(told(&read))
}

#[test]
fn whoever_packs_it_and_whoever_unpacks_it_sees_the_same_job() {
    let shop = measured();
    for from in &shop.stations {
        let packed = pack(&from.store);
        let same = pack(&from.store);
        assert_eq!(packed.bytes, same.bytes, "the same job gives the same file");
        let there = view_of(&from.store, "v8");
        // In a folder that never joined a shop, which gets an identity of its own.
        let disks = TestDisks::new(40);
        let store = disks.store();
        assert_eq!(unpacked(&store, &packed.bytes).unwrap(), there);
        let card = store.station().unwrap().unwrap();
        assert!(shop.stations.iter().all(|one| one.id != card.station));
        let (mut job, _) = store.job("v8").unwrap();
        job.append(chamber(4, 64.4), None).unwrap();
        drop(job);
        let (view, _) = store.view("v8").unwrap();
        assert_eq!(view.counts().live, 3);
        // What it measures belongs to the station that it is now.
        let own = disks.read("jobs/v8/journal.ndjson");
        assert!(
            own.contains(&card.station.0) && own.contains("\"value\":64.4"),
            "{own}"
        );
        // And its archive is another's job too.
        let again = pack(&store).bytes;
        let third = TestDisks::new(41).store();
        assert_eq!(unpacked(&third, &again).unwrap(), told(&view));
    }
}

#[test]
fn a_station_that_unpacks_it_finds_its_own_journal_as_its_own() {
    let shop = measured();
    let archive = pack(&shop.stations[0].store).bytes;
    // The second station lost its disk, but not its number.
    let mut second = TestStation::new(1);
    unpacked(&second.store, &archive).unwrap();
    let journal = second.disks.read("jobs/v8/journal.ndjson");
    assert_eq!(
        journal,
        shop.stations[1].disks.read("jobs/v8/journal.ndjson")
    );
    let own = second.keep(chamber(5, 64.5));
    let view = second.view();
    assert!(view.own().wrote(own));
    assert_eq!(view.reading(own).unwrap().said_number(), "B3");
}

#[test]
fn under_another_name_it_is_a_copy_that_the_shop_never_hears_of() {
    let shop = measured();
    let at = TestStation::new(0);
    let archive = pack(&shop.stations[0].store).bytes;
    let copy = at
        .store
        .unpack(&mut carried(&archive), Some("v8-again"))
        .unwrap()
        .view;
    assert_eq!(copy.name(), "v8-again");
    let of = copy.copy_of().unwrap();
    let (original, _) = shop.stations[0].store.view("v8").unwrap();
    assert_eq!(
        (&of.job[..], &of.hash),
        ("v8", &original.head().unwrap().hash)
    );
    let known = |view: &crate::store::view::JobView| -> Vec<_> {
        let of = |one: &crate::store::view::KeptReading| {
            let counts = one.voids.is_empty();
            (
                one.spot.clone(),
                one.value.to_string(),
                counts,
                one.said_number(),
            )
        };
        view.readings().map(of).collect()
    };
    let mut sorted = known(&copy);
    sorted.sort();
    let mut expected = known(&original);
    expected.sort();
    assert_eq!(sorted, expected);
    at.store.verify("v8-again").unwrap();
    let (mut job, _) = at.store.job("v8-again").unwrap();
    job.append(chamber(6, 64.6), None).unwrap();
    drop(job);
    // No other station's journal is this one's to send, and its own is of no job that the shop knows.
    let heads = at.store.heads(|_| None).unwrap();
    let own: Vec<_> = heads.iter().filter(|head| head.station == at.id).collect();
    assert_eq!(own.len(), 1);
    assert_ne!(own[0].job, shop.job);
    assert!(heads.iter().all(|head| shop.stations[1].id != head.station));
}

#[test]
fn a_job_that_is_here_already_is_not_unpacked_beside_itself() {
    let shop = measured();
    let archive = pack(&shop.stations[1].store).bytes;
    let refused = shop.stations[0]
        .store
        .unpack(&mut carried(&archive), None)
        .unwrap_err();
    assert!(matches!(refused, StoreError::JobExists { .. }), "{refused}");
    // Also not where another job has its name, and it another one.
    let mut other = TestStation::new(4);
    other.clock().advance(1);
    drop(other.store.create_job(new_job("v8")).unwrap());
    let (id, lines) = (
        &shop.stations[0].id,
        shop.stations[0].lines(&shop.job, &shop.stations[0].id, 0),
    );
    other.take_in(&shop.job, id, &lines);
    let refused = other
        .store
        .unpack(&mut carried(&archive), None)
        .unwrap_err();
    assert!(matches!(refused, StoreError::JobExists { .. }), "{refused}");
}

#[test]
fn what_is_not_whole_in_it_is_named_and_nothing_is_taken() {
    let shop = measured();
    let station = &shop.stations[0];
    let path = format!("{DATA}/jobs/v8/stations/{}.ndjson", shop.stations[1].id);
    let path = Path::new(&path);
    let whole = station.disks.disk.read(path).unwrap();
    // The archive holds what is sound; what it says of its bytes holds too.
    let mut bytes = pack(&station.store).bytes;
    let at = bytes
        .windows(whole.len())
        .position(|part| part == whole)
        .unwrap();
    bytes[at + 200] ^= 1;
    let disks = TestDisks::new(42);
    let store = disks.store();
    let refused = store
        .unpack(&mut carried(&bytes), None)
        .unwrap_err()
        .to_string();
    assert!(refused.contains("damaged"), "{refused}");
    assert_eq!(store.job_names().unwrap(), Vec::<String>::new());
    assert_eq!(
        StationCard::read(&disks.disk, Path::new(DATA)).unwrap(),
        None
    );
}

#[test]
fn the_archive_of_a_job_that_one_station_measured_may_become_anothers_too() {
    let mut shop = TestShop::new(1);
    shop.stations[0].keep(chamber(1, 64.0));
    let before = told(&shop.stations[0].view());
    shop.stations[0].close();
    let archive = pack(&shop.stations[0].store).bytes;
    let mut other = TestStation::new(1);
    let there = unpacked(&other.store, &archive).unwrap();
    assert_eq!(known_values(&there), known_values(&before));
    let own = other.keep(chamber(2, 64.2));
    assert!(other.view().own().wrote(own));
}

/// The lines of a view that tell of values.
fn known_values(told: &str) -> Vec<&str> {
    told.lines()
        .filter(|line| line.contains("value:"))
        .collect()
}
