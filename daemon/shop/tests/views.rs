//! What the office sees: readings as they stand, from the lines of several stations.

#![cfg(target_os = "linux")]

mod common;

use std::sync::Arc;

use benchhand_shop::JobId;
use benchhand_testbed::postgres::PostgresServer;

use common::{MemoryRecord, TestStation, shop_on};

fn reading(fact: &str, spot: &str, value: f64) -> String {
    format!("\"fact\":\"{fact}\",\"spot\":\"{spot}\",\"value\":{value},\"unit\":\"cc\"")
}

/// Rows of the office's query, columns parted by a bar.
fn office(server: &PostgresServer, query: &str) -> Vec<String> {
    let rows = server.sql_as("office", "shop", query).expect("it may read");
    rows.lines().map(str::to_owned).collect()
}

async fn sent(server: &PostgresServer, role: &str, record: MemoryRecord) {
    let mut station = TestStation::with(server, role, Arc::new(record));
    station.until_sent().await;
    station.link.stop().await;
}

/// A job of two stations in which each thing happens that changes how a reading stands.
fn measured() -> (JobId, MemoryRecord, MemoryRecord) {
    let deck = MemoryRecord::new(1);
    // `open` writes no stage; a cut names the first one.
    let job = deck.open("one");
    let write = |says: &str| deck.write(&job, says);
    write("\"fact\":\"cut\",\"stage\":\"as received\",\"what\":\"nothing\"");
    write(&reading("held", "chamber/1", 40.5));
    write(&format!(
        "{},\"supersedes\":3",
        reading("revised", "chamber/1", 64.25)
    ));
    write("\"fact\":\"finalised\",\"of\":4");
    write(&reading("final", "chamber/3", 64.1));
    write(
        "\"fact\":\"moved\",\"of\":6,\"from\":\"chamber/3\",\"to\":\"chamber/5\",\"reason\":\"it was 5\"",
    );
    write(&reading("final", "chamber/2", 63.9));
    write("\"fact\":\"voided\",\"of\":8,\"reason\":\"a bubble\"");
    write(&reading("final", "chamber/4", 64.4));
    write("\"fact\":\"voided\",\"of\":10,\"reason\":\"no\"");
    write("\"fact\":\"restored\",\"of\":10");
    write(&reading("asked", "chamber/6", 12.0));
    write("\"fact\":\"cut\",\"stage\":\"milled\",\"what\":\"heads\"");
    write(&reading("final", "chamber/1", 62.5));
    // A revision of the old spot goes where the reading was moved.
    write(&format!(
        "{},\"supersedes\":6",
        reading("final", "chamber/3", 64.2)
    ));
    let flow = MemoryRecord::new(2);
    let stamp = |stamp: u64| format!("\"stamp\":{stamp},");
    (job.clone(), deck, {
        // Behind all of the other's facts, which have no stamps.
        let later = 1_900_000_000_000_000;
        let station = "01".repeat(16);
        flow.write_beside(&job, "", "\"fact\":\"joined\"");
        let on_first = format!(
            "{}\"rests_on\":2,\"rests_on_station\":\"{station}\",",
            stamp(later)
        );
        flow.write_beside(&job, &on_first, &reading("final", "chamber/7", 65.0));
        let says =
            format!("\"of_station\":\"{station}\",\"fact\":\"voided\",\"of\":15,\"reason\":\"no\"");
        flow.write_beside(&job, &stamp(later + 1), &says);
        let rows = [("chamber/8", 60.1), ("deck/1/front", 0.4)].map(|(spot, value)| {
            format!("{{\"spot\":\"{spot}\",\"value\":{value},\"unit\":\"cc\"}}")
        });
        let says = format!("\"fact\":\"import\",\"rows\":[{}]", rows.join(","));
        flow.write_beside(
            &job,
            &on_first.replace(&later.to_string(), &(later + 2).to_string()),
            &says,
        );
        flow
    })
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_office_sees_each_reading_as_it_stands_and_the_latest_chambers() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let server = PostgresServer::start();
    shop_on(&server);
    sent(&server, "owner", MemoryRecord::new(9)).await;
    let (_, deck, flow) = measured();
    sent(&server, "deck", deck).await;
    sent(&server, "flow", flow).await;
    let query = "select left(station, 2), seq, spot, value, stage, standing from benchhand.readings \
        order by station, seq";
    assert_eq!(
        office(&server, query),
        [
            "01|3|chamber/1|40.5|as received|superseded",
            "01|4|chamber/1|64.25|as received|final",
            "01|6|chamber/5|64.1|as received|superseded",
            "01|8|chamber/2|63.9|as received|voided",
            "01|10|chamber/4|64.4|as received|final",
            "01|13|chamber/6|12|as received|asked",
            "01|15|chamber/1|62.5|milled|voided",
            "01|16|chamber/5|64.2|as received|final",
            "02|2|chamber/7|65|as received|final",
            "02|4|chamber/8|60.1|as received|final",
            "02|5|deck/1/front|0.4|as received|final",
        ]
    );
    let query = "select job_name, cylinder, value, unit from benchhand.latest_chambers \
        order by cylinder";
    assert_eq!(
        office(&server, query),
        [
            "one|1|64.25|cc",
            "one|4|64.4|cc",
            "one|5|64.2|cc",
            "one|7|65|cc",
            "one|8|60.1|cc",
        ]
    );
    // The same where the server would rather part the work.
    let parted = "set min_parallel_table_scan_size = 0; set parallel_setup_cost = 0; \
        set parallel_tuple_cost = 0; select count(spot) from benchhand.readings";
    assert_eq!(office(&server, parted), ["11"]);
}
