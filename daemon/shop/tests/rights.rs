//! Who may do what in the shop's database: asked of the server itself, as each role.

#![cfg(target_os = "linux")]

mod common;

use benchhand_testbed::postgres::PostgresServer;

use common::{TestStation, shop_on};

/// A shop with a job of `deck` in it.
async fn with_a_job() -> (PostgresServer, TestStation) {
    let server = PostgresServer::start();
    shop_on(&server);
    let mut owner = TestStation::start(&server, "owner", 0xee);
    assert!(owner.until_sent().await.rights.may_change);
    owner.link.stop().await;
    let mut deck = TestStation::start(&server, "deck", 1);
    let job = deck.open("one");
    deck.write(&job, "\"fact\":\"final\",\"value\":1");
    assert!(!deck.until_sent().await.rights.may_change);
    (server, deck)
}

/// What the server says when it refuses.
#[track_caller]
fn refused(server: &PostgresServer, role: &str, statement: &str) -> String {
    let said = server.sql_as(role, "shop", statement);
    said.expect_err("it must be refused")
}

const STATEMENTS: [&str; 8] = [
    "update benchhand.lines set text = text",
    "delete from benchhand.lines",
    "truncate benchhand.lines",
    "update benchhand.stations set role = current_user",
    "delete from benchhand.journals",
    "drop table benchhand.lines",
    "alter table benchhand.lines disable row level security",
    "insert into benchhand.schema_version values (99, 99)",
];

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn neither_a_station_nor_the_office_changes_or_deletes_anything() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let (server, _deck) = with_a_job().await;
    let before = server.sql("shop", "select * from benchhand.lines order by number");
    for role in ["deck", "flow", "office"] {
        for statement in STATEMENTS {
            let said = refused(&server, role, statement);
            let denied = said.contains("permission denied") || said.contains("must be owner");
            assert!(denied, "{role}, {statement}: {said}");
        }
    }
    let after = server.sql("shop", "select * from benchhand.lines order by number");
    assert_eq!(before, after);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_role_adds_rows_of_its_own_station_only() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let (server, deck) = with_a_job().await;
    let station = deck.me();
    let copied = "insert into benchhand.lines (job, station, number, copy, hash, prev, text) \
        select job, station, number, 1, hash, prev, text from benchhand.lines";
    let journal = format!("insert into benchhand.journals values (repeat('a', 64), '{station}')");
    let name = "insert into benchhand.stations (station, role, name, letter) \
        values (repeat('b', 32), 'deck', 'x', 'Z')";
    for statement in [copied, &journal, name] {
        let said = refused(&server, "flow", statement);
        assert!(said.contains("row-level security"), "{statement}: {said}");
    }
    // The same rows as their own station may add them.
    server.sql_as("deck", "shop", copied).expect("its own");
    server.sql_as("deck", "shop", &journal).expect("its own");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_office_reads_and_writes_nothing() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let (server, _deck) = with_a_job().await;
    let read = |query| server.sql_as("office", "shop", query).expect("it may read");
    assert_eq!(read("select title from benchhand.jobs"), "invented one\n");
    assert_eq!(read("select count(*) from benchhand.facts"), "2\n");
    let statement = "insert into benchhand.stations (station, name, letter) \
        values (repeat('c', 32), 'x', 'Y')";
    let said = refused(&server, "office", statement);
    assert!(said.contains("permission denied"), "{said}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_role_outside_of_the_shop_sees_nothing_and_its_station_is_told() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let (server, _deck) = with_a_job().await;
    server.sql("postgres", "create role stranger login");
    let said = refused(&server, "stranger", "select * from benchhand.lines");
    assert!(said.contains("permission denied"), "{said}");
    let mut stranger = TestStation::start(&server, "stranger", 7);
    let state = stranger.until("told", |state| state.fault.is_some()).await;
    let words = state.fault.expect("a fault").to_string();
    assert!(words.contains("GRANT shop_station TO stranger"), "{words}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_station_number_belongs_to_the_role_that_registered_it() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let (server, deck) = with_a_job().await;
    let mut other = TestStation::start(&server, "flow", 1);
    let state = other.until("told", |state| state.fault.is_some()).await;
    let words = state.fault.expect("a fault").to_string();
    assert!(words.contains("registered by the role deck"), "{words}");
    assert_eq!(deck.state().fault, None);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_line_that_is_no_json_any_more_leaves_the_views_readable() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let (server, deck) = with_a_job().await;
    deck.link.stop().await;
    server.sql(
        "shop",
        "alter table benchhand.lines drop constraint lines_check; \
         update benchhand.lines set text = 'no json' where number = 2",
    );
    let facts = server.sql_as(
        "office",
        "shop",
        "select number, fact from benchhand.facts order by 1",
    );
    assert_eq!(facts.expect("it may read"), "1|opened\n2|\n");
}

/// What preparing the shop as a role comes to, in words where it is refused.
async fn prepared(
    server: &PostgresServer,
    role: &str,
    give: Option<(&benchhand_shop::StationId, &str)>,
) -> Result<(), String> {
    let url = server.url(role, "shop");
    let at = benchhand_shop::ShopAddress::parse(&url, None).expect("a sound URL");
    let passwords = benchhand_shop::PasswordSource::default();
    let done = benchhand_shop::prepare(&at, &passwords, give, &common::quick()).await;
    done.map(drop).map_err(|fault| fault.to_string())
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_owner_makes_the_tables_without_being_a_station() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let server = PostgresServer::start();
    shop_on(&server);
    let words = prepared(&server, "deck", None).await.expect_err("no owner");
    assert!(words.contains("holds no shop yet"), "{words}");
    prepared(&server, "owner", None).await.expect("it may");
    prepared(&server, "owner", None).await.expect("twice too");
    let stations = "select count(*) from benchhand.stations";
    assert_eq!(server.sql("shop", stations).trim(), "0");
    let mut deck = TestStation::start(&server, "deck", 1);
    assert!(!deck.until_sent().await.rights.may_change);
    let words = prepared(&server, "deck", None).await.expect_err("no owner");
    assert!(words.contains("does not own"), "{words}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_owner_alone_gives_a_station_to_another_role() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let (server, deck) = with_a_job().await;
    let station = deck.me();
    let role = || {
        let role = format!("select role from benchhand.stations where station = '{station}'");
        server.sql("shop", &role).trim().to_owned()
    };
    for (as_role, to) in [("flow", "flow"), ("deck", "flow"), ("office", "office")] {
        let give = Some((&station, to));
        let words = prepared(&server, as_role, give).await;
        let words = words.expect_err("it must be refused");
        assert!(words.contains("does not own"), "{as_role}: {words}");
        assert_eq!(role(), "deck");
    }
    // Nobody who cannot be a station gets one.
    for to in ["office", "nobody_at_all"] {
        let give = Some((&station, to));
        let words = prepared(&server, "owner", give).await;
        let words = words.expect_err("it must be refused");
        assert!(words.contains("IN ROLE shop_station"), "{words}");
    }
    deck.link.stop().await;
    let give = Some((&station, "flow"));
    prepared(&server, "owner", give).await.expect("it may");
    assert_eq!(role(), "flow");
    let mut moved = TestStation::start(&server, "flow", 1);
    moved.until_sent().await;
    let mut old = TestStation::start(&server, "deck", 1);
    let state = old.until("told", |state| state.fault.is_some()).await;
    let words = state.fault.expect("a fault").to_string();
    assert!(words.contains("shop prepare"), "{words}");
}
