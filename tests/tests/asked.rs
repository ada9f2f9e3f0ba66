//! Questions as the report and a builder who comes back find them.

#![cfg(unix)]

use benchhand_tests::driven_station::{DrivenGauge, DrivenStation};
use benchhand_tests::program::{Daemon, RunningProgram};
use benchhand_tests::shop::{Shop, cylinder};
use benchhand_tests::signals::Hand;
use serde_json::Value;

/// A shop with a burette of known direction.
fn evening() -> (Shop, DrivenStation, DrivenGauge, Daemon) {
    let shop = Shop::with_job();
    let on_time = DrivenStation::new();
    let burette = on_time.plug_in("burette");
    let daemon = on_time.serve(&shop.program);
    let mut set = vec!["gauge", "set", "burette", "--profile", "ascii-volume"];
    set.extend(["--port", burette.path(), "--capacity", "100 cc"]);
    set.extend(["--counts", "up"]);
    daemon.program.json(&set);
    daemon.api.wait_for_port("burette");
    (shop, on_time, burette, daemon)
}

fn measure(shop: &Shop) -> RunningProgram {
    let mut running = shop.program.start(&["measure", "v8", "chambers", "--json"]);
    running.wait("the route runs", |e| e["progress"]["running"] == true);
    running
}

/// What is asked next, in words.
#[track_caller]
fn question(running: &mut RunningProgram) -> String {
    let event = running.wait("a question", |e| e["progress"]["asked"].is_object());
    event["progress"]["asked"]["text"]
        .as_str()
        .expect("text")
        .to_owned()
}

/// The findings of a kind, as `(spot, text)`.
fn found(shop: &Shop, kind: &str) -> Vec<(String, String)> {
    let report = shop.program.json(&["report", "v8"]);
    let all = report["findings"].as_array().expect("findings").iter();
    let text = |v: &Value| v.as_str().expect("text").to_owned();
    all.filter(|f| f["kind"] == kind)
        .map(|f| (text(&f["spot"]), text(&f["text"])))
        .collect()
}

#[test]
fn the_report_names_what_is_asked_what_was_kept_after_it_and_what_was_typed() {
    let (shop, on_time, burette, daemon) = evening();
    let mut measuring = measure(&shop);
    burette.play(&Hand::at_burette(1).pour(90.05).stream());
    on_time.pass(20.0);
    let asked = question(&mut measuring);
    assert!(asked.starts_with("chamber 1: 90.0"), "{asked}");

    let open = found(&shop, "open");
    assert_eq!(open.len(), 1, "{open:?}");
    assert_eq!(open[0].0, "chamber/1");
    assert!(open[0].1.starts_with("asked: 90.0"), "{open:?}");
    assert!(
        !open[0].1.contains("again"),
        "the answers are the route's: {open:?}"
    );
    assert_eq!(found(&shop, "kept"), []);
    let told = shop.program.run(&["report", "v8", "--full"]).good().out;
    let heading = "Waiting for an answer, not counted\n  * chamber/1: asked:";
    assert!(told.contains(heading), "{told}");

    daemon.program.json(&["steer", "v8", "keep"]);
    daemon.program.json(&["steer", "v8", "90.2"]);
    let kept = found(&shop, "kept");
    assert_eq!(kept.len(), 1, "{kept:?}");
    assert_eq!(kept[0].0, "chamber/1");
    assert!(kept[0].1.contains("expected about 64"), "{kept:?}");
    assert_eq!(found(&shop, "open"), []);
    assert_eq!(
        found(&shop, "typed"),
        [(
            "chamber/3".into(),
            "typed, not captured from a gauge".into()
        )]
    );
    let told = shop.program.run(&["report", "v8", "--full"]).good().out;
    assert!(
        told.contains("Kept after a question\n  * chamber/1: 90.0"),
        "{told}"
    );
    assert!(told.contains("Typed\n  * chamber/3: typed"), "{told}");
}

#[test]
fn a_question_that_outlives_its_daemon_stays_in_the_report() {
    let (shop, on_time, burette, daemon) = evening();
    let mut measuring = measure(&shop);
    burette.play(&Hand::at_burette(1).pour(90.05).refill().rest(4.0).stream());
    on_time.pass(20.0);
    question(&mut measuring);
    daemon.kill();
    let open = found(&shop, "open");
    assert_eq!(open.len(), 1, "{open:?}");
    assert!(open[0].1.starts_with("asked: 90.0"), "{open:?}");
}

