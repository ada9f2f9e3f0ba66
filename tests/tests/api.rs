//! The local API: who is let in, what is refused, and how a watcher catches up.

use benchhand_tests::api::Api;
use benchhand_tests::program::Daemon;
use benchhand_tests::shop::Shop;
use serde_json::{Value, json};

fn served() -> (Shop, Daemon) {
    let shop = Shop::with_job();
    let daemon = shop.program.serve(&[]);
    (shop, daemon)
}

#[track_caller]
fn enter(api: &Api, key: &str, spot: &str, value: &str) -> Value {
    let body = json!({"job": "v8", "spot": spot, "value": value});
    api.post("readings/enter", key, &body)
        .expect("it answers")
        .good()
}

#[test]
fn without_the_token_nothing_is_told_and_nothing_is_changed() {
    let (shop, daemon) = served();
    let (api, before) = (&daemon.api, shop.journal());
    let host = ("host", api.address.as_str());
    let body = json!({"job": "v8", "spot": "chamber/1", "value": "64.2 cc"}).to_string();
    let wrong = "Bearer 0000000000000000000000000000000000000000000000000000000000000000";
    for authorization in [None, Some(wrong), Some(api.token.as_str()), Some("Bearer ")] {
        let mut headers = vec![host, ("idempotency-key", "k1")];
        headers.extend(authorization.map(|value| ("authorization", value)));
        for (line, body) in [
            ("GET /v1/hello", None),
            ("GET /v1/jobs", None),
            ("GET /v1/events", None),
            ("POST /v1/readings/enter", Some(body.as_str())),
        ] {
            let answer = api.raw(line, &headers, body).expect("it answers");
            assert_eq!(
                answer.status, 401,
                "{line} with {authorization:?}: {answer:?}"
            );
            let refusal = answer.json();
            assert_eq!(refusal["reason"], "unauthorised");
            assert!(
                refusal["todo"].as_str().unwrap().contains("daemon.json"),
                "{refusal}"
            );
            assert!(!answer.body.contains(&api.token), "the token was told");
        }
    }
    assert_eq!(shop.journal(), before);
}

#[test]
#[cfg(unix)]
fn the_token_can_be_read_by_its_owner_only() {
    use std::os::unix::fs::PermissionsExt;
    let (shop, _daemon) = served();
    let file = shop.program.data().join("daemon.json");
    let mode = std::fs::metadata(file).unwrap().permissions().mode();
    assert_eq!(mode & 0o777, 0o600, "{mode:o}");
}

#[test]
fn a_page_from_elsewhere_is_refused_although_it_has_the_token() {
    let (shop, daemon) = served();
    let (api, before) = (&daemon.api, shop.journal());
    let bearer = format!("Bearer {}", api.token);
    let port = api.address.rsplit(':').next().unwrap();
    let (near, far) = (format!("localhost:{port}"), format!("shop.example:{port}"));
    let page = format!("http://{}", api.address);
    let ask = |headers: &[(&str, &str)]| {
        let mut all = vec![
            ("authorization", bearer.as_str()),
            ("idempotency-key", "k1"),
        ];
        all.extend(headers);
        let body = json!({"job": "v8", "spot": "chamber/1", "value": "64.2 cc"}).to_string();
        let hello = api
            .raw("GET /v1/hello", &all, None)
            .expect("it answers")
            .status;
        let enter = api.raw("POST /v1/readings/enter", &all, Some(&body));
        (hello, enter.expect("it answers").status)
    };
    // A name of elsewhere that was made to point here, and pages of elsewhere.
    assert_eq!(ask(&[("host", far.as_str())]), (401, 401));
    assert_eq!(ask(&[("host", "shop.example")]), (401, 401));
    assert_eq!(ask(&[]), (401, 401));
    for origin in [
        "http://shop.example",
        "https://shop.example",
        "null",
        "http://127.0.0.1:1",
    ] {
        let headers = [("host", api.address.as_str()), ("origin", origin)];
        assert_eq!(ask(&headers), (401, 401), "{origin}");
    }
    assert_eq!(shop.journal(), before);
    // Its own page, by either of its names.
    assert_eq!(
        ask(&[("host", api.address.as_str()), ("origin", page.as_str())]),
        (200, 200)
    );
    assert_eq!(ask(&[("host", near.as_str())]), (200, 200));
}

#[test]
fn it_listens_on_loopback_only() {
    let (_shop, daemon) = served();
    assert!(
        daemon.api.address.starts_with("127.0.0.1:"),
        "{}",
        daemon.api.address
    );
}

