//! The executable's requests to a scripted daemon, and its use of the answers.

mod scripted;

use predicates::prelude::*;
use predicates::str::contains;
use serde_json::{Value, json};

use scripted::{Step, TOKEN, benchhand, hello, scripted, step};

#[test]
fn a_question_carries_its_proof_and_its_fields_in_the_query() {
    let answer = json!({"jobs": [{"name": "v8", "engine": "invented", "opened": "2026-03-02T09:14:05Z",
        "changed": "2026-03-02T09:15:05Z", "stage": "as received", "readings": 3,
        "folder": "/data/jobs/v8"}]});
    let (data, served) = scripted(vec![
        hello(),
        step("GET /v1/jobs?spot=chamber%2F", 200, answer.clone()),
    ]);
    let out = benchhand(&data)
        .args(["job", "list", "--spot", "chamber/", "--json"])
        .assert()
        .success()
        .stderr("")
        .get_output()
        .stdout
        .clone();
    let printed: Value = serde_json::from_slice(&out).expect("JSON and nothing else");
    // What is printed is the answer with the version of its form.
    let mut wanted = answer;
    wanted["version"] = json!(1);
    assert_eq!(printed, wanted);
    let requests = served.join().expect("as scripted");
    for request in &requests {
        request.proof();
        let said = request.header("authorization").expect("a proof");
        assert!(!said.contains(TOKEN), "{said}");
        assert_eq!(request.header("idempotency-key"), None);
    }
}

#[test]
fn a_change_carries_a_write_key_and_its_fields_as_json() {
    let answer = json!({"id": 12, "number": 9, "spot": "chamber/3", "value": 64.2, "unit": "cc",
                        "stage": "as received"});
    let (data, served) = scripted(vec![hello(), step("POST /v1/readings/enter", 200, answer)]);
    let pours = [
        "--from", "0.0cc", "--to", "50.0cc", "--from", "1.0cc", "--to", "15.2cc",
    ];
    benchhand(&data)
        .args(["enter", "v8", "chamber/3"])
        .args(pours)
        .assert()
        .success()
        .stdout(contains("Kept as reading 9: chamber/3 = 64.20 cc"));
    let requests = served.join().expect("as scripted");
    let key = requests[1].header("idempotency-key").expect("a write key");
    assert_eq!(key.len(), 32, "{key}");
    let body: Value = serde_json::from_str(&requests[1].body).expect("JSON");
    assert_eq!(
        body,
        json!({"job": "v8", "spot": "chamber/3", "sure": false,
               "levels": [{"from": "0.0cc", "to": "50.0cc"}, {"from": "1.0cc", "to": "15.2cc"}]})
    );
}

#[test]
fn a_change_whose_answer_was_lost_is_sent_again_with_the_same_key() {
    let answer = json!({"id": 9, "spot": "chamber/3", "left": 1});
    let (data, served) = scripted(vec![
        hello(),
        Step::Lose {
            line: "POST /v1/readings/void",
        },
        step("POST /v1/readings/void", 200, answer),
    ]);
    benchhand(&data)
        .args(["void", "v8", "7", "--reason", "a bubble"])
        .assert()
        .success()
        .stdout(contains("1 reading is left there"));
    let requests = served.join().expect("as scripted");
    let key = requests[1].header("idempotency-key");
    assert!(key.is_some_and(|key| !key.is_empty()));
    assert_eq!(key, requests[2].header("idempotency-key"));
    assert_eq!(requests[1].body, requests[2].body);
}

#[test]
fn each_refusal_has_its_exit_code_and_its_three_sentences() {
    for (reason, status, code) in [
        ("bad_input", 422, 3),
        ("not_found", 404, 4),
        ("conflict", 409, 5),
        ("port_absent", 424, 6),
        ("port_busy", 424, 7),
        ("port_forbidden", 424, 8),
        ("gauge_silent", 504, 9),
        ("store_busy", 423, 10),
        ("storage", 507, 11),
        ("damaged", 500, 12),
        ("unauthorised", 401, 13),
        ("unavailable", 503, 14),
    ] {
        let refusal = json!({"reason": reason, "found": "this was found",
            "expected": "that was expected", "todo": "do this next"});
        let (data, served) = scripted(vec![hello(), step("GET /v1/routes", status, refusal)]);
        benchhand(&data)
            .args(["routes", "--json"])
            .assert()
            .code(code)
            .stdout("")
            .stderr(
                contains("error: this was found")
                    .and(contains("expected: that was expected"))
                    .and(contains("what to do: do this next")),
            );
        served.join().expect("as scripted");
    }
}

