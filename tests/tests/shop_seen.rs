//! What a station of a shop sees of another one: who is there, what is measured there now, where each
//! reading was taken, and what to do where something is wrong. The gauge lives in this process and runs
//! on true time.

#![cfg(target_os = "linux")]

use std::time::{Duration, Instant};

use benchhand_testbed::postgres::PostgresServer;
use benchhand_tests::program::Daemon;
use benchhand_tests::shop::Shop;
use benchhand_tests::signals::Hand;
use benchhand_tests::true_time::TrueTimeGauge;
use serde_json::{Value, json};

const CHAMBER_CC: f64 = 64.03;
/// How long anything may take before a test fails.
const PATIENCE: Duration = Duration::from_secs(200);

/// Asks again and again until it gives something.
#[track_caller]
fn until<T>(what: &str, look: impl Fn() -> Option<T>) -> T {
    let end = Instant::now() + PATIENCE;
    loop {
        if let Some(found) = look() {
            return found;
        }
        assert!(Instant::now() < end, "not {what} in time");
        std::thread::sleep(Duration::from_millis(100));
    }
}

/// A server whose tables the owner made, without becoming a station, with two roles of stations.
fn prepared(shop: &Shop) -> PostgresServer {
    let server = PostgresServer::start();
    server.sql("postgres", "create role owner login createrole");
    server.sql("postgres", "create database shop owner owner");
    let url = server.url("owner", "shop");
    let told = shop.program.run(&["shop", "prepare", &url]).good().out;
    assert!(told.contains("in role shop_station"), "{told}");
    server.sql(
        "postgres",
        "create role deck login in role shop_station; create role pour login in role shop_station",
    );
    server
}

fn join(daemon: &Daemon, server: &PostgresServer, role: &str, name: &str) {
    let url = server.url(role, "shop");
    daemon.program.json(&["shop", "join", &url, "--name", name]);
}

/// The routes that a station sees at the station of this name.
fn routes_at(daemon: &Daemon, name: &str) -> Vec<Value> {
    let shop = daemon.api.get("shop").good();
    let stations = shop["stations"].as_array().expect("stations").clone();
    let station = stations.iter().find(|one| one["name"] == name);
    let routes = station.and_then(|one| one["routes"].as_array().cloned());
    routes.unwrap_or_default()
}

fn set_up(daemon: &Daemon, burette: &TrueTimeGauge) {
    let mut set = vec!["gauge", "set", "burette", "--profile", "ascii-volume"];
    set.extend(["--port", burette.path(), "--capacity", "100 cc"]);
    set.extend(["--counts", "up"]);
    daemon.program.json(&set);
    daemon.api.wait_for_port("burette");
}

