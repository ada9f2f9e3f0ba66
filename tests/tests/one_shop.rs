//! Three stations measure one job at once, over one PostgreSQL server, while daemons are killed within
//! readings, the server is killed, connections are dropped, and nobody is let in for a while.
//!
//! What a station acknowledged is there once at every station afterwards, all three print the same
//! report byte for byte, and every chain verifies. `BENCHHAND_SHOP_ROUNDS` runs more rounds, `BENCHHAND_SHOP_OUTAGE_S`
//! makes the longest outage longer.

#![cfg(target_os = "linux")]

use std::collections::BTreeSet;
use std::time::{Duration, Instant};

use benchhand_testbed::SplitMix64;
use benchhand_testbed::postgres::PostgresServer;
use benchhand_tests::api::Api;
use benchhand_tests::program::Daemon;
use benchhand_tests::shop::Shop;
use serde_json::{Value, json};

const SEED: u64 = 14;
/// How many readings each station enters in a round.
const EACH: usize = 6;
const STATIONS: [&str; 3] = ["owner", "flow", "pour"];
/// How long the stations may take until all have all.
const PATIENCE: Duration = Duration::from_secs(150);

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

/// A station: its folder and its daemon.
struct Station {
    shop: Shop,
    daemon: Option<Daemon>,
}

impl Station {
    fn start(shop: Shop) -> Station {
        let daemon = Some(shop.program.serve(&[]));
        Station { shop, daemon }
    }

    fn api(&self) -> &Api {
        &self.daemon.as_ref().expect("it runs").api
    }

    fn join(&self, server: &PostgresServer, role: &str) {
        let body = json!({"url": server.url(role, "shop"), "name": format!("the {role} stand")});
        let joined = self.api().post("shop/join", &format!("join-{role}"), &body);
        let joined = joined.expect("it answers").good();
        assert!(joined["letter"].is_string(), "{joined}");
    }

    fn kill(&mut self) {
        self.daemon.take().expect("it runs").kill();
        self.daemon = Some(self.shop.program.serve(&[]));
    }

    /// Enters a value that no other has, and gives it once it is acknowledged.
    fn enter(&self, number: usize) -> String {
        assert!(enter(self.api(), number), "{number} is acknowledged");
        value(number)
    }

    /// The job, once it is known here.
    fn job(&self) -> Option<Value> {
        let answer = self.api().get("jobs/show?job=v8");
        (answer.status == 200).then(|| answer.json())
    }

    /// Every reading of the job as it stands here, each value as it was entered.
    fn values(&self) -> Vec<String> {
        let Some(shown) = self.job() else {
            return Vec::new();
        };
        let all = shown["readings"].as_array().cloned().unwrap_or_default();
        let value = |reading: &Value| reading["figure"]["value"].as_f64().expect("a number");
        all.iter()
            .map(|reading| format!("{:.4} cc", value(reading)))
            .collect()
    }

    fn state(&self) -> Value {
        self.api().get("shop").good()
    }
}

/// The value of a reading, which no other has.
fn value(number: usize) -> String {
    format!("{:.4} cc", 64.0 + number as f64 * 1e-4)
}