#[test]
fn the_schema_of_every_document_is_served_behind_the_same_door() {
    let (shop, daemon) = served();
    let bearer = format!("Bearer {}", daemon.api.token);
    let host = ("host", daemon.api.address.as_str());
    let ask = |name: &str, headers: &[(&str, &str)]| {
        let first = format!("GET /schemas/{name}.json");
        daemon.api.raw(&first, headers, None).expect("it answers")
    };
    let door = [host, ("authorization", bearer.as_str())];
    let listed = shop.program.json(&["schema"]);
    let listed = listed["documents"].as_array().expect("a list");
    assert!(!listed.is_empty());
    for one in listed {
        let name = one["name"].as_str().expect("a name");
        assert_eq!(ask(name, &[host]).status, 401, "{name}");
        let served = ask(name, &door).good();
        let printed = shop.program.json(&["schema", name]);
        assert_eq!(served, printed, "{name}");
        assert_eq!(served["properties"]["version"]["const"], 1, "{name}");
    }
    assert_eq!(ask("no-such-document", &door).status, 404);
}

#[test]
fn its_description_is_served_and_names_every_request_with_its_method() {
    let (_shop, daemon) = served();
    let bearer = format!("Bearer {}", daemon.api.token);
    let host = ("host", daemon.api.address.as_str());
    let ask = |headers: &[(&str, &str)]| {
        let answer = daemon.api.raw("GET /openapi.json", headers, None);
        answer.expect("it answers")
    };
    assert_eq!(ask(&[host]).status, 401, "it stands behind the same door");
    let answer = ask(&[host, ("authorization", bearer.as_str())]);
    let document = answer.good();
    assert!(
        document["openapi"].as_str().unwrap().starts_with("3."),
        "{}",
        document["openapi"]
    );
    let paths = document["paths"].as_object().unwrap();
    for (path, method) in [
        ("/v1/events", "get"),
        ("/v1/jobs/show", "get"),
        ("/v1/readings/enter", "post"),
        ("/v1/routes/start", "post"),
    ] {
        assert!(paths[path][method].is_object(), "{method} {path}");
    }
    // Each that is described is there: by the other method it is refused, not unknown.
    for (path, what) in paths.iter().filter(|(path, _)| *path != "/v1/events") {
        let path = path.trim_start_matches("/v1/");
        let status = match what.get("get") {
            Some(_) => {
                daemon
                    .api
                    .post(path, "k1", &json!({}))
                    .expect("it answers")
                    .status
            }
            None => daemon.api.get(path).status,
        };
        assert_eq!(status, 405, "{path}");
    }
    assert_eq!(daemon.api.get("no/such/request").status, 404);
}

#[test]
fn a_chart_is_drawn_of_what_was_measured_and_refused_of_what_was_not() {
    let (_shop, daemon) = served();
    let api = &daemon.api;
    let chart = |of: &str| api.get(&format!("jobs/chart?job=v8&chart={of}"));
    assert_eq!(chart("chambers").status, 404, "nothing was measured yet");
    assert_eq!(chart("pie").status, 422);
    assert_eq!(chart("scatter").status, 422, "of which gauge is not said");
    for (key, spot, value) in [
        ("k1", "chamber/1", "64.21 cc"),
        ("k2", "chamber/2", "64.83 cc"),
    ] {
        enter(api, key, spot, value);
    }
    let drawn = chart("chambers").good();
    let (svg, told) = (drawn["svg"].as_str(), drawn["description"].as_str());
    let (svg, told) = (svg.expect("a drawing"), told.expect("words"));
    assert!(svg.starts_with("<svg ") && svg.contains("64.83"), "{svg}");
    assert!(
        told.contains("cylinder 1 64.21, cylinder 2 64.83"),
        "{told}"
    );
}

