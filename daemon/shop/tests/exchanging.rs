//! Lines of several stations over a real server: each arrives once, in order, whatever breaks.

#![cfg(target_os = "linux")]

mod common;

use benchhand_testbed::SplitMix64;
use benchhand_testbed::postgres::PostgresServer;

use common::{TestStation, shop_on};

const ROLES: [&str; 3] = ["deck", "flow", "pour"];

/// A shop whose tables the owner's role has made.
async fn prepared() -> PostgresServer {
    let server = PostgresServer::start();
    shop_on(&server);
    let mut owner = TestStation::start(&server, "owner", 0xee);
    owner.until_sent().await;
    owner.link.stop().await;
    server
}

/// How many lines the database holds, and how many different ones.
fn counted(server: &PostgresServer) -> (u64, u64) {
    let counts = server.sql(
        "shop",
        "select count(*), count(distinct (job, station, number)) from benchhand.lines",
    );
    let (all, different) = counts.trim().split_once('|').expect("two counts");
    (all.parse().unwrap(), different.parse().unwrap())
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn every_line_of_three_stations_comes_to_all_of_them_once_and_in_order() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let server = prepared().await;
    let mut stations: Vec<TestStation> = (1..)
        .zip(ROLES)
        .map(|(number, role)| TestStation::start(&server, role, number))
        .collect();
    let mut chance = SplitMix64::new(14);
    let mut jobs = Vec::new();
    for station in &stations {
        for index in 0..4 {
            jobs.push(station.open(&format!("{}-{index}", station.me())));
        }
    }
    for round in 0..300 {
        let station = &stations[chance.below(3)];
        let job = &jobs[chance.below(jobs.len())];
        // A station writes only into jobs that it knows.
        station.until_held(job, &opener(&stations, job), 1).await;
        station.write(job, &format!("\"fact\":\"final\",\"value\":{round}"));
    }
    for station in &mut stations {
        station.until_sent().await;
    }
    stations[0].until_same_as(&stations[1]).await;
    stations[1].until_same_as(&stations[2]).await;
    let (all, different) = counted(&server);
    let held: usize = stations[0].record.all().values().map(Vec::len).sum();
    assert_eq!((all, different), (held as u64, held as u64));
}