#[test]
fn a_bad_row_is_shown_under_its_line_in_the_users_own_file() {
    let refusal = json!({"reason": "bad_input", "found": "one row cannot be used",
        "todo": "correct it; nothing was kept",
        "places": [{"file": "FILE", "line": 3, "column": 14, "text": "there is no unit ccc"}]});
    let folder = tempfile::tempdir().expect("a folder");
    let csv = folder.path().join("notebook.csv");
    std::fs::write(&csv, "spot,value,unit\nchamber/1,64,cc\nchamber/2,64,ccc\n").expect("written");
    let csv = csv.to_str().expect("text");
    let refusal = refusal.to_string().replace("FILE", csv);
    let refusal: Value = serde_json::from_str(&refusal).expect("JSON");
    let (data, served) = scripted(vec![
        hello(),
        step("POST /v1/readings/import", 422, refusal),
    ]);
    benchhand(&data)
        .args(["import", "v8", csv])
        .assert()
        .code(3)
        .stdout("")
        .stderr(contains("chamber/2,64,ccc").and(contains("there is no unit ccc")));
    let requests = served.join().expect("as scripted");
    let body: Value = serde_json::from_str(&requests[1].body).expect("JSON");
    assert_eq!(body["file"], csv);
}

#[test]
fn a_gauge_check_that_fails_is_an_answer_and_ends_with_1() {
    let answer = json!({"id": 8, "error": 0.0021, "allow": 0.0005, "unit": "in", "passed": false,
                        "marked": [71, 72], "marked_numbers": ["5", "6"]});
    let (data, served) = scripted(vec![hello(), step("POST /v1/gauges/check", 200, answer)]);
    benchhand(&data)
        .args([
            "gauge",
            "check",
            "depth-2",
            "--job",
            "v8",
            "--raw",
            "-0.0021 in",
        ])
        .assert()
        .code(1)
        .stdout(contains("NOT OK").and(contains("5, 6")));
    let requests = served.join().expect("as scripted");
    let body: Value = serde_json::from_str(&requests[1].body).expect("JSON");
    assert_eq!(body["raw"], "-0.0021 in");
}

#[test]
fn a_record_that_is_damaged_is_shown_and_ends_with_12() {
    let answer = json!({"lines": 40, "head": "ab12", "broken": "line 17 was changed"});
    let (data, served) = scripted(vec![
        hello(),
        step("GET /v1/jobs/verify?job=v8", 200, answer),
    ]);
    benchhand(&data)
        .args(["job", "verify", "v8"])
        .assert()
        .code(12)
        .stdout(contains("DAMAGED: line 17 was changed"));
    served.join().expect("as scripted");
}

#[test]
fn a_daemon_of_another_process_or_folder_is_not_taken_for_this_ones() {
    let other = tempfile::tempdir().expect("a folder");
    let (data, served) = scripted(vec![hello()]);
    // The folder was copied while its daemon ran, with the file that names the daemon.
    let file = "daemon.json";
    std::fs::copy(data.path().join(file), other.path().join(file)).expect("copied");
    benchhand(&other)
        .args(["steer", "v8", "take"])
        .assert()
        .code(14)
        .stderr(contains("no daemon runs"));
    served.join().expect("as scripted");

    let (data, served) = scripted(vec![hello()]);
    let path = data.path().join(file);
    let told = std::fs::read_to_string(&path).expect("a file");
    std::fs::write(&path, told.replace(r#""pid":1"#, r#""pid":2"#)).expect("written");
    benchhand(&data)
        .args(["steer", "v8", "take"])
        .assert()
        .code(14)
        .stderr(contains("no daemon runs"));
    served.join().expect("as scripted");
}
