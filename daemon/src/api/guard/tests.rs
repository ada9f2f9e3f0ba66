//! Which requests are let in and which are not.

use std::time::Instant;

use axum::body::Body;

use super::*;

fn door(guest: Guest) -> Door {
    Door {
        credentials: (guest == Guest::Page).then(|| Credentials::of_token("abc").unwrap()),
        address: "127.0.0.1:4711".parse().unwrap(),
        passes: Arc::default(),
        guest,
    }
}

fn refused_at(door: &Door, method: Method, path: &str, headers: &[(&str, &str)]) -> bool {
    let mut request = Request::builder().uri(path).method(method);
    for (name, value) in headers {
        request = request.header(*name, *value);
    }
    door.admits(&request.body(Body::empty()).unwrap()).is_err()
}

fn refused(headers: &[(&str, &str)]) -> bool {
    refused_at(&door(Guest::Page), Method::GET, "/v1/hello", headers)
}

/// The cookie of a page or device that was let in.
fn let_in(door: &Door) -> String {
    let code = door.passes.code(door.guest, Instant::now()).unwrap();
    let pass = door
        .passes
        .redeem(&code, door.guest, Instant::now())
        .unwrap();
    format!("other=1; {}={pass}", door.cookie())
}

#[test]
fn the_right_token_and_host_are_let_in() {
    assert!(!refused(&[
        ("host", "127.0.0.1:4711"),
        ("authorization", "Bearer abc")
    ]));
    assert!(!refused(&[
        ("host", "localhost:4711"),
        ("origin", "http://localhost:4711"),
        ("authorization", "Bearer abc"),
    ]));
}

#[test]
fn a_wrong_or_absent_token_a_foreign_host_and_a_foreign_page_are_not() {
    assert!(refused(&[("host", "127.0.0.1:4711")]));
    assert!(refused(&[
        ("host", "127.0.0.1:4711"),
        ("authorization", "Bearer abd")
    ]));
    assert!(refused(&[
        ("host", "evil.example:4711"),
        ("authorization", "Bearer abc")
    ]));
    assert!(refused(&[
        ("host", "127.0.0.1:4711"),
        ("origin", "http://evil.example"),
        ("authorization", "Bearer abc"),
    ]));
}

#[test]
fn a_page_with_its_cookie_may_ask_and_change() {
    let door = door(Guest::Page);
    let cookie = let_in(&door);
    let own = [
        ("host", "127.0.0.1:4711"),
        ("cookie", cookie.as_str()),
        ("origin", "http://127.0.0.1:4711"),
        ("sec-fetch-site", "same-origin"),
    ];
    assert!(!refused_at(&door, Method::POST, "/v1/routes/control", &own));
    let question = [own[0], own[1], own[3]];
    assert!(!refused_at(&door, Method::GET, "/v1/state", &question));
}

#[test]
fn another_page_of_this_machine_cannot_use_the_cookie() {
    let door = door(Guest::Page);
    let cookie = let_in(&door);
    let host = ("host", "127.0.0.1:4711");
    let cookie = ("cookie", cookie.as_str());
    // Another port is another origin, although the browser calls it the same site.
    let foreign = ("origin", "http://127.0.0.1:9000");
    assert!(refused_at(
        &door,
        Method::POST,
        "/v1/routes/control",
        &[host, cookie, foreign]
    ));
    let same_site = ("sec-fetch-site", "same-site");
    assert!(refused_at(
        &door,
        Method::GET,
        "/v1/state",
        &[host, cookie, same_site]
    ));
    // A change that names no origin.
    assert!(refused_at(
        &door,
        Method::POST,
        "/v1/routes/control",
        &[host, cookie]
    ));
    let other_name = ("origin", "http://localhost:4711");
    assert!(refused_at(
        &door,
        Method::POST,
        "/v1/routes/control",
        &[host, cookie, other_name]
    ));
}

#[test]
fn a_paired_device_may_work_the_board_and_nothing_else() {
    let door = door(Guest::Paired);
    let cookie = let_in(&door);
    let from = [
        ("host", "192.168.7.20:4711"),
        ("origin", "http://192.168.7.20:4711"),
        ("cookie", cookie.as_str()),
    ];
    assert!(!refused_at(
        &door,
        Method::POST,
        "/v1/routes/control",
        &from
    ));
    // The trace of a page that is opened in mid-route.
    let minute = "/v1/gauges/minute";
    assert!(!refused_at(&door, Method::GET, minute, &from));
    for path in [
        "/v1/gauges/set",
        "/v1/board/open",
        "/v1/stop",
        "/v1/jobs/cut",
        "/v1/jobs/correct-cut",
    ] {
        assert!(refused_at(&door, Method::POST, path, &from), "{path}");
    }
    let by_name = [("host", "shop.example:4711"), from[2]];
    assert!(
        refused_at(&door, Method::GET, "/v1/state", &by_name),
        "a name may be anyone's"
    );
    let with_token = [from[0], ("authorization", "Bearer abc")];
    assert!(refused_at(&door, Method::GET, "/v1/state", &with_token));
}
