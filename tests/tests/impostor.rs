//! Another user of the machine: whoever binds the port of a daemon that crashed gets nothing and is
//! believed nothing, and files are their owner's alone.
#![cfg(unix)]

use std::io::{Read, Write};
use std::net::TcpListener;
use std::os::unix::fs::PermissionsExt;
use std::path::Path;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use benchhand_proof::{RequestProof, RequestSaid, Secret};
use benchhand_tests::program::Program;
use benchhand_tests::shop::Shop;
use benchhand_tests::tree::files;
use serde_json::{Value, json};

/// What an impostor was told so far.
type Heard = Arc<Mutex<Vec<u8>>>;

/// Listens at `address` in the daemon's place and answers everything as if it had kept it.
fn impostor(address: &str) -> Heard {
    let listener = TcpListener::bind(address).expect("the port is free again");
    let heard = Heard::default();
    let ours = Arc::clone(&heard);
    std::thread::spawn(move || {
        for stream in listener.incoming() {
            let Ok(mut stream) = stream else { break };
            let _ = stream.set_read_timeout(Some(Duration::from_millis(200)));
            let mut bytes = [0; 4096];
            while let Ok(read @ 1..) = stream.read(&mut bytes) {
                ours.lock().expect("sound").extend(&bytes[..read]);
                let answer = json!({"program": "benchhand", "version": env!("CARGO_PKG_VERSION"),
                    "pid": 1, "data": "/", "run": "1", "proof": "0".repeat(64),
                    "id": 999, "spot": "chamber/1", "value": 64.2, "unit": "cc",
                    "stage": "as received"})
                .to_string();
                let head = format!(
                    "HTTP/1.1 200 OK\r\ncontent-type: application/json\r\nbenchhand-proof: {}\r\n\
                     content-length: {}\r\n\r\n",
                    "0".repeat(64),
                    answer.len()
                );
                let _ = stream.write_all((head + &answer).as_bytes());
            }
        }
    });
    heard
}

#[test]
fn whoever_takes_the_port_of_a_daemon_that_crashed_gets_nothing_and_is_not_believed() {
    let shop = Shop::with_job();
    let daemon = shop.program.serve(&[]);
    let (address, token) = (daemon.api.address.clone(), daemon.api.token.clone());
    daemon.kill();
    let heard = impostor(&address);

    let entered = shop.program.run(&["enter", "v8", "chamber/1", "64.2 cc"]);
    let entered = entered.good();
    assert!(!entered.out.contains("999"), "{entered:?}");
    assert!(
        entered.err.contains("another program answers"),
        "{entered:?}"
    );
    assert_eq!(
        shop.values_at("chamber/1"),
        [64.2],
        "it is kept all the same"
    );

    let stopped = shop.program.run(&["stop"]);
    assert_eq!(stopped.code, 14, "{stopped:?}");
    let heard = heard.lock().expect("sound");
    let told = String::from_utf8_lossy(&heard);
    assert!(told.contains("GET /v1/prove?nonce="), "{told}");
    for secret in [token.as_str(), "64.2", "chamber", "authorization"] {
        assert!(!told.contains(secret), "{secret:?} was told: {told}");
    }
}

#[test]
fn a_proof_is_good_for_one_request_as_it_was_made_and_the_token_still_opens() {
    let shop = Shop::with_job();
    let daemon = shop.program.serve(&[]);
    let (api, host) = (&daemon.api, ("host", daemon.api.address.as_str()));
    let secret = Secret::of_token(&api.token);
    let proven: Value = api
        .raw("GET /v1/prove?nonce=n1", &[host], None)
        .expect("it answers")
        .good();
    let (run, proof) = (&proven["run"], proven["proof"].as_str().expect("a proof"));
    let run = run.as_str().expect("a run");
    assert!(secret.is_of_daemon(proof, "n1", run, &api.address));

    let body = json!({"job": "v8", "spot": "chamber/1", "value": "64.2 cc"}).to_string();
    let said = RequestSaid {
        run,
        method: "POST",
        path: "/v1/readings/enter",
        key: "k1",
    };
    let right = secret.of_request(&said, "n2", body.as_bytes());
    let ask = |line: &str, key: &str, proof: &RequestProof, body: &str| {
        let header = proof.header();
        let headers = [
            host,
            ("authorization", header.as_str()),
            ("idempotency-key", key),
        ];
        let answer = api.raw(line, &headers, Some(body)).expect("it answers");
        answer.status
    };
    let line = "POST /v1/readings/enter";
    let before = shop.journal();
    assert_eq!(ask(line, "k2", &right, &body), 401, "another key");
    assert_eq!(ask("POST /v1/readings/void", "k1", &right, &body), 401);
    assert_eq!(ask(line, "k1", &right, &body.replace("64.2", "64.3")), 401);
    let other_run = RequestSaid { run: "1", ..said };
    let of_other_run = secret.of_request(&other_run, "n2", body.as_bytes());
    assert_eq!(ask(line, "k1", &of_other_run, &body), 401);
    let guessed = Secret::of_token("0").of_request(&said, "n2", body.as_bytes());
    assert_eq!(ask(line, "k1", &guessed, &body), 401);
    assert_eq!(shop.journal(), before);
    assert_eq!(ask(line, "k1", &right, &body), 200);
    assert_eq!(shop.values_at("chamber/1"), [64.2]);
    assert_eq!(api.get("jobs").status, 200, "other programs send the token");
}

#[track_caller]
fn all_kept_to_the_owner(data: &Path) {
    let rights = |path: &Path| std::fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!(rights(data), 0o700, "{}", data.display());
    let mut seen = 0;
    for file in files(data, "") {
        assert_eq!(rights(&file) & 0o077, 0, "{}", file.display());
        let folder = file.parent().expect("a folder");
        assert_eq!(rights(folder) & 0o077, 0, "{}", folder.display());
        seen += 1;
    }
    assert!(seen >= 3, "{seen} files were looked at");
}

#[test]
fn files_and_folders_are_their_owners_alone_also_where_they_existed_before() {
    let shop = Shop::with_job();
    let data = shop.program.data().to_owned();
    shop.program
        .run(&["enter", "v8", "chamber/1", "64.2 cc"])
        .good();
    all_kept_to_the_owner(&data);

    // As an earlier version left them.
    for file in files(&data, "") {
        let open = |path: &Path, mode| {
            std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).unwrap();
        };
        open(&file, 0o644);
        for folder in file
            .ancestors()
            .skip(1)
            .take_while(|f| f.starts_with(&data))
        {
            open(folder, 0o755);
        }
    }
    let daemon = Program::at(&data).serve(&[]);
    all_kept_to_the_owner(&data);
    daemon.stop();
}