#[test]
fn a_change_needs_a_write_key_and_is_kept_once_by_it() {
    let (shop, daemon) = served();
    let (api, before) = (&daemon.api, shop.journal());
    let bearer = format!("Bearer {}", api.token);
    let headers = [
        ("host", api.address.as_str()),
        ("authorization", bearer.as_str()),
    ];
    let body = json!({"job": "v8", "spot": "chamber/1", "value": "64.2 cc"});
    let text = body.to_string();
    let answer = api
        .raw("POST /v1/readings/enter", &headers, Some(&text))
        .expect("it answers");
    assert_eq!(answer.status, 422, "{answer:?}");
    assert!(answer.body.contains("idempotency-key"), "{answer:?}");
    assert_eq!(shop.journal(), before);

    let first = enter(api, "k1", "chamber/1", "64.2 cc");
    assert_eq!(
        enter(api, "k1", "chamber/1", "64.2 cc"),
        first,
        "the same answer"
    );
    assert_eq!(shop.values_at("chamber/1"), [64.2], "kept once");
    // The key of one change is not good for another.
    let other = json!({"job": "v8", "spot": "chamber/1", "value": "64.3 cc"});
    let answer = api
        .post("readings/enter", "k1", &other)
        .expect("it answers");
    assert_eq!(answer.status, 409, "{answer:?}");
    // A key of its own: a repeat by intention.
    enter(api, "k2", "chamber/1", "64.2 cc");
    assert_eq!(shop.values_at("chamber/1"), [64.2, 64.2]);
}

#[test]
fn every_kind_of_change_that_is_repeated_is_made_once() {
    let (shop, daemon) = served();
    let id = enter(&daemon.api, "k0", "chamber/1", "64.2 cc")["id"].clone();
    let csv = "spot,value,unit\nchamber/2,64.1,cc\nchamber/3,64.0,cc\n";
    for (path, body) in [
        (
            "readings/import",
            json!({"job": "v8", "csv": csv, "file": "notebook.csv"}),
        ),
        (
            "readings/move",
            json!({"job": "v8", "id": id, "to": "chamber/5", "reason": ""}),
        ),
        (
            "readings/void",
            json!({"job": "v8", "id": id, "reason": "a bubble"}),
        ),
        (
            "jobs/cut",
            json!({"job": "v8", "stage": "milled 1", "what": "x", "changes": ["chamber"]}),
        ),
    ] {
        let first = daemon
            .api
            .post(path, path, &body)
            .expect("it answers")
            .good();
        let kept = shop.journal();
        let again = daemon
            .api
            .post(path, path, &body)
            .expect("it answers")
            .good();
        assert_eq!(again, first, "{path}");
        assert_eq!(shop.journal(), kept, "{path} was kept twice");
    }
}

#[test]
fn a_repeated_change_is_known_after_a_restart() {
    let (shop, daemon) = served();
    let first = enter(&daemon.api, "k1", "chamber/1", "64.2 cc");
    daemon.kill();
    let daemon = shop.program.serve(&[]);
    assert_eq!(enter(&daemon.api, "k1", "chamber/1", "64.2 cc"), first);
    assert_eq!(shop.values_at("chamber/1"), [64.2]);
}

#[test]
fn a_watcher_is_told_first_whether_it_missed_anything_and_then_catches_up() {
    let (_shop, daemon) = served();
    let api = &daemon.api;
    let mut events = api.events(None);
    let caught = events.next_event().expect("an event");
    assert_eq!(
        (&caught["event"], &caught["missed"]),
        (&"caught".into(), &false.into())
    );

    let is_reading = |event: &Value| event["event"] == "reading";
    let first = enter(api, "k1", "chamber/1", "64.2 cc");
    let seen = events.wait("the first reading", is_reading);
    assert_eq!(seen["reading"]["id"], first["id"]);
    let last = seen["id"].as_u64().expect("a number");
    drop(events);

    // While nobody watched:
    let mut missed = Vec::new();
    for n in 2..=5 {
        let (key, spot) = (format!("k{n}"), format!("chamber/{n}"));
        missed.push(enter(api, &key, &spot, "64.2 cc")["id"].clone());
    }
    let mut events = api.events(Some(last));
    let caught = events.next_event().expect("an event");
    assert_eq!(
        (&caught["event"], &caught["missed"]),
        (&"caught".into(), &false.into())
    );
    let mut before = last;
    for id in missed {
        let event = events.wait("a missed reading", is_reading);
        assert_eq!(event["reading"]["id"], id);
        let number = event["id"].as_u64().expect("a number");
        assert!(number > before, "in order");
        before = number;
    }

    // A number of a daemon that ran before: what it missed cannot be told.
    let mut events = api.events(Some(before + 1000));
    let caught = events.next_event().expect("an event");
    assert_eq!(
        (&caught["event"], &caught["missed"]),
        (&"caught".into(), &true.into())
    );
}

#[test]
fn a_watcher_is_told_that_the_daemon_stops() {
    let (shop, daemon) = served();
    let mut events = daemon.api.events(None);
    shop.program.json(&["stop"]);
    events.wait("the end", |event| event["event"] == "stopping");
    assert_eq!(events.next_event(), None);
    assert_eq!(daemon.end().code, 0);
}
