//! Two heads change their banks: what was measured of them goes along, all of it or nothing.

use benchhand_tests::program::Program;
use benchhand_tests::shop::Shop;
use serde_json::Value;

const SIX: &str = "name = \"Invented six\"\ninvented = true\nunits = \"inch\"\ncylinders = 6\nbanks = { left = [1, 3, 5], right = [2, 4, 6] }\nbore = \"3.71 in\"\nstroke = \"3.33 in\"\n\n[card.heads]\nleft = \"L7\" # stamped at the front\nright = \"R9\"\n";

fn job(shop: &Shop) -> &Program {
    let engine = shop.file("six.toml", SIX);
    shop.program.json(&["job", "new", "v8", &engine]);
    let csv = "spot,value,unit\nchamber/1,51.1,cc\nchamber/3,51.3,cc\nchamber/5,51.5,cc\nchamber/2,52.2,cc\ndeck/1,0.010,in\nvalve/6/intake,1.94,in\n";
    let csv = shop.file("readings.csv", csv);
    shop.program.json(&["import", "v8", &csv]);
    &shop.program
}

/// The live readings' spots with their values.
fn spots(shop: &Shop) -> Vec<(String, f64)> {
    let mut all: Vec<(String, f64)> = shop
        .readings()
        .iter()
        .map(|one| {
            let spot = one["spot"].as_str().expect("a spot").to_owned();
            (spot, one["figure"]["value"].as_f64().expect("a value"))
        })
        .collect();
    all.sort_by(|a, b| a.0.cmp(&b.0));
    all
}

fn expect(found: &[(String, f64)], wanted: &[(&str, f64)]) {
    let found: Vec<(&str, f64)> = found.iter().map(|(s, v)| (s.as_str(), *v)).collect();
    assert_eq!(found, wanted);
}

#[test]
fn chambers_and_ports_go_with_the_heads_and_decks_stay() {
    let shop = Shop::new();
    let program = job(&shop);
    let answer = program.json(&["job", "exchange-heads", "v8", "left", "right", "--by", "AB"]);
    assert_eq!(answer["readings"], 5, "{answer}");
    // Turned end for end: the front chamber of the left head is the rear one on the right.
    expect(
        &spots(&shop),
        &[
            ("chamber/2", 51.5),
            ("chamber/4", 51.3),
            ("chamber/5", 52.2),
            ("chamber/6", 51.1),
            ("deck/1", 0.010),
            ("valve/1/intake", 1.94),
        ],
    );
    let shown = program.json(&["job", "show", "v8"]);
    assert_eq!(shown["card"]["heads"]["left"], "R9");
    assert_eq!(shown["card"]["heads"]["right"], "L7");
    let note = shown["readings"][0]["note"].as_str().expect("a note");
    assert!(note.contains("moved from chamber/1 by AB"), "{note}");
    assert!(note.contains("left and right were exchanged"), "{note}");
    let text = std::fs::read_to_string(shop.job().join("engine.toml")).expect("the engine file");
    assert!(text.contains("# stamped at the front"), "{text}");
    // Back again, and everything is where it was.
    program.json(&["job", "exchange-heads", "v8", "left", "right"]);
    let there = spots(&shop);
    assert_eq!(there[0], ("chamber/1".to_owned(), 51.1));
    let verified = program.json(&["job", "verify", "v8"]);
    assert_eq!(verified["broken"], Value::Null);
}

/// A spring's height is the head's where the engine file says so; a main bearing's bore stays.
#[test]
fn a_free_spot_of_the_head_goes_along() {
    let shop = Shop::new();
    let free = "\n[free.spring_height]\nunit = \"in\"\npart = \"head\"\nmost = \"1.81 in\"\n\
        [free.ring_gap]\nunit = \"in\"\n";
    let engine = shop.file("six.toml", &format!("{SIX}{free}"));
    shop.program.json(&["job", "new", "v8", &engine]);
    for spot in ["free/spring_height/1", "free/ring_gap/1"] {
        shop.program
            .json(&["enter", "v8", spot, "1.800 in", "--sure"]);
    }
    shop.program
        .json(&["job", "exchange-heads", "v8", "left", "right"]);
    expect(
        &spots(&shop),
        &[("free/ring_gap/1", 1.8), ("free/spring_height/6", 1.8)],
    );
}

#[test]
fn front_stays_front_where_that_is_said_and_a_wrong_bank_changes_nothing() {
    let shop = Shop::new();
    let program = job(&shop);
    let before = shop.journal();
    for wrong in [["left", "left"], ["left", "middle"]] {
        let refused = program.run(&["job", "exchange-heads", "v8", wrong[0], wrong[1]]);
        assert_ne!(refused.code, 0);
        assert!(refused.err.contains("left, right"), "{}", refused.err);
    }
    assert_eq!(shop.journal(), before);
    program.json(&[
        "job",
        "exchange-heads",
        "v8",
        "left",
        "right",
        "--not-turned",
    ]);
    let there = spots(&shop);
    assert!(there.contains(&("chamber/2".to_owned(), 51.1)), "{there:?}");
    assert!(there.contains(&("chamber/1".to_owned(), 52.2)), "{there:?}");
}