#[test]
fn another_stations_route_its_values_and_its_readings_are_seen_on_the_page() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let first = Shop::with_job();
    let server = prepared(&first);
    let second = Shop::new();
    let (deck, pour) = (first.program.serve(&[]), second.program.serve(&[]));
    let browser = deck.api.browser();
    assert!(!browser.page("/jobs").contains("shop-line"));
    join(&deck, &server, "deck", "deck stand");
    join(&pour, &server, "pour", "pour room");
    until("known at both", || {
        (pour.api.get("jobs/show?job=v8").status == 200).then_some(())
    });
    until("both listed", || {
        let page = browser.page("/shop");
        (page.contains("deck stand") && page.contains("pour room")).then_some(())
    });
    assert!(browser.page("/shop").contains("No station runs a route"));
    assert!(browser.page("/jobs").contains("shop-line"));

    deck.program
        .json(&["enter", "v8", "chamber/7", "64.1 cc", "--sure"]);
    let (burette, here) = (TrueTimeGauge::plug_in(), TrueTimeGauge::plug_in());
    set_up(&pour, &burette);
    set_up(&deck, &here);
    let mut args = vec!["measure", "v8", "chambers", "--cylinders", "1,2"];
    args.extend(["--rounds", "1", "--json"]);
    let mut pouring = pour.program.start(&args);
    pouring.wait("the route runs", |event| {
        event["progress"]["running"] == true
    });
    // The other station begins a route on the same job, and each is told of the other's.
    let mut own = deck.program.start(&args);
    for (running, told) in [
        (
            &mut pouring,
            "chambers is measured on this job at station A (deck stand) too",
        ),
        (
            &mut own,
            "chambers is measured on this job at station B (pour room) too",
        ),
    ] {
        running.wait(told, |event| {
            let text = event["text"].as_str();
            text.is_some_and(|text| text.starts_with(told))
        });
    }
    // While it is poured, what is shown is seen elsewhere about every second.
    let poured = Hand::at_burette(3).rest(2.5).go_to(0.4 + CHAMBER_CC, 20.0);
    let played = burette.begin(&poured.rest(4.0).stream());
    let seen = until("a value seen at the other station", || {
        let routes = routes_at(&deck, "pour room");
        let first = routes.first()?;
        let shown = first["shown"].as_str()?.strip_suffix(" cc")?.to_owned();
        let poured: f64 = shown.parse().ok()?;
        (poured > 1.0).then(|| first.clone())
    });
    assert_eq!(seen["job"], "v8", "{seen}");
    assert_eq!(seen["spot"], "chamber/1", "{seen}");
    let page = until("the page shows it", || {
        let page = browser.page("/shop");
        page.contains("pour room: chambers of").then_some(page)
    });
    assert!(page.contains("0 of 2 done"), "{page}");
    let told_of = "chambers is measured on this job at station B (pour room) too";
    until("the job's page tells of it", || {
        browser.page("/jobs/v8").contains(told_of).then_some(())
    });
    played.recv().expect("plugged in").expect("it plays");

    let reading = until("the reading at the other station", || {
        let job = deck.api.get("jobs/show?job=v8").good();
        let all = job["readings"].as_array()?.clone();
        all.into_iter().find(|one| one["source"] == "captured")
    });
    assert_eq!(reading["station"], "B", "{reading}");
    let list = browser.page("/jobs/v8/readings");
    assert!(list.contains("at station B (pour room)"), "{list}");
    let one = browser.page(&format!("/jobs/v8/readings/{}", reading["id"]));
    assert!(one.contains("station B (pour room)"), "{one}");

    // What was recorded lies there: it is asked for, and drawn when it came.
    let path = format!("/jobs/v8/readings/{}", reading["id"]);
    assert!(
        one.contains("What was recorded lies at station B") || one.contains("<svg"),
        "{one}"
    );
    let drawn = until("its trace drawn here", || {
        let page = browser.page(&path);
        page.contains("<svg").then_some(page)
    });
    assert!(drawn.contains("What burette"), "{drawn}");
    let trace = |daemon: &Daemon, id: &Value| {
        let asked = format!("readings/trace?job=v8&id={id}");
        daemon.api.get(&asked).good()
    };
    let own = pour.api.get("jobs/show?job=v8").good();
    let taken = own["readings"].as_array().expect("readings").iter();
    let taken = taken.clone().find(|one| one["source"] == "captured");
    let there = trace(&pour, &taken.expect("it was taken there")["id"]);
    let (there, here) = (
        &there["traces"][0],
        &trace(&deck, &reading["id"])["traces"][0],
    );
    let around = |trace: &Value| trace["around"].as_array().expect("samples").clone();
    // What the gauge sent afterwards may not have been on the disk there when it was asked for.
    let (all, came) = (around(there), around(here));
    assert!(!came.is_empty() && all.starts_with(&came), "{here} {there}");
    for field in ["window", "taken", "unit", "stream"] {
        assert_eq!(here[field], there[field], "{field}");
    }

    // That station makes its readings out anew for whoever asks; the own one was typed.
    // A reading may be revised between the two questions, and a piece that was asked for while its
    // stream was still being written is asked for again after a minute.
    let (anew, there) = until("the reading made out anew where it was taken", || {
        let own = pour.program.json(&["job", "recompute", "v8"]);
        let there = deck.program.json(&["job", "recompute", "v8"]);
        let all = own["without_stream"] == 0 && own["same"] == there["same"];
        all.then_some((own, there))
    });
    for field in ["same", "near", "different", "without_stream"] {
        assert_eq!(there[field], anew[field], "{field}: {there}");
    }
    let count = anew["readings"].as_array().map(Vec::len);
    let elsewhere = json!([{"station": "B", "readings": count, "again": count, "awaited": false}]);
    assert_eq!(there["elsewhere"], elsewhere, "{there}");
    let (own, told) = (&anew["readings"][0], &there["readings"][0]);
    assert_eq!(
        (&told["verdict"], &told["held_by"]),
        (&json!("same"), &json!("B"))
    );
    for field in ["kept", "again", "spot", "stream", "at_us"] {
        assert_eq!(told[field], own[field], "{field}: {there}");
    }
    let page = browser.page("/jobs/v8/record?recompute=yes");
    assert!(page.contains("computed again at station B"), "{page}");
    let shown = deck.program.run(&["shop", "show"]).good().out;
    assert!(shown.contains("Several routes run on job v8"), "{shown}");
    let shown = deck.program.run(&["job", "show", "v8"]).good().out;
    assert!(shown.contains(told_of), "{shown}");

    // A station that is gone is seen to be gone: its last word is called old, and is shown no more
    // after a minute. The server's clock alone tells how old it is, so here it is made older.
    pour.kill();
    drop(pouring);
    let said_earlier = |seconds: u32| {
        let statement = format!(
            "update benchhand.live set said_at = said_at - interval '{seconds} s' where station = \
             (select station from benchhand.stations where name = 'pour room'); \
             select pg_notify('benchhand_lines', 'live ' || station) from benchhand.stations \
             where name = 'pour room'"
        );
        server.sql("shop", &statement);
    };
    said_earlier(20);
    until("called old", || {
        let routes = routes_at(&deck, "pour room");
        let said = routes.first()?["said_s"].as_u64()?;
        (said >= 20).then_some(())
    });
    assert!(browser.page("/shop").contains(" s ago)"));
    said_earlier(40);
    until("shown no more", || {
        let page = browser.page("/shop");
        (!page.contains("pour room: chambers of")).then_some(())
    });
}
