//! What a station finds when it comes back: later lines of its own, another's lines under its name,
//! lines that were changed in the database.

#![cfg(target_os = "linux")]

mod common;

use std::sync::Arc;

use benchhand_shop::JobId;
use benchhand_testbed::postgres::PostgresServer;

use common::{MemoryRecord, TestStation, shop_on};

async fn prepared() -> PostgresServer {
    let server = PostgresServer::start();
    shop_on(&server);
    let mut owner = TestStation::start(&server, "owner", 0xee);
    owner.until_sent().await;
    owner.link.stop().await;
    server
}

/// Writes so many readings.
fn write(station: &TestStation, job: &JobId, many: u64) {
    for value in 0..many {
        station.write(job, &format!("\"fact\":\"final\",\"value\":{value}"));
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_restored_station_takes_up_its_later_lines_before_it_writes_on() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let server = prepared().await;
    let mut deck = TestStation::start(&server, "deck", 1);
    let job = deck.open("one");
    write(&deck, &job, 10);
    let older = deck.record.copy();
    write(&deck, &job, 1200);
    let second = deck.open("two");
    deck.until_sent().await;
    let before = Arc::clone(&deck.record);
    deck.link.stop().await;

    // The disk comes back from the copy: one journal is shorter, the other is not there.
    let mut deck = TestStation::with(&server, "deck", Arc::new(older));
    deck.until_held(&job, &deck.me(), 1211).await;
    deck.until_held(&second, &deck.me(), 1).await;
    assert_eq!(deck.record.all(), before.all());
    write(&deck, &job, 3);
    let state = deck.until_sent().await;
    assert_eq!((state.troubles, state.parted), (vec![], None));
    assert_eq!(state.sent, 3);
    let count = server.sql("shop", "select count(*) from benchhand.lines");
    assert_eq!(count.trim(), "1215");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_restored_station_takes_up_what_it_measured_of_others_jobs() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let server = prepared().await;
    let deck = TestStation::start(&server, "deck", 1);
    let mut flow = TestStation::start(&server, "flow", 2);
    let empty = flow.record.copy();
    let job = deck.open("one");
    flow.until_held(&job, &deck.me(), 1).await;
    write(&flow, &job, 5);
    flow.until_sent().await;
    let before = Arc::clone(&flow.record);
    flow.link.stop().await;
    // Nothing is left but the station's number: the job's opening comes first, then its own lines.
    let flow = TestStation::with(&server, "flow", Arc::new(empty));
    flow.until_held(&job, &flow.me(), 6).await;
    assert_eq!(flow.record.all(), before.all());
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn two_machines_under_one_name_part_and_no_line_is_lost() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let server = prepared().await;
    let mut deck = TestStation::start(&server, "deck", 1);
    let job = deck.open("one");
    write(&deck, &job, 10);
    deck.until_sent().await;
    // The folder is copied to a second machine, which was away while the first wrote on.
    let copy = Arc::new(deck.record.copy());
    for value in 0..4 {
        copy.write(
            &job,
            &format!("\"fact\":\"final\",\"value\":{}", 100 + value),
        );
    }
    // What it alone measured of another job stays the old station's.
    let second_job = copy.open("two");
    let old = deck.me();
    write(&deck, &job, 7);
    deck.until_sent().await;
    let mut second = TestStation::with(&server, "deck", copy);
    let state = second.until("parted", |state| state.parted.is_some()).await;
    let words = state.parted.expect("it says so");
    assert!(words.contains("behind line 11"), "{words}");
    let state = second.until_sent().await;
    assert_ne!(state.station.as_ref(), Some(&old));
    second.until_held(&job, &old, 18).await;
    deck.until_held(&job, &second.me(), 5).await;
    deck.until_same_as(&second).await;
    let of_second = second.record.end(&second_job, &old);
    assert_eq!((of_second, deck.record.end(&second_job, &old)), (1, 1));
    assert_eq!(deck.state().parted, None);
    assert_eq!(second.state().troubles, vec![]);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_fork_of_the_same_length_or_longer_is_found_too() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    for theirs in [4, 6] {
        let server = prepared().await;
        let mut deck = TestStation::start(&server, "deck", 1);
        let job = deck.open("one");
        deck.until_sent().await;
        let copy = Arc::new(deck.record.copy());
        for value in 0..theirs {
            copy.write(
                &job,
                &format!("\"fact\":\"final\",\"value\":{}", 100 + value),
            );
        }
        write(&deck, &job, 4);
        deck.until_sent().await;
        let mut second = TestStation::with(&server, "deck", copy);
        second.until("parted", |state| state.parted.is_some()).await;
        second.until_sent().await;
        deck.until_held(&job, &second.me(), theirs + 1).await;
        deck.until_same_as(&second).await;
    }
}

/// What is done to lines in the database by somebody who may change rows, and how often each line
/// that was hit is there afterwards.
const CHANGES: [(&str, &str); 4] = [
    (
        "update benchhand.lines set text = replace(text, '\"value\":3', '\"value\":9') where number = 5",
        "2",
    ),
    (
        "update benchhand.lines set hash = repeat('0', 64), \
         text = left(text, -66) || repeat('0', 64) || '\"}' where number = 5",
        "2",
    ),
    ("delete from benchhand.lines where number = 5", "1"),
    (
        "update benchhand.lines set prev = repeat('1', 64) where number = 5",
        "1",
    ),
];

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_changed_line_is_named_and_its_station_adds_a_good_copy() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    for (change, copies) in CHANGES {
        let server = prepared().await;
        let mut deck = TestStation::start(&server, "deck", 1);
        let job = deck.open("one");
        write(&deck, &job, 8);
        deck.until_sent().await;
        let record = Arc::clone(&deck.record);
        deck.link.stop().await;
        server.sql("shop", change);

        // Another station stops before the bad line, and names it.
        let mut flow = TestStation::start(&server, "flow", 2);
        if !change.contains("prev") {
            let state = flow.until("told", |state| !state.troubles.is_empty()).await;
            assert!(state.troubles[0].words.contains("line 5 "), "{state:?}");
            assert_eq!(state.troubles[0].job, job);
            assert_eq!(flow.record.end(&job, &deck_number()), 4);
        }

        // Its station is back, and mends it; the other goes on.
        let mut deck = TestStation::with(&server, "deck", record);
        flow.until_held(&job, &deck.me(), 9).await;
        flow.until_same_as(&deck).await;
        flow.until("sound", |state| state.troubles.is_empty()).await;
        if !change.contains("prev") {
            let state = deck
                .until("named", |state| !state.troubles.is_empty())
                .await;
            assert!(state.troubles[0].words.contains("line 5 "), "{state:?}");
        }
        let there = server.sql(
            "shop",
            "select count(*) from benchhand.lines where number = 5",
        );
        assert_eq!(there.trim(), copies, "{change}");
    }
}