#[test]
fn a_pour_that_the_daemon_did_not_see_whole_is_asked_about_with_its_levels() {
    let (shop, on_time, burette, daemon) = evening();
    let measuring = measure(&shop);
    burette.play(&Hand::at_burette(1).rest(4.0).go_to(25.0, 8.0).stream());
    daemon.kill();
    burette.let_go();
    let ran = measuring.end();
    assert_eq!(ran.code, 14);
    assert!(
        ran.err
            .contains("every reading that was taken until then is kept"),
        "{}",
        ran.err
    );
    let how = "start it with `benchhand serve`, then `benchhand measure v8 chambers`";
    assert!(ran.err.contains(how), "{}", ran.err);

    let daemon = on_time.serve(&shop.program);
    daemon.api.wait_for_port("burette");
    let mut measuring = measure(&shop);
    let rest = Hand::at_burette(2).from(25.0).rest(4.0);
    burette.play(&rest.go_to(64.4, 8.0).rest(8.0).stream());
    on_time.pass(40.0);
    let asked = question(&mut measuring);
    assert!(asked.contains("(from 25.0"), "{asked}");
    assert!(asked.contains(" to 64.4"), "{asked}");
    assert!(asked.contains("while nobody listened"), "{asked}");
}

#[test]
fn a_chamber_that_was_typed_or_imported_says_what_nobody_stated_of_its_set_up() {
    let shop = Shop::with_job();
    let rows = shop.file("rows.csv", "spot,value,unit\nchamber/1,64.10,cc\n");
    shop.program.json(&["import", "v8", &rows]);
    shop.program.json(&["enter", "v8", "chamber/3", "64.2cc"]);
    let unsaid = found(&shop, "unchecked");
    for spot in ["chamber/1", "chamber/3"] {
        let of = unsaid.iter().filter(|(at, _)| at == spot);
        let of: Vec<&str> = of.map(|(_, text)| text.as_str()).collect();
        assert_eq!(of.len(), 2, "{unsaid:?}");
        assert!(of[0].contains("whether the valves and plugs"), "{of:?}");
        assert!(of[1].contains("fill hole"), "{of:?}");
    }
    let names = ["valves-and-plugs", "fill-hole/volume"];
    assert_eq!(lacking_of_chambers(&shop, &names), names);
    // What it says to type is understood, and ends it.
    let (_, how) = unsaid[0].1.split_once("benchhand ").expect("a command");
    let how: Vec<&str> = how.split(' ').collect();
    shop.program.run(&how).good();
    let unsaid = found(&shop, "unchecked");
    assert!(
        unsaid.iter().all(|(_, text)| text.contains("fill hole")),
        "{unsaid:?}"
    );
    assert_eq!(unsaid.len(), 2);
    assert_eq!(lacking_of_chambers(&shop, &names), names[1..]);
    let (_, how) = unsaid[0].1.split_once("benchhand ").expect("a command");
    let how = how.replace("VOLUME", "0.3cc");
    let how: Vec<&str> = how.split(' ').collect();
    shop.program.run(&how).good();
    assert_eq!(found(&shop, "unchecked"), []);
    assert_eq!(lacking_of_chambers(&shop, &names), [""; 0]);
}

/// Which of these names the typed chamber lacks; the line of what the ± leaves out has them once.
#[track_caller]
fn lacking_of_chambers<'a>(shop: &Shop, names: &[&'a str]) -> Vec<&'a str> {
    let report = shop.program.json(&["report", "v8"]);
    let told = shop.program.run(&["report", "v8", "--full"]).good().out;
    // The lines of one sentence end at a blank one.
    let said = told.split_once("The ± of the cylinders' figures");
    let line = said.and_then(|(_, rest)| rest.split("\n\n").next());
    let line = line.unwrap_or_default();
    let of = |name: &&&str| {
        let lacking = &cylinder(&report, 3)["chamber"]["lacking"];
        let lacks = lacking.to_string().contains(**name);
        assert_eq!(line.matches(**name).count(), usize::from(lacks), "{told}");
        lacks
    };
    names.iter().filter(of).copied().collect()
}
