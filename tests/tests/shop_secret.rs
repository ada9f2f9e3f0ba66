//! The password of a shop's role stays where its owner wrote it, and a server is believed by what the
//! platform believes where nothing is stated.

#![cfg(target_os = "linux")]

use std::io::{BufRead, BufReader};
use std::os::unix::fs::PermissionsExt;
use std::path::Path;
use std::process::{Child, Stdio};
use std::time::{Duration, Instant};

use benchhand_testbed::postgres::PostgresServer;
use benchhand_tests::shop::Shop;

const PASSWORD: &str = "hush-7391-hush";
/// How long a connection may take before a test fails.
const PATIENCE: Duration = Duration::from_secs(60);

/// Whether a file holds the password.
fn tells(file: &Path) -> bool {
    let bytes = std::fs::read(file).unwrap_or_default();
    bytes
        .windows(PASSWORD.len())
        .any(|part| part == PASSWORD.as_bytes())
}

/// The files below a folder that hold the password.
fn told_in(folder: &Path, found: &mut Vec<String>) {
    for one in std::fs::read_dir(folder).expect("a folder") {
        let path = one.expect("a name").path();
        match path.is_dir() {
            true => told_in(&path, found),
            false if tells(&path) => found.push(path.display().to_string()),
            false => {}
        }
    }
}

/// The processes of ours whose command line holds it.
fn told_in_processes() -> Vec<String> {
    let ours = |line: &Path| {
        let said = std::fs::read(line).unwrap_or_default();
        said.split(|byte| *byte == 0).any(|word| word == b"--data")
    };
    let all = std::fs::read_dir("/proc").expect("processes");
    let lines = all.flatten().map(|one| one.path().join("cmdline"));
    let told = lines.filter(|line| ours(line) && tells(line));
    told.map(|line| line.display().to_string()).collect()
}

/// The daemon with the platform's certificates as they are in `believed`, which says all that it can
/// say into `log`.
fn serve(shop: &Shop, passwords: &str, believed: &Path, log: &Path) -> Child {
    let mut serve = shop.program.command(&["serve", "--json"]);
    serve
        .env("PGPASSFILE", passwords)
        .env_remove("PGPASSWORD")
        .env("SSL_CERT_FILE", believed)
        .env("BENCHHAND_LOG", "trace")
        .stdout(Stdio::piped())
        .stderr(std::fs::File::create(log).expect("a log"));
    let mut daemon = serve.spawn().expect("it starts");
    let said = daemon.stdout.take().expect("it is piped");
    let mut line = String::new();
    BufReader::new(said).read_line(&mut line).expect("a line");
    assert!(line.contains("address"), "{line}");
    daemon
}

/// A server that wants a password of the shop's owner, a data folder, and the file with that password.
fn with_password() -> (PostgresServer, Shop, String) {
    let server = PostgresServer::start_with_tls();
    let owner = format!("create role owner login createrole password '{PASSWORD}'");
    server.sql("postgres", &owner);
    server.sql("postgres", "create database shop owner owner");
    let shop = Shop::with_job();
    let passwords = shop.file("pgpass", &format!("localhost:*:shop:owner:{PASSWORD}\n"));
    let mine = PermissionsExt::from_mode(0o600);
    std::fs::set_permissions(&passwords, mine).expect("it is mine");
    (server, shop, passwords)
}

/// The owner's password is that of whoever types the command; the daemon of that machine needs it not.
#[test]
fn the_tables_are_made_by_the_command_itself_beside_a_daemon_that_has_no_password() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let (server, shop, passwords) = with_password();
    let daemon = shop.program.serve(&[]);
    let url = server.tls_url("owner", "shop");
    let mut prepare = shop.program.command(&["shop", "prepare", &url]);
    prepare
        .env("PGPASSFILE", &passwords)
        .env_remove("PGPASSWORD");
    prepare.env("SSL_CERT_FILE", server.certificate());
    let done = prepare.output().expect("it starts");
    let said = String::from_utf8_lossy(&done.stdout);
    assert!(said.contains("The tables are there"), "{done:?}");
    daemon.kill();
}

#[test]
fn the_password_is_in_no_file_log_or_process_list_of_a_station_over_tls() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let (server, shop, passwords) = with_password();
    let log = shop.folder().join("log");
    let mut daemon = serve(&shop, &passwords, &server.certificate(), &log);

    let url = server.tls_url("owner", "shop");
    shop.program.json(&["shop", "join", &url]);
    shop.program.json(&["enter", "v8", "chamber/1", "64.2 cc"]);
    let end = Instant::now() + PATIENCE;
    loop {
        let shown = shop.program.json(&["shop", "show"]);
        if shown["connected_since"].is_string() && shown["waiting"] == 0 {
            break;
        }
        assert!(Instant::now() < end, "{shown}");
        std::thread::sleep(Duration::from_millis(50));
    }
    let processes = told_in_processes();
    daemon.kill().expect("it runs");
    daemon.wait().expect("it ends");
    assert_eq!(processes, Vec::<String>::new());
    let said = std::fs::read_to_string(&log).expect("a log");
    assert!(said.contains("connected to the shop"), "{said}");
    let mut found = Vec::new();
    told_in(shop.folder(), &mut found);
    assert_eq!(found, [passwords]);
}
