//! A damaged record, as a builder meets it: in the list, in the job, at the next reading; and how a
//! running daemon takes up a record that was put right.

use benchhand_tests::shop::Shop;
use serde_json::{Value, json};

fn enter(daemon: &benchhand_tests::program::Daemon, spot: &str, key: &str) -> Value {
    let body = json!({"job": "v8", "spot": spot, "value": "64.2 cc"});
    let answer = daemon.api.post("readings/enter", key, &body);
    let answer = answer.expect("it answers");
    json!({"status": answer.status, "body": answer.body})
}

#[test]
fn a_record_cut_short_under_a_daemon_is_told_everywhere_and_taken_up_again_once_it_is_put_right() {
    let shop = Shop::with_job();
    let journal = shop.job().join("journal.ndjson");
    let daemon = shop.program.serve(&[]);
    for (key, spot) in [("a", "chamber/1"), ("b", "chamber/2")] {
        assert_eq!(enter(&daemon, spot, key)["status"], 200);
    }
    daemon.stop();
    let whole = shop.journal();
    let text = String::from_utf8(whole.clone()).expect("a journal is text");
    let short: String = text.split_inclusive('\n').take(3).collect();
    std::fs::write(&journal, short).expect("cut");

    let daemon = shop.program.serve(&[]);
    let refused = enter(&daemon, "chamber/3", "c");
    assert_ne!(refused["status"], 200, "{refused}");
    assert!(
        refused.to_string().contains("its end is missing"),
        "{refused}"
    );
    let jobs = daemon.api.get("jobs").good();
    let told = jobs["jobs"][0]["damage"].as_str().unwrap_or_default();
    assert!(told.contains("its end is missing"), "{jobs}");
    let shown = daemon.api.get("jobs/show?job=v8").good();
    assert!(shown["notes"].to_string().contains("its end is missing"));
    let verified = daemon.api.get("jobs/verify?job=v8").good();
    assert!(verified["broken"].is_string(), "{verified}");

    std::fs::write(&journal, &whole).expect("restored");
    assert_eq!(enter(&daemon, "chamber/3", "c")["status"], 200);
    let jobs = daemon.api.get("jobs").good();
    assert_eq!(jobs["jobs"][0]["damage"], Value::Null);
    assert_eq!(shop.values_at("chamber/3"), [64.2]);
    daemon.stop();
}

#[test]
fn a_record_shortened_while_it_is_open_is_put_right_without_a_restart() {
    let shop = Shop::with_job();
    let journal = shop.job().join("journal.ndjson");
    let daemon = shop.program.serve(&[]);
    assert_eq!(enter(&daemon, "chamber/1", "a")["status"], 200);
    let whole = shop.journal();
    std::fs::write(&journal, b"").expect("emptied");
    assert_ne!(enter(&daemon, "chamber/2", "b")["status"], 200);
    assert_ne!(enter(&daemon, "chamber/2", "b")["status"], 200);
    std::fs::write(&journal, &whole).expect("restored");
    assert_eq!(enter(&daemon, "chamber/2", "b")["status"], 200);
    daemon.stop();
    assert_eq!(shop.values_at("chamber/1").len(), 1);
    assert_eq!(shop.values_at("chamber/2").len(), 1);
}

#[test]
fn damage_is_accepted_with_a_reason_at_the_terminal() {
    let shop = Shop::with_job();
    let journal = shop.job().join("journal.ndjson");
    for n in 1..=2 {
        let (spot, value) = (format!("chamber/{n}"), "64.2 cc");
        shop.program.run(&["enter", "v8", &spot, value]).good();
    }
    let text = String::from_utf8(shop.journal()).expect("text");
    let short: String = text.split_inclusive('\n').take(3).collect();
    std::fs::write(&journal, short).expect("cut");
    let listed = shop.program.run(&["job", "list"]).good();
    assert!(listed.out.contains("v8 is DAMAGED"), "{}", listed.out);
    let verified = shop.program.run(&["job", "verify", "v8"]);
    assert_eq!(verified.code, 12);
    assert!(
        verified.out.contains("job accept-damage v8"),
        "{}",
        verified.out
    );
    let accept = ["job", "accept-damage", "v8", "--reason", "no copy is left"];
    let accepted = shop.program.run(&accept).good();
    assert!(accepted.out.contains("goes on without"), "{}", accepted.out);
    shop.program
        .run(&["enter", "v8", "chamber/2", "64.3 cc"])
        .good();
    assert_eq!(shop.program.run(&["job", "verify", "v8"]).code, 0);
}
