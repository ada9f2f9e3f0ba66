//! Three stations measure one job at once, over one PostgreSQL server, while daemons are killed within
//! readings, the server is killed, connections are dropped, and nobody is let in for a while.
//!
//! What a station acknowledged is there once at every station afterwards, all three print the same
//! report byte for byte, and every chain verifies. `BENCHHAND_SHOP_ROUNDS` runs more rounds, `BENCHHAND_SHOP_OUTAGE_S`
//! makes the longest outage longer.

#![cfg(target_os = "linux")]

use std::collections::BTreeSet;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;

use benchhand_testbed::SplitMix64;
use benchhand_testbed::postgres::PostgresServer;
use benchhand_tests::api::Api;
use benchhand_tests::shop::Shop;
use benchhand_tests::shop_station::{Station, enter, until, value};
use serde_json::{Value, json};

const SEED: u64 = 14;
/// How many readings each station enters in a round.
const EACH: usize = 6;
const STATIONS: [&str; 3] = ["owner", "flow", "pour"];

fn rounds() -> usize {
    let said = std::env::var("BENCHHAND_SHOP_ROUNDS").ok();
    said.map_or(10, |rounds| rounds.parse().expect("a number"))
}

/// How long nobody reaches the server: mostly moments, at times nearly `BENCHHAND_SHOP_OUTAGE_S`
/// seconds, or 3 where nothing is said.
fn outage(chance: &mut SplitMix64) -> Duration {
    let said = std::env::var("BENCHHAND_SHOP_OUTAGE_S").ok();
    let most = said.map_or(3.0, |most| most.parse::<f64>().expect("a number"));
    let drawn = chance.below(1001) as f64 / 1000.0;
    Duration::from_secs_f64(most * drawn.powi(6))
}

/// What strikes while readings are being entered.
fn strike(
    round: usize,
    server: &mut PostgresServer,
    stations: &mut [Station],
    chance: &mut SplitMix64,
) {
    let drop_all = "select pg_terminate_backend(pid) from pg_stat_activity \
        where application_name = 'benchhand'";
    match round % 4 {
        0 => stations[chance.below(3)].kill(),
        1 => drop(server.sql("shop", drop_all)),
        2 => {
            server.kill();
            std::thread::sleep(outage(chance));
            server.start_again();
        }
        // The server goes on, and nobody reaches it.
        _ => {
            let let_in = |whether: bool| {
                let statement = format!("alter database shop allow_connections {whether}");
                server.sql("postgres", &statement);
            };
            let_in(false);
            server.sql("postgres", drop_all);
            std::thread::sleep(outage(chance));
            let_in(true);
        }
    }
}

/// Takes a reading of any station back at one of them, as that one knows it, and gives its value once
/// that is acknowledged. What was taken back already stays so.
fn void(station: &Station, chance: &mut SplitMix64, round: usize) -> Option<String> {
    let job = station.job()?;
    let all = job["readings"].as_array()?;
    let one = &all[chance.below(all.len())];
    if one["state"] == "voided" {
        return None;
    }
    let body = json!({"job": "v8", "id": one["id"], "reason": "a bubble"});
    let voided = station
        .api()
        .post("readings/void", &format!("void-{round}"), &body);
    let voided = voided.expect("it answers");
    if voided.status == 409 {
        // Another station's void came in between.
        return None;
    }
    voided.good();
    let number = one["figure"]["value"].as_f64()?;
    Some(format!("{number:.4} cc"))
}

/// Says that metal was cut: what the others measure meanwhile stays in the stage that they know.
fn cut(station: &Station, stage: &str) {
    let body = json!({"job": "v8", "stage": stage, "what": "heads", "changes": ["chamber"]});
    let made = station
        .api()
        .post("jobs/cut", &format!("cut-{stage}"), &body);
    made.expect("it answers").good();
}