fn deck_number() -> benchhand_shop::StationId {
    benchhand_shop::StationId::of([1; 16])
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_line_that_is_changed_while_all_are_connected_is_found_by_the_patrol() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let server = prepared().await;
    let mut deck = TestStation::start(&server, "deck", 1);
    let job = deck.open("one");
    write(&deck, &job, 30);
    deck.until_sent().await;
    server.sql(
        "shop",
        "update benchhand.lines set text = replace(text, '\"value\":7', '\"value\":8')",
    );
    let state = deck
        .until("named", |state| !state.troubles.is_empty())
        .await;
    assert!(state.troubles[0].words.contains("line 9 "), "{state:?}");
    let new = TestStation::start(&server, "flow", 2);
    new.until_same_as(&deck).await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_last_line_changed_is_no_fork() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let server = prepared().await;
    let mut deck = TestStation::start(&server, "deck", 1);
    let job = deck.open("one");
    write(&deck, &job, 3);
    deck.until_sent().await;
    let record = Arc::new(MemoryRecord::copy(&deck.record));
    deck.link.stop().await;
    server.sql(
        "shop",
        "update benchhand.lines set hash = repeat('0', 64), \
         text = left(text, -66) || repeat('0', 64) || '\"}' where number = 4",
    );
    let mut deck = TestStation::with(&server, "deck", record);
    let state = deck
        .until("named", |state| !state.troubles.is_empty())
        .await;
    assert!(state.troubles[0].words.contains("line 4 "), "{state:?}");
    assert_eq!(state.parted, None);
    write(&deck, &job, 1);
    deck.until_sent().await;
    let flow = TestStation::start(&server, "flow", 2);
    flow.until_same_as(&deck).await;
}