/// Enters a reading under a key of its own. Says whether it was acknowledged: an answer that did not
/// come may be one to a reading that is kept.
fn enter(api: &Api, number: usize) -> bool {
    let spot = format!("chamber/{}", number % 8 + 1);
    let body = json!({"job": "v8", "spot": spot, "value": value(number), "sure": true});
    let entered = api.post("readings/enter", &format!("entry-{number}"), &body);
    entered.is_ok_and(|answer| {
        assert_eq!(answer.status, 200, "{}", answer.body);
        true
    })
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

/// Asks again and again until it holds; the stations tell nobody when they have all.
#[track_caller]
fn until(what: &str, stations: &[Station], holds: impl Fn() -> bool) {
    let end = Instant::now() + PATIENCE;
    while !holds() {
        if Instant::now() > end {
            let states: Vec<Value> = stations.iter().map(Station::state).collect();
            panic!("not {what} in time, seed {SEED}: {states:#?}");
        }
        std::thread::sleep(Duration::from_millis(100));
    }
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
    let mut struck_within = 0;
    let mut asked = 0;
    for round in 0..rounds() {
        let apis: Vec<Api> = stations.iter().map(|one| one.api().clone()).collect();
        let first = asked;
        asked += EACH * stations.len();
        // It strikes within the readings, not between them.
        let moment = Duration::from_micros(chance.below(12_000) as u64);
        let unanswered: Vec<(usize, usize)> = std::thread::scope(|scope| {
            let writing = |(at, api)| {
                let own = first + at * EACH..first + (at + 1) * EACH;
                let write = move || {
                    own.filter(|number| !enter(api, *number))
                        .collect::<Vec<_>>()
                };
                (at, scope.spawn(write))
            };
            let writers: Vec<_> = apis.iter().enumerate().map(writing).collect();
            std::thread::sleep(moment);
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
    // The office's view holds the same readings.
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

fn copied(from: &std::path::Path, to: &std::path::Path) {
    std::fs::create_dir_all(to).expect("a folder");
    for one in std::fs::read_dir(from).expect("a folder") {
        let one = one.expect("a name");
        let to = to.join(one.file_name());
        match one.file_type().expect("a kind").is_dir() {
            true => copied(&one.path(), &to),
            false => drop(std::fs::copy(one.path(), to).expect("it is copied")),
        }
    }
}

/// Two machines run from copies of one data folder: the second one becomes a station of its own by
/// itself, says so, and no reading of either is lost or there twice.
#[test]
fn a_second_machine_from_a_copied_folder_becomes_a_new_station() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let server = PostgresServer::start();
    server.sql(
        "postgres",
        "create role owner login createrole; create role shop_station; create role shop_reader",
    );
    server.sql("postgres", "create database shop owner owner");
    let first = Shop::with_job();
    first.chambers_are_set_up();
    let mut stations = vec![Station::start(first)];
    stations[0].join(&server, "owner");
    let mut all = vec![stations[0].enter(0), stations[0].enter(1)];
    until("sent", &stations, || stations[0].state()["waiting"] == 0);
    stations[0].daemon.take().expect("it runs").kill();
    let copy = Shop::new();
    copied(stations[0].shop.program.data(), copy.program.data());
    // The copy is measured on before it hears of the shop again, and so is the first.
    let entered = copy.program.json(&["enter", "v8", "chamber/5", "64.5 cc"]);
    assert!(entered.is_object(), "{entered}");
    all.push("64.5000 cc".to_owned());
    let daemon = Some(stations[0].shop.program.serve(&[]));
    stations[0].daemon = daemon;
    for number in 2..5 {
        all.push(stations[0].enter(number));
    }
    until("sent", &stations, || stations[0].state()["waiting"] == 0);
    let was = stations[0].state()["station"].clone();
    stations.push(Station::start(copy));
    all.sort();
    until("the same at both", &stations, || {
        stations.iter().all(|station| {
            let mut here = station.values();
            here.sort();
            here == all && station.state()["waiting"] == 0
        })
    });
    let new = stations[1].state();
    assert!(
        new["parted"]
            .as_str()
            .is_some_and(|said| said.contains(was.as_str().expect("one")))
    );
    assert_eq!(
        (&new["letter"], &stations[0].state()["letter"]),
        (&json!("B"), &json!("A"))
    );
    assert_eq!(stations[0].state()["station"], was);
    all.push(stations[1].enter(5));
    all.sort();
    until("taken in", &stations, || {
        stations.iter().all(|station| {
            let mut here = station.values();
            here.sort();
            here == all
        })
    });
    for station in &stations {
        let verified = station.api().get("jobs/verify?job=v8").good();
        assert_eq!(verified["broken"], Value::Null, "{verified}");
        assert_eq!(station.state()["troubles"], json!([]));
    }
    let reports: Vec<String> = stations
        .iter()
        .map(|station| station.shop.program.run(&["report", "v8"]).good().out)
        .collect();
    assert_eq!(reports[0], reports[1]);
    let copy = &stations[1].shop.program;
    let shown = copy.run(&["shop", "show"]).good().out;
    assert!(shown.contains("A new station"), "{shown}");
    // A number without its station could be either's reading.
    let listed = copy.run(&["job", "show", "v8"]).good().out;
    assert!(listed.contains("A1") && listed.contains("B1"), "{listed}");
    let refused = copy.run(&["void", "v8", "1", "--reason", "a bubble"]);
    assert_ne!(refused.code, 0);
    assert!(refused.err.contains("A1, B1"), "{}", refused.err);
    copy.run(&["void", "v8", "B1", "--reason", "a bubble"])
        .good();
    let left = stations[1].job().expect("it is there");
    let left = left["readings"].as_array().expect("a list");
    let voided: Vec<_> = left.iter().filter(|one| one["state"] == "voided").collect();
    assert_eq!(voided.len(), 1);
    assert_eq!(
        (&voided[0]["station"], &voided[0]["number"]),
        (&json!("B"), &json!(1))
    );
}
