//! A free spot is measured hands-free by a route that nobody wrote, typed, imported, moved and
//! voided like any other spot, and stands in the report with its verdicts.

#![cfg(unix)]

use benchhand_tests::driven_station::DrivenStation;
use benchhand_tests::shop::Shop;
use benchhand_tests::signals::Hand;
use serde_json::Value;

/// An invented engine of two cylinders, with an invented spring height of 1.790 to 1.810 in.
const ENGINE: &str = "name = \"invented twin\"\ninvented = true\nunits = \"inch\"\ncylinders = 2\n\
    [free.spring_height]\ntitle = \"Spring height\"\nunit = \"in\"\nat = [\"intake\", \"exhaust\"]\n\
    least = \"1.790 in\"\nmost = \"1.810 in\"\nspread = \"0.010 in\"\n";

/// What the dial shows with its plunger hanging, and on its zero face, mm.
const HANGS: f64 = 3.0;
const FACE: f64 = 10.0;

fn shop() -> Shop {
    let shop = Shop::new();
    let engine = shop.file("twin.toml", ENGINE);
    shop.program.json(&["job", "new", "v8", &engine]);
    shop
}

/// The verdicts on single free spots, as spot and answer.
fn judged(report: &Value) -> Vec<(String, String)> {
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let all = report["verdicts"].as_array().expect("verdicts").iter();
    let single = all.filter(|one| one["about"] == "free");
    single
        .map(|one| (text(&one["spot"]), text(&one["answer"])))
        .collect()
}

#[test]
fn a_dial_measures_them_by_a_route_that_nobody_wrote() {
    let shop = shop();
    let station = DrivenStation::new();
    let dial = station.plug_in("dial");
    let daemon = station.serve(&shop.program);
    let mut set = vec!["gauge", "set", "dial", "--profile", "ascii-length"];
    set.extend(["--port", dial.path(), "--u", "0.005 mm"]);
    daemon.program.json(&set);
    daemon.api.wait_for_port("dial");
    dial.play(
        &Hand::at_dial(1)
            .from(HANGS)
            .rest(2.0)
            .show(FACE)
            .rest(4.0)
            .stream(),
    );
    daemon
        .program
        .json(&["gauge", "zero", "dial", "--job", "v8"]);
    let mut measuring =
        daemon
            .program
            .start(&["measure", "v8", "spring_height", "--by", "AB", "--json"]);
    measuring.wait("the route runs", |event| {
        event["progress"]["running"] == true
    });
    // Cylinder by cylinder: intake, exhaust. The last one is too high.
    for (seed, inches) in (2..).zip([1.800, 1.801, 1.799, 1.815]) {
        let shown = FACE + 25.4 * inches;
        let hand = Hand::at_dial(seed).from(HANGS).rest(1.0);
        dial.play(&hand.show(shown).rest(5.0).stream());
    }
    let state = daemon.api.get("state").good();
    let asked = &state["routes"][0]["asked"]["text"];
    assert!(asked.is_null(), "nothing is asked: {asked}");
    drop(measuring);
    for (spot, inches) in [
        ("free/spring_height/1/intake", 1.800),
        ("free/spring_height/1/exhaust", 1.801),
        ("free/spring_height/2/intake", 1.799),
        ("free/spring_height/2/exhaust", 1.815),
    ] {
        let values = shop.values_at(spot);
        assert_eq!(values.len(), 1, "{spot}: {values:?}");
        assert!(
            (values[0] / 25.4 - inches).abs() < 0.0002,
            "{spot}: {values:?}"
        );
    }
    let by = shop
        .readings()
        .into_iter()
        .map(|reading| reading["by"].clone());
    assert!(by.eq(["AB"; 4]), "who measured stands with each reading");
    let report = daemon.program.json(&["report", "v8"]);
    let place = |at: &str| {
        let mut all = report["free"].as_array().expect("free spots").iter();
        all.find(|one| one["at"] == at).expect("the place").clone()
    };
    let intake = place("intake")["mean"]["value"].as_f64().expect("a mean");
    assert!((intake - 1.7995).abs() < 0.0002, "{intake}");
    let outside: Vec<(String, String)> = judged(&report)
        .into_iter()
        .filter(|(_, answer)| answer == "outside")
        .collect();
    assert_eq!(
        outside,
        [(
            "free/spring_height/2/exhaust".to_owned(),
            "outside".to_owned()
        )]
    );
}

#[test]
fn they_are_typed_imported_moved_and_voided_like_any_other() {
    let shop = shop();
    let say = |args: &[&str]| shop.program.json(args);
    let typed = say(&["enter", "v8", "free/spring_height/1/intake", "1.803 in"]);
    assert_eq!(typed["spot"], "free/spring_height/1/intake");
    let by_name = [
        "enter",
        "v8",
        "spring_height",
        "1",
        "exhaust",
        "1.804",
        "in",
    ];
    let by_name = say(&by_name);
    assert_eq!(by_name["spot"], "free/spring_height/1/exhaust");
    let csv = "spot,value,unit\nfree/spring_height/2/intake,45.75,mm\n";
    say(&["import", "v8", &shop.file("more.csv", csv)]);
    assert_eq!(shop.values_at("free/spring_height/2/intake"), [45.75]);
    let id = by_name["number"].to_string();
    say(&["move", "v8", &id, "free/spring_height/2/exhaust"]);
    assert_eq!(shop.values_at("free/spring_height/2/exhaust"), [1.804]);
    let first = typed["number"].to_string();
    say(&["void", "v8", &first, "--reason", "the wrong spring"]);
    assert!(shop.values_at("free/spring_height/1/intake").is_empty());
    let refused = shop
        .program
        .run(&["enter", "v8", "free/spring_hight/1/intake", "1.8 in"]);
    assert!(refused.code != 0);
    assert!(
        refused.err.contains("did you mean spring_height?"),
        "{}",
        refused.err
    );
    let other = shop
        .program
        .run(&["enter", "v8", "free/spring_height/1/intake", "1.8 cc"]);
    assert!(other.code != 0, "{}", other.out);
}
