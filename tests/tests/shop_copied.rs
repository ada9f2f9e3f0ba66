//! Two machines run from copies of one data folder of a shop.

#![cfg(target_os = "linux")]

use benchhand_testbed::postgres::PostgresServer;
use benchhand_tests::shop::Shop;
use benchhand_tests::shop_station::{Station, until};
use serde_json::{Value, json};

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
