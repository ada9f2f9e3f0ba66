//! The views that the office queries are held to the fold: whatever several stations say, they give
//! the readings as the program has them.

#![cfg(target_os = "linux")]

use std::collections::BTreeMap;

use benchhand_shop::{PasswordSource, ShopAddress, ShopPace, StationId, introduce};
use benchhand_testbed::postgres::PostgresServer;
use proptest::prelude::*;
use proptest::test_runner::{RngSeed, TestRunner};

use super::shop::TestShop;
use super::stations::{played, step};
use crate::store::station::FactRef;
use crate::store::view::{JobView, KeptReading, ReadingState};

/// How much of a statement a command line carries.
const MOST: usize = 60_000;

/// A server with a shop's tables, and no line in them.
fn server() -> PostgresServer {
    let server = PostgresServer::start();
    server.sql(
        "postgres",
        "create role owner login createrole; create role shop_station; create role shop_reader",
    );
    server.sql("postgres", "create database shop owner owner");
    let address = ShopAddress::parse(&server.url("owner", "shop"), None).unwrap();
    let runtime = tokio::runtime::Builder::new_current_thread();
    let runtime = { runtime }.enable_all().build().unwrap();
    let (passwords, pace) = (PasswordSource::default(), ShopPace::default());
    let me = StationId::of([0xee; 16]);
    let found = introduce(&address, &passwords, &me, "the owner", &pace);
    runtime.block_on(found).unwrap();
    server
}

/// Puts all journals of the shop into the tables, in place of what was there.
fn sent(server: &PostgresServer, shop: &TestShop) {
    let mut statements = vec![
        "truncate benchhand.lines, benchhand.journals, benchhand.stations cascade;".to_owned(),
    ];
    let mut add = |text: String| match statements.last_mut() {
        Some(last) if last.len() + text.len() < MOST => last.push_str(&text),
        _ => statements.push(text),
    };
    for (n, station) in shop.stations.iter().enumerate() {
        let (id, job) = (&station.id, &shop.job);
        let letter = char::from(b'A' + n as u8);
        add(format!(
            "insert into benchhand.stations (station, name, letter) values ('{id}', '{n}', '{letter}');"
        ));
        let lines = station.lines(job, id, 0);
        if !lines.is_empty() {
            add(format!(
                "insert into benchhand.journals values ('{job}', '{id}');"
            ));
        }
        for line in lines {
            let read: serde_json::Value = serde_json::from_str(&line.text).unwrap();
            let (number, hash, prev) = (line.number, &line.hash, read["prev"].as_str().unwrap());
            let text = line.text.replace('\'', "''");
            add(format!(
                "insert into benchhand.lines (job, station, number, hash, prev, text) \
                 values ('{job}', '{id}', {number}, '{hash}', '{prev}', '{text}');"
            ));
        }
    }
    for statement in statements {
        server.sql("shop", &statement);
    }
}

/// A reading as both have it: spot, value, unit, stage, gauge, standing.
type Shown = (String, f64, String, String, String, &'static str);

fn standing(state: &ReadingState) -> &'static str {
    match state {
        ReadingState::Held => "held",
        ReadingState::Final => "final",
        ReadingState::Asked => "asked",
        ReadingState::Superseded { .. } => "superseded",
        ReadingState::Voided { .. } => "voided",
    }
}

/// A stage or gauge without the station that it is named with where two have the same.
fn plain(name: &str) -> String {
    let name = name.split(" (").next().unwrap_or(name);
    name.split('@').next().unwrap_or(name).to_owned()
}

fn shown(one: &KeptReading) -> Shown {
    let gauge = one.gauge.as_deref().map(plain);
    (
        one.spot.clone(),
        one.value,
        one.unit.clone(),
        plain(&one.stage),
        gauge.unwrap_or_default(),
        standing(&one.state),
    )
}

const STANDINGS: [&str; 5] = ["held", "final", "asked", "superseded", "voided"];

/// What the view gives, by station and number.
fn viewed(server: &PostgresServer) -> BTreeMap<(String, u64), Shown> {
    let query = "select station, seq, spot, value, unit, stage, gauge, standing \
        from benchhand.readings";
    let rows = server.sql("shop", query);
    let row = |row: &str| {
        let fields: Vec<&str> = row.split('|').collect();
        let [station, seq, spot, value, unit, stage, gauge, said] = fields[..] else {
            panic!("{row}");
        };
        let standing = STANDINGS.into_iter().find(|one| *one == said).unwrap();
        let (spot, unit, stage) = (spot.to_owned(), unit.to_owned(), stage.to_owned());
        let shown = (
            spot,
            value.parse().unwrap(),
            unit,
            stage,
            gauge.to_owned(),
            standing,
        );
        ((station.to_owned(), seq.parse().unwrap()), shown)
    };
    rows.lines().map(row).collect()
}

/// The latest chamber of every cylinder by the fold: of the latest stage in which it was measured, the
/// reading that was taken last.
fn latest(view: &JobView) -> BTreeMap<String, f64> {
    let mut latest = BTreeMap::new();
    for stage in view.stages() {
        for (spot, mut newest) in view.newest_of(&stage.name, "chamber") {
            if let (Some(cylinder), Some(one)) = (spot.strip_prefix("chamber/"), newest.next()) {
                latest.insert(cylinder.to_owned(), one.value);
            }
        }
    }
    latest
}

fn latest_viewed(server: &PostgresServer) -> BTreeMap<String, f64> {
    let rows = server.sql(
        "shop",
        "select cylinder, value from benchhand.latest_chambers",
    );
    let row = |row: &str| {
        let (cylinder, value) = row.split_once('|').unwrap();
        (cylinder.to_owned(), value.parse().unwrap())
    };
    rows.lines().map(row).collect()
}

#[test]
fn the_views_give_what_the_fold_gives() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let server = server();
    let mut runner = TestRunner::new(ProptestConfig {
        cases: 80,
        rng_seed: RngSeed::Fixed(20_261_201),
        failure_persistence: None,
        ..ProptestConfig::default()
    });
    let held = runner.run(&prop::collection::vec(step(), 1..70), |steps| {
        let mut shop = played(&steps, &[]);
        sent(&server, &shop);
        let me = shop.stations[0].id.clone();
        let view = shop.stations[0].view();
        let job = shop.stations[0].job();
        let folded: BTreeMap<_, _> = view
            .readings()
            .map(|one| {
                let FactRef { station, seq } = job.reference(one.id).unwrap();
                let station = station.unwrap_or_else(|| me.clone());
                ((station.0, seq), shown(one))
            })
            .collect();
        prop_assert_eq!(viewed(&server), folded);
        prop_assert_eq!(latest_viewed(&server), latest(&view));
        Ok(())
    });
    if let Err(error) = held {
        panic!("{error}");
    }
}
