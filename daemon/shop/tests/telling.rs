//! What goes on at a station, told to the others over a real server.

#![cfg(target_os = "linux")]

mod common;

use std::time::Duration;

use benchhand_shop::{ShopState, StationId};

use common::{TestStation, two};

/// The routes that a station is heard to run.
fn routes_of(state: &ShopState, station: &StationId) -> Option<String> {
    let said = state.said.iter().find(|said| said.station == *station)?;
    Some(said.routes.clone())
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_route_is_seen_at_another_station_and_its_end_too() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let (server, deck, mut flow) = two().await;
    for text in ["[1]", "[2]", ""] {
        deck.link.say(text.to_owned());
        let seen = |state: &ShopState| routes_of(state, &deck.me()).as_deref() == Some(text);
        flow.until("seen", seen).await;
    }
    let rows = server.sql("shop", "select count(*) from benchhand.live");
    let rows: u64 = rows.trim().parse().expect("a count");
    assert!(rows <= 3, "one row a station, whatever is said: {rows}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_was_said_grows_old_when_its_station_is_gone() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let (_server, deck, mut flow) = two().await;
    deck.link.say("[1]".to_owned());
    let seen = |state: &ShopState| routes_of(state, &deck.me()).as_deref() == Some("[1]");
    flow.until("seen", seen).await;
    deck.link.stop().await;
    let least = Duration::from_millis(700);
    let old = |state: &ShopState| {
        let said = state.said.iter().find(|said| said.station == deck.me());
        said.is_some_and(|said| said.routes == "[1]" && said.said.elapsed() >= least)
    };
    flow.until("old", old).await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_role_speaks_for_its_own_station_alone() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let (server, deck, mut flow) = two().await;
    let station = deck.me();
    let seen = |state: &ShopState| routes_of(state, &deck.me()).is_some();
    flow.until("heard", seen).await;
    let over = format!("update benchhand.live set routes = 'x' where station = '{station}'");
    // Row security shows it no row that it might change.
    server
        .sql_as("flow", "shop", &over)
        .expect("nothing is changed");
    let put = format!(
        "insert into benchhand.live (station, waiting) values ('{station}', 0) \
         on conflict (station) do update set routes = 'x'"
    );
    let said = server.sql_as("flow", "shop", &put).expect_err("refused");
    assert!(said.contains("row-level security"), "{said}");
    for role in ["flow", "deck", "office"] {
        let gone = server.sql_as(role, "shop", "delete from benchhand.live");
        assert!(gone.expect_err("refused").contains("permission denied"));
    }
    let office = server.sql_as("office", "shop", &over).expect_err("refused");
    assert!(office.contains("permission denied"), "{office}");
    let left = format!("select routes from benchhand.live where station = '{station}'");
    assert_eq!(server.sql("shop", &left), "\n");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn tables_without_a_place_for_it_are_told_and_lines_go_on() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let (server, deck, flow) = two().await;
    deck.link.stop().await;
    flow.link.stop().await;
    server.sql(
        "shop",
        "drop table benchhand.live, benchhand.asked, benchhand.pieces; delete from benchhand.schema_version where version > 3",
    );
    let mut deck = TestStation::start(&server, "deck", 1);
    let mut flow = TestStation::start(&server, "flow", 2);
    let job = deck.open("one");
    deck.link.say("[1]".to_owned());
    deck.write(&job, "\"fact\":\"final\",\"value\":1");
    assert_eq!(deck.until_sent().await.older_tables, Some(3));
    flow.until_held(&job, &deck.me(), 2).await;
    let state = flow.until_sent().await;
    assert!(state.said.is_empty(), "{:?}", state.said);
}
