//! How a station reaches its shop: passwords, TLS, the version of the tables, and what is said when
//! something is amiss.

#![cfg(target_os = "linux")]

mod common;

use std::os::unix::fs::PermissionsExt;
use std::path::Path;

use benchhand_shop::{
    PasswordSource, SCHEMA, ShopAddress, ShopFault, ShopIntroduction, StationId, introduce,
};
use benchhand_testbed::postgres::PostgresServer;

use common::{TestStation, quick, shop_on};

/// A file of passwords, as a person writes it.
fn passwords(lines: &str) -> (tempfile::TempDir, PasswordSource) {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("pgpass");
    std::fs::write(&file, lines).expect("it is written");
    std::fs::set_permissions(&file, PermissionsExt::from_mode(0o600)).expect("mine");
    let source = PasswordSource::of_file(&file);
    (folder, source)
}

async fn come(
    url: &str,
    certificate: Option<&Path>,
    source: &PasswordSource,
    number: u8,
) -> Result<ShopIntroduction, ShopFault> {
    let address = ShopAddress::parse(url, certificate).expect("a sound URL");
    let station = StationId::of([number; 16]);
    introduce(&address, source, &station, "a station", &quick()).await
}

/// The server lets nobody in over TCP without TLS.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn over_tls_with_a_stated_certificate_and_a_password_from_the_file() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let server = PostgresServer::start_with_tls();
    shop_on(&server);
    let (_folder, source) =
        passwords("localhost:*:shop:owner:owner-word\nlocalhost:*:shop:deck:deck-word\n");
    let certificate = server.certificate();
    let stated = Some(certificate.as_path());
    let found = come(&server.tls_url("owner", "shop"), stated, &source, 9).await;
    assert!(found.expect("it is let in").rights.may_change);
    let found = come(&server.tls_url("deck", "shop"), stated, &source, 1).await;
    let found = found.expect("it is let in");
    assert_eq!(
        (found.letter.as_str(), found.rights.may_change),
        ("B", false)
    );
    assert_eq!(found.stations.len(), 2);
    // Coming again changes nothing.
    let again = come(&server.tls_url("deck", "shop"), stated, &source, 1).await;
    assert_eq!(again.expect("it is let in"), found);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_certificate_that_nobody_believes_and_a_server_without_tls_are_refused() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let server = PostgresServer::start_with_tls();
    shop_on(&server);
    let (_folder, source) = passwords("*:*:*:owner:owner-word\n");
    let url = server.tls_url("owner", "shop");
    // The platform knows nothing of this certificate.
    let fault = come(&url, None, &source, 1)
        .await
        .expect_err("not believed");
    assert!(matches!(fault, ShopFault::Tls { .. }), "{fault:?}");
    assert!(fault.to_string().contains("--certificate"), "{fault}");
    let other = PostgresServer::start_with_tls();
    let fault = come(&url, Some(&other.certificate()), &source, 1).await;
    assert!(matches!(fault, Err(ShopFault::Tls { .. })), "{fault:?}");
    // Another name than the certificate's.
    let by_number = url.replace("localhost", "127.0.0.1");
    let fault = come(&by_number, Some(&server.certificate()), &source, 1).await;
    assert!(matches!(fault, Err(ShopFault::Tls { .. })), "{fault:?}");
    // The server offers none, as a stranger in between would have it.
    let mut server = server;
    server.kill();
    server.without_tls();
    server.start_again();
    let fault = come(&url, Some(&other.certificate()), &source, 1).await;
    assert!(matches!(fault, Err(ShopFault::Tls { .. })), "{fault:?}");
    // Whoever says in the URL that he wants none gets none.
    let plain = format!("{url}?sslmode=disable");
    come(&plain, None, &source, 1).await.expect("it is let in");
    let nowhere = come(&url, Some(Path::new("/nowhere.pem")), &source, 1).await;
    assert!(
        matches!(nowhere, Err(ShopFault::Certificate { .. })),
        "{nowhere:?}"
    );
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_wrong_or_missing_password_is_told_and_shown_nowhere() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let server = PostgresServer::start_with_tls();
    shop_on(&server);
    let certificate = server.certificate();
    let url = server.tls_url("owner", "shop");
    for lines in ["*:*:*:owner:wrong-word\n", "*:*:*:somebody:else\n"] {
        let (_folder, source) = passwords(lines);
        let fault = come(&url, Some(&certificate), &source, 1)
            .await
            .expect_err("not let in");
        assert!(matches!(fault, ShopFault::NotLetIn { .. }), "{fault:?}");
        let words = fault.to_string();
        assert!(
            words.contains("~/.pgpass") && !words.contains("wrong-word"),
            "{words}"
        );
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_is_amiss_is_told_with_what_to_do() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let mut server = PostgresServer::start();
    shop_on(&server);
    let none = PasswordSource::default();
    let fault = come(&server.url("deck", "shop"), None, &none, 1)
        .await
        .unwrap_err();
    assert_eq!(fault, ShopFault::NoSchema("shop".to_owned()));
    let fault = come(&server.url("deck", "elsewhere"), None, &none, 1)
        .await
        .unwrap_err();
    assert_eq!(fault, ShopFault::NoDatabase("elsewhere".to_owned()));
    let fault = come(&server.url("nobody", "shop"), None, &none, 1)
        .await
        .unwrap_err();
    assert!(matches!(fault, ShopFault::NotLetIn { .. }), "{fault:?}");
    server.kill();
    let fault = come(&server.url("deck", "shop"), None, &none, 1)
        .await
        .unwrap_err();
    assert!(matches!(fault, ShopFault::Unreachable { .. }), "{fault:?}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_role_that_may_not_create_roles_is_told_so_and_leaves_nothing_half_made() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let server = PostgresServer::start();
    server.sql(
        "postgres",
        "create role owner login; create role deck login",
    );
    server.sql("postgres", "create database shop owner owner");
    let none = PasswordSource::default();
    let url = server.url("owner", "shop");
    let fault = come(&url, None, &none, 1).await.unwrap_err();
    assert!(fault.to_string().contains("CREATEROLE"), "{fault}");
    let left = server.sql("shop", "select to_regnamespace('benchhand') is null");
    assert_eq!(left.trim(), "t");
    server.sql("postgres", "alter role owner createrole");
    come(&url, None, &none, 1).await.expect("now it may");
    let groups = "select count(*) from pg_roles where rolname in ('shop_station', 'shop_reader')";
    assert_eq!(server.sql("shop", groups).trim(), "2");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn two_first_stations_at_once_make_one_set_of_tables() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let server = PostgresServer::start();
    shop_on(&server);
    let none = PasswordSource::default();
    let url = server.url("owner", "shop");
    let (one, two) = tokio::join!(come(&url, None, &none, 1), come(&url, None, &none, 2));
    let mut letters = [one.expect("it came").letter, two.expect("it came").letter];
    letters.sort();
    assert_eq!(letters, ["A", "B"]);
    let versions = server.sql(
        "shop",
        "select version from benchhand.schema_version order by 1",
    );
    assert!(versions.ends_with(&format!("\n{SCHEMA}\n")), "{versions}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn tables_of_another_version_are_told_and_not_broken() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let server = PostgresServer::start();
    shop_on(&server);
    let none = PasswordSource::default();
    let (owner, deck) = (server.url("owner", "shop"), server.url("deck", "shop"));
    come(&owner, None, &none, 9).await.expect("the tables");
    // A newer program has been here; what it made can be used by this one.
    let newer = SCHEMA + 1;
    let mark = |usable_from| {
        format!(
            "delete from benchhand.schema_version where version > {SCHEMA}; \
             insert into benchhand.schema_version values ({newer}, {usable_from})"
        )
    };
    server.sql("shop", &mark(SCHEMA));
    come(&deck, None, &none, 1).await.expect("it can be used");
    server.sql("shop", &mark(newer));
    for url in [&deck, &owner] {
        let fault = come(url, None, &none, 1).await.unwrap_err();
        let expected = ShopFault::NewerSchema {
            found: newer,
            usable_from: newer,
        };
        assert_eq!(fault, expected);
    }
    // The tables of version 2: a station's role is told, the owner's brings them up to date.
    server.sql(
        "shop",
        "delete from benchhand.schema_version where version > 2; drop table benchhand.live, benchhand.pieces, benchhand.asked; \
         drop view benchhand.latest_chambers, benchhand.readings, benchhand.jobs, benchhand.facts; \
         drop function benchhand.fact_of cascade; drop type benchhand.fact_place cascade",
    );
    let fault = come(&deck, None, &none, 1).await.unwrap_err();
    assert_eq!(fault, ShopFault::OlderSchema(2));
    come(&owner, None, &none, 9).await.expect("up to date");
    come(&deck, None, &none, 1).await.expect("it can be used");
    let read = server.sql_as("office", "shop", "select count(*) from benchhand.jobs");
    assert_eq!(read.expect("it may read"), "0\n");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_station_over_tls_comes_back_by_itself_when_the_server_does() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let mut server = PostgresServer::start_with_tls();
    shop_on(&server);
    let (_folder, source) = passwords("*:*:*:owner:owner-word\n");
    let certificate = server.certificate();
    let url = server.tls_url("owner", "shop");
    let address = ShopAddress::parse(&url, Some(&certificate)).expect("a sound URL");
    let record = std::sync::Arc::new(common::MemoryRecord::new(1));
    let seam = std::sync::Arc::clone(&record) as std::sync::Arc<dyn benchhand_shop::StationRecord>;
    let link = benchhand_shop::ShopLink::start(seam, address, source, "deck stand", quick());
    let mut station = TestStation::linked(record, link);
    let job = station.open("one");
    station.until_sent().await;
    server.kill();
    station.write(&job, "\"fact\":\"final\",\"value\":1");
    station
        .until("away", |state| state.connected_since.is_none())
        .await;
    server.start_again();
    assert_eq!(station.until_sent().await.sent, 2);
}