/// The station that opened a job.
fn opener(stations: &[TestStation], job: &benchhand_shop::JobId) -> benchhand_shop::StationId {
    let opened = |station: &&TestStation| {
        let journals = station.record.all();
        let own = journals.get(&(job.clone(), station.me()));
        own.is_some_and(|lines| lines[0].hash == job.as_str())
    };
    stations.iter().find(opened).expect("somebody did").me()
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn broken_connections_and_a_killed_server_lose_nothing_and_double_nothing() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let mut server = prepared().await;
    let mut stations: Vec<TestStation> = (1..)
        .zip(ROLES)
        .map(|(number, role)| TestStation::start(&server, role, number))
        .collect();
    let job = stations[0].open("one");
    let opener = stations[0].me();
    for station in &stations {
        station.until_held(&job, &opener, 1).await;
    }
    let mut chance = SplitMix64::new(1414);
    for round in 0..600 {
        stations[chance.below(3)].write(&job, &format!("\"fact\":\"final\",\"value\":{round}"));
        if chance.one_in(25) {
            server.sql(
                "shop",
                "select pg_terminate_backend(pid) from pg_stat_activity \
                 where application_name = 'benchhand'",
            );
        }
        if chance.one_in(150) {
            server.kill();
            for round in 0..20 {
                stations[chance.below(3)]
                    .write(&job, &format!("\"fact\":\"held\",\"value\":{round}"));
            }
            server.start_again();
        }
        if chance.one_in(5) {
            tokio::task::yield_now().await;
        }
    }
    for station in &mut stations {
        station.until_sent().await;
    }
    stations[0].until_same_as(&stations[1]).await;
    stations[1].until_same_as(&stations[2]).await;
    let (all, different) = counted(&server);
    assert_eq!(all, different, "no line is there twice");
    for station in &stations {
        let state = station.state();
        assert_eq!((state.troubles, state.parted), (vec![], None));
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn with_the_server_away_lines_are_kept_and_counted_and_go_out_when_it_is_back() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let mut server = prepared().await;
    let mut deck = TestStation::start(&server, "deck", 1);
    let job = deck.open("one");
    deck.until_sent().await;
    server.kill();
    let away = deck
        .until("away", |state| state.connected_since.is_none())
        .await;
    assert!(away.fault.is_some(), "{away:?}");
    for round in 0..120 {
        deck.write(&job, &format!("\"fact\":\"final\",\"value\":{round}"));
    }
    deck.until("counted", |state| state.waiting == 120).await;
    let told = deck
        .until("told", |state| {
            let words = state.fault.as_ref().map(ToString::to_string);
            words.is_some_and(|words| words.contains("does not answer"))
        })
        .await;
    assert!(told.connected_since.is_none());
    server.start_again();
    let back = deck.until_sent().await;
    assert_eq!((back.sent, back.fault), (121, None));
    assert_eq!(counted(&server), (121, 121));
    deck.link.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_the_record_refuses_is_told_and_the_rest_goes_on() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let server = prepared().await;
    let mut deck = TestStation::start(&server, "deck", 1);
    let mut flow = TestStation::start(&server, "flow", 2);
    flow.record.refuse(Some("the disk is full; make room"));
    let job = deck.open("one");
    let told = flow.until("told", |state| !state.troubles.is_empty()).await;
    assert_eq!(told.troubles[0].words, "the disk is full; make room");
    // Its own go out all the same, and the other's come once there is room.
    let other = flow.open("other");
    flow.until_sent().await;
    deck.until_held(&other, &flow.me(), 1).await;
    flow.record.refuse(None);
    flow.until_held(&job, &deck.me(), 1).await;
    flow.until("sound", |state| state.troubles.is_empty()).await;
    deck.until_sent().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_long_line_goes_alone_and_arrives_whole() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let server = prepared().await;
    let deck = TestStation::start(&server, "deck", 1);
    let flow = TestStation::start(&server, "flow", 2);
    let job = deck.open("one");
    for index in 0..3 {
        let long = "measured again ".repeat(400_000 + index);
        deck.write(&job, &format!("\"fact\":\"import\",\"text\":\"{long}\""));
    }
    flow.until_held(&job, &deck.me(), 4).await;
    flow.until_same_as(&deck).await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_new_station_gets_all_jobs_and_a_lost_database_is_filled_again() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let server = prepared().await;
    let mut deck = TestStation::start(&server, "deck", 1);
    let flow = TestStation::start(&server, "flow", 2);
    let job = deck.open("one");
    flow.until_held(&job, &deck.me(), 1).await;
    for round in 0..700 {
        let station = if round % 2 == 0 { &deck } else { &flow };
        station.write(&job, &format!("\"fact\":\"final\",\"value\":{round}"));
    }
    let new = TestStation::start(&server, "pour", 3);
    new.until_held(&job, &deck.me(), 351).await;
    new.until_held(&job, &flow.me(), 351).await;
    deck.until_same_as(&new).await;

    // Everything is gone but the tables: the stations hold it.
    server.sql(
        "shop",
        "truncate benchhand.lines, benchhand.journals, benchhand.live, benchhand.asked, benchhand.pieces, benchhand.stations",
    );
    server.sql(
        "shop",
        "select pg_terminate_backend(pid) from pg_stat_activity where application_name = 'benchhand'",
    );
    let late = TestStation::start(&server, "pour", 4);
    late.until_held(&job, &deck.me(), 351).await;
    late.until_held(&job, &flow.me(), 351).await;
    deck.until_same_as(&late).await;
    assert_eq!(deck.until_sent().await.troubles, vec![]);
}
