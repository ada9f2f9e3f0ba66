//! How fast lines go to a shop and come to another station, on this machine, with every commit on the
//! disk: `cargo run --release -p benchhand-shop --example rate [LINES [JOBS]]`.

#![cfg(target_os = "linux")]
#![allow(clippy::print_stdout, reason = "it prints what it measured")]

#[path = "../tests/common/mod.rs"]
mod common;

use std::sync::Arc;
use std::time::{Duration, Instant};

use benchhand_shop::ShopPace;
use benchhand_testbed::postgres::PostgresServer;

use common::{MemoryRecord, TestStation, shop_on};

/// A reading as long as one with thirty samples of its decision window.
fn reading(number: usize) -> String {
    let window: Vec<String> = (0..30)
        .map(|sample| format!("[{},64.{:03}]", sample * 33_333, (number + sample) % 1000))
        .collect();
    format!(
        "\"fact\":\"final\",\"spot\":\"chamber/{}\",\"value\":64.{:03},\"unit\":\"cc\",\"u\":0.05,\
         \"gauge\":\"burette-1\",\"window\":[{}],\"source\":\"captured\"",
        number % 8 + 1,
        number % 1000,
        window.join(",")
    )
}

#[tokio::main]
async fn main() {
    let mut words = std::env::args()
        .skip(1)
        .map(|word| word.parse::<usize>().expect("a number"));
    let lines = words.next().unwrap_or(100_000);
    let jobs = words.next().unwrap_or(300);
    let server = PostgresServer::start_durable();
    shop_on(&server);
    let mut owner = TestStation::start(&server, "owner", 0xee);
    owner.until_sent().await;
    owner.link.stop().await;

    let record = MemoryRecord::new(1);
    let opened: Vec<_> = (0..jobs)
        .map(|job| record.open(&format!("job-{job}")))
        .collect();
    let mut bytes = 0;
    for number in 0..lines {
        let says = reading(number);
        bytes += says.len() + 200;
        record.write(&opened[number % jobs], &says);
    }
    let pace = ShopPace::default();
    let began = Instant::now();
    let mut deck = TestStation::at(&server.url("deck", "shop"), Arc::new(record), pace);
    deck.until_sent().await;
    told("sent", lines + jobs, bytes, began.elapsed());

    let began = Instant::now();
    let mut flow = TestStation::at(
        &server.url("flow", "shop"),
        Arc::new(MemoryRecord::new(2)),
        pace,
    );
    let all = (lines + jobs) as u64;
    flow.until("taken in", |state| state.taken_in == all).await;
    told(
        "taken in by another station",
        lines + jobs,
        bytes,
        began.elapsed(),
    );

    let size = server.sql("shop", "select pg_size_pretty(pg_database_size('shop'))");
    println!("the database has {}", size.trim());
    let began = Instant::now();
    server.sql("shop", "select count(*) from benchhand.heads");
    println!("the heads of {jobs} journals: {:?}", began.elapsed());
    let began = Instant::now();
    server.sql("shop", "select count(spot) from benchhand.readings");
    println!("all readings by the office's view: {:?}", began.elapsed());

    let mut seen = Vec::new();
    for number in 0..500 {
        let job = &opened[number % jobs];
        let began = Instant::now();
        let line = deck.write(job, &reading(number));
        flow.until_held(job, &deck.me(), line).await;
        seen.push(began.elapsed());
    }
    seen.sort();
    println!(
        "a line seen at another station: median {:?}, p95 {:?}, longest {:?}",
        seen[seen.len() / 2],
        seen[seen.len() * 95 / 100],
        seen[seen.len() - 1]
    );
}

fn told(what: &str, lines: usize, bytes: usize, took: Duration) {
    let seconds = took.as_secs_f64();
    println!(
        "{what}: {lines} lines ({} MB) in {seconds:.1} s, {:.0} a second",
        bytes / 1_000_000,
        lines as f64 / seconds
    );
}