#[test]
fn three_stations_measure_one_job_and_print_the_same_report() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let mut server = PostgresServer::start();
    server.sql(
        "postgres",
        "create role owner login createrole; create role shop_station; create role shop_reader; \
         create role flow login in role shop_station; create role pour login in role shop_station",
    );
    server.sql("postgres", "create database shop owner owner");
    let first = Shop::with_job();
    first.chambers_are_set_up();
    let mut stations: Vec<Station> = [first, Shop::new(), Shop::new()]
        .into_iter()
        .map(Station::start)
        .collect();
    for (station, role) in stations.iter().zip(STATIONS) {
        station.join(&server, role);
    }
    until("known everywhere", &stations, || {
        stations.iter().all(|station| station.job().is_some())
    });

    let mut chance = SplitMix64::new(SEED);
    let mut entered = BTreeSet::new();
    let mut voided = BTreeSet::new();
    let mut struck_within = 0;
    let mut asked = 0;
    for round in 0..rounds() {
        let apis: Vec<Api> = stations.iter().map(|one| one.api().clone()).collect();
        let first = asked;
        asked += EACH * stations.len();
        // It strikes within the readings, not after them: once so many were answered.
        let moment = chance.below(EACH);
        let answered = AtomicUsize::new(0);
        let unanswered: Vec<(usize, usize)> = std::thread::scope(|scope| {
            let writing = |(at, api)| {
                let own = first + at * EACH..first + (at + 1) * EACH;
                let answered = &answered;
                let write = move || {
                    let lost = own.filter(|number| {
                        let kept = enter(api, *number);
                        answered.fetch_add(1, Ordering::Release);
                        !kept
                    });
                    lost.collect::<Vec<_>>()
                };
                (at, scope.spawn(write))
            };
            let writers: Vec<_> = apis.iter().enumerate().map(writing).collect();
            while answered.load(Ordering::Acquire) < moment {
                std::thread::yield_now();
            }
            strike(round, &mut server, &mut stations, &mut chance);
            let lost = writers.into_iter().flat_map(|(at, writer)| {
                let lost = writer.join().expect("it ends");
                lost.into_iter().map(move |number| (at, number))
            });
            lost.collect()
        });
        struck_within += unanswered.len();
        // Asked again under the same key: kept once, whether it was kept before or not.
        for (at, number) in unanswered {
            stations[at].enter(number);
        }
        entered.extend((first..asked).map(value));
        voided.extend(void(&stations[chance.below(3)], &mut chance, round));
        // Two stations cut now and then, at times without knowing of each other.
        if round % 40 == 3 {
            let first = chance.below(3);
            cut(&stations[first], &format!("milled {round}"));
            cut(&stations[(first + 1) % 3], &format!("milled {round} again"));
        }
    }
    assert!(
        struck_within > 0,
        "no kill fell within a reading, seed {SEED}"
    );

    let all: Vec<String> = entered.iter().cloned().collect();
    until("the same everywhere", &stations, || {
        stations.iter().all(|station| {
            let mut here = station.values();
            here.sort();
            here == all && station.state()["waiting"] == 0
        })
    });
    let reports: Vec<String> = stations
        .iter()
        .map(|station| station.shop.program.run(&["report", "v8"]).good().out)
        .collect();
    assert_eq!(reports[0], reports[1], "seed {SEED}");
    assert_eq!(reports[1], reports[2], "seed {SEED}");
    for station in &stations {
        let verified = station.api().get("jobs/verify?job=v8").good();
        assert_eq!(verified["broken"], Value::Null, "{verified}");
        assert_eq!(station.state()["troubles"], json!([]));
    }
    assert!(!voided.is_empty(), "nothing was taken back, seed {SEED}");
    let stages: Vec<Value> = stations
        .iter()
        .map(|station| station.job().expect("it is there")["stages"].clone())
        .collect();
    assert!(stages[0].as_array().is_some_and(|all| all.len() >= 2));
    assert_eq!(stages[0], stages[1], "seed {SEED}");
    assert_eq!(stages[1], stages[2], "seed {SEED}");
    // The office's view holds the same readings, without those that were taken back.
    let all: Vec<String> = all
        .into_iter()
        .filter(|one| !voided.contains(one))
        .collect();
    let seen = server.sql(
        "shop",
        "select to_char(value, 'FM00.0000') || ' ' || unit from benchhand.readings \
         where standing in ('held', 'final') order by 1",
    );
    let seen: Vec<&str> = seen.lines().collect();
    assert_eq!(seen, all);
}

#[test]
fn leaving_keeps_everything_and_a_password_in_the_url_is_refused() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let server = PostgresServer::start();
    server.sql("postgres", "create role owner login createrole");
    server.sql("postgres", "create database shop owner owner");
    let station = Station::start(Shop::with_job());
    let url = server.url("owner", "shop");
    let bad = url.replace("owner@", "owner:hush-hush@");
    let refused = station.shop.program.run(&["shop", "join", &bad]);
    assert_ne!(refused.code, 0);
    assert!(
        refused.err.contains("has a password in it"),
        "{}",
        refused.err
    );
    assert!(!refused.err.contains("hush-hush"), "{}", refused.err);
    let joined = station
        .shop
        .program
        .json(&["shop", "join", &url, "--name", "deck stand"]);
    assert_eq!(joined["letter"], "A");
    let value = station.enter(1);
    until("sent", std::slice::from_ref(&station), || {
        let state = station.state();
        state["waiting"] == 0 && state["connected_since"].is_string()
    });
    let shown = station.shop.program.run(&["shop", "show"]).good().out;
    assert!(shown.contains("Nothing waits to be sent"), "{shown}");
    assert!(shown.contains("may change and delete rows"), "{shown}");
    let before = station.shop.journal();
    station.shop.program.run(&["shop", "leave"]).good();
    let shown = station.shop.program.run(&["shop", "show"]).good().out;
    assert!(shown.contains("belongs to no shop"), "{shown}");
    assert_eq!(station.values(), [value]);
    assert!(station.shop.journal().starts_with(&before));
}
