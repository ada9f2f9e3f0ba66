//! Gauges that are checked live, with no key touched: against blocks, on a balance, against another
//! gauge; and used live afterwards.

#![cfg(unix)]

use benchhand_tests::driven_station::{DrivenGauge, DrivenStation};
use benchhand_tests::program::Daemon;
use benchhand_tests::shop::Shop;
use benchhand_tests::signals::Hand;
use serde_json::Value;

/// Volume in cc at 20 degC of a borosilicate burette for each gram of water at 20 degC in air of
/// 1013.25 hPa, 20 degC and 50 %RH (`gravimetric_volume.csv`; at 20 degC glass adds nothing).
const CC_PER_GRAM: f64 = 1.002_851_186_48;

#[track_caller]
fn near(found: &Value, expected: f64, within: f64) {
    let value = found
        .as_f64()
        .unwrap_or_else(|| panic!("no number: {found}"));
    assert!(
        (value - expected).abs() <= within,
        "found {value}, expected {expected}"
    );
}

fn gauge<'a>(list: &'a Value, name: &str) -> &'a Value {
    let gauges = list["gauges"].as_array().expect("gauges");
    let named = |g: &&Value| g["setup"]["name"] == name;
    gauges.iter().find(named).expect("it is in the register")
}

/// A shop with two gauges on ports, of these profiles, each with more of `gauge set`.
fn two_gauges(each: [(&str, &str, &[&str]); 2]) -> (Shop, DrivenStation, Daemon, [DrivenGauge; 2]) {
    let shop = Shop::with_job();
    let station = DrivenStation::new();
    let gauges = each.map(|(name, ..)| station.plug_in(name));
    let daemon = station.serve(&shop.program);
    for ((name, profile, more), gauge) in each.iter().zip(&gauges) {
        let mut set = vec![
            "gauge",
            "set",
            name,
            "--profile",
            profile,
            "--port",
            gauge.path(),
        ];
        set.extend(*more);
        daemon.program.json(&set);
        daemon.api.wait_for_port(name);
    }
    (shop, station, daemon, gauges)
}

/// Both gauges do something at the same time.
fn both(station: &DrivenStation, gauges: &[DrivenGauge; 2], hands: [Hand; 2]) {
    let [one, other] = hands.map(Hand::stream);
    station.play(&[(&gauges[0], one), (&gauges[1], other)]);
    // Until neither flickers, so that both are seen to rest: a manometer is judged over five seconds.
    station.pass(6.0);
}

/// A burette that shows 1 % too much, four deliveries onto a balance, no key touched.
#[test]
fn a_burette_is_checked_live_on_a_balance() {
    let (_shop, on_time, daemon, gauges) = two_gauges([
        (
            "burette",
            "ascii-volume",
            &["--capacity", "100 cc", "--resolution", "0.01 cc"],
        ),
        (
            "balance",
            "ascii-mass",
            &["--u", "0.02 g", "--resolution", "0.001 g"],
        ),
    ]);
    both(
        &on_time,
        &gauges,
        [Hand::at_burette(1).rest(4.0), Hand::at_balance(2).rest(4.0)],
    );
    let mut check = vec![
        "gauge", "check", "burette", "--job", "v8", "--with", "balance",
    ];
    check.extend([
        "--points",
        "4",
        "--by-water",
        "20 degC",
        "--glass",
        "borosilicate",
    ]);
    check.extend(["--air", "1013.25 hPa, 20 degC, 50 %RH", "--allow", "0.5 cc"]);
    let mut checking = daemon.program.start(&check);
    let (mut shown, mut grams) = (0.4, 0.0);
    for (number, cc) in [5.0, 15.0, 25.0, 35.0].into_iter().enumerate() {
        let asked = checking.line().expect("it says what to do");
        assert!(
            asked.contains(&format!("{} of 4: deliver some", number + 1)),
            "{asked}"
        );
        let hands = [
            Hand::at_burette(7).from(shown),
            Hand::at_balance(8).from(grams),
        ];
        shown += cc * 1.01;
        grams += cc / CC_PER_GRAM;
        let [burette, balance] = hands;
        let poured = burette.go_to(shown, 8.0).rest(8.0);
        both(
            &on_time,
            &gauges,
            [poured, balance.go_to(grams, 8.0).rest(8.0)],
        );
        checking.line().expect("it says what was taken");
    }
    let ran = checking.end().good();
    assert!(ran.out.contains("what was delivered"), "{}", ran.out);
    let list = daemon.program.json(&["gauge", "list"]);
    let burette = gauge(&list, "burette");
    near(&burette["check"]["scale"], 1.0 / 1.01 - 1.0, 1e-3);
    assert!(
        burette["setup"]["calibrated"]
            .as_str()
            .unwrap()
            .contains("water by balance")
    );
    // The balance's 0.02 g are in it.
    let u = burette["setup"]["u"].as_str().expect("known");
    let u: f64 = u.trim_end_matches(" cc").parse().expect("cc");
    assert!((0.02..0.06).contains(&u), "{u}");
}

/// Two manometers on one hose; the other one was calibrated and has a correction of its own.
#[test]
fn a_manometer_is_checked_live_against_another_with_its_correction() {
    let (shop, on_time, daemon, gauges) = two_gauges([
        ("bench", "ascii-pressure", &["--resolution", "0.1 Pa"]),
        ("good", "ascii-pressure", &["--resolution", "0.1 Pa"]),
    ]);
    let file = shop.file(
        "good.csv",
        "master,shown\n1000 Pa,1002 Pa\n5000 Pa,5002 Pa\n",
    );
    let mut known = vec!["gauge", "check", "good", "--job", "v8", "--against", &file];
    known.extend(["--u", "0.5 Pa", "--allow", "5 Pa"]);
    daemon.program.json(&known);

    both(
        &on_time,
        &gauges,
        [
            Hand::at_manometer(1).rest(4.0),
            Hand::at_manometer(2).from(2.0).rest(4.0),
        ],
    );
    let mut check = vec!["gauge", "check", "bench", "--job", "v8", "--with", "good"];
    check.extend(["--points", "4", "--allow", "100 Pa"]);
    let mut checking = daemon.program.start(&check);
    let (mut stood, mut good) = (0.0, 2.0);
    for (number, truth) in [0.0, 2000.0, 4000.0, 6000.0].into_iter().enumerate() {
        let asked = checking.line().expect("it says what to do");
        assert!(asked.contains(&format!("{} of 4", number + 1)), "{asked}");
        if number > 0 {
            let hands = [
                Hand::at_manometer(3).from(stood),
                Hand::at_manometer(4).from(good),
            ];
            (stood, good) = (truth * 1.005, truth + 2.0);
            let [station, other] = hands;
            let (to, rest) = (4000.0, 8.0);
            both(
                &on_time,
                &gauges,
                [
                    station.go_to(stood, to).rest(rest),
                    other.go_to(good, to).rest(rest),
                ],
            );
        }
        checking.line().expect("it says what was taken");
    }
    let ran = checking.end().good();
    assert!(ran.out.contains("what it shows"), "{}", ran.out);
    let list = daemon.program.json(&["gauge", "list"]);
    near(
        &gauge(&list, "bench")["check"]["scale"],
        1.0 / 1.005 - 1.0,
        1e-4,
    );
}

/// A manometer with its hoses open shows 12.5 Pa and wavers by twenty counts. Nothing is moved: it
/// stands where it is to be checked.
#[test]
fn a_manometer_that_wavers_is_checked_at_zero_as_it_stands() {
    let shop = Shop::with_job();
    let on_time = DrivenStation::new();
    let bench = on_time.plug_in("bench");
    let daemon = on_time.serve(&shop.program);
    let mut set = vec!["gauge", "set", "bench", "--profile", "ascii-pressure"];
    set.extend(["--port", bench.path()]);
    daemon.program.json(&set);
    daemon.api.wait_for_port("bench");
    let open = Hand::at_manometer(1).from(12.5).wavering(2.0);
    bench.play(&open.rest(12.0).stream());

    let mut check = vec!["gauge", "check", "bench", "--job", "v8"];
    check.extend(["--masters", "0 Pa", "--u", "0.1 Pa", "--allow", "20 Pa"]);
    let mut checking = daemon.program.start(&check);
    checking.line().expect("it says what to do");
    let taken = checking.line().expect("it says what was taken");
    assert!(taken.contains("samples that scatter by"), "{taken}");
    let ran = checking.end().good();
    assert!(ran.out.contains("scatter"), "{}", ran.out);
    let list = daemon.program.json(&["gauge", "list"]);
    let correction = gauge(&list, "bench")["check"]["correction"].clone();
    assert!(correction.to_string().contains("-12."), "{correction}");

    // The plate is read from the same gauge, with what the check found taken off.
    let flow = Hand::at_manometer(2).from(12.5).wavering(2.0);
    bench.play(&flow.go_to(7012.5, 4000.0).rest(8.0).stream());
    let plate = |test: [&str; 2]| {
        let mut plate = vec!["flow-bench", "plate", "v8", "--flow", "240 cfm"];
        plate.extend(["--at", "7000 Pa", "--metering", "2000 Pa", "--allow", "9"]);
        plate.extend(test);
        let found = daemon.program.json(&plate);
        found["flow"]["value"].as_f64().expect("a flow")
    };
    let (heard, typed) = (plate(["--gauge", "bench"]), plate(["--test", "7000 Pa"]));
    assert!((heard / typed - 1.0).abs() < 2e-4, "{heard} for {typed}");
}

/// A depth gauge that shows 1 % too little of its travel, checked live over three blocks with no
/// key touched, and used live afterwards.
#[test]
fn a_depth_gauge_is_checked_live_against_blocks_and_reads_right_afterwards() {
    let shop = Shop::with_job();
    let on_time = DrivenStation::new();
    let dial = on_time.plug_in("dial");
    let daemon = on_time.serve(&shop.program);
    let program = &daemon.program;
    let mut set = vec![
        "gauge",
        "set",
        "dial",
        "--profile",
        "ascii-length",
        "--port",
        dial.path(),
    ];
    set.extend(["--resolution", "0.001 mm", "--sense", "-1"]);
    program.json(&set);
    daemon.api.wait_for_port("dial");
    dial.play(&Hand::at_dial(1).go_to(2.0, 4.0).rest(4.0).stream());
    on_time.pass(2.0);
    program.json(&["gauge", "zero", "dial", "--job", "v8", "--u", "0.002 mm"]);

    let mut check = vec![
        "gauge",
        "check",
        "dial",
        "--job",
        "v8",
        "--masters",
        "5mm,10mm,15mm",
    ];
    check.extend(["--u", "0.002 mm", "--allow", "0.2 mm"]);
    let mut checking = program.start(&check);
    // Pushed in the number falls: sense -1.
    let mut stands = 2.0;
    for block in [5.0, 10.0, 15.0] {
        let asked = checking.line().expect("it says what to do");
        assert!(asked.contains(&format!("put it on {block}mm")), "{asked}");
        let shows = 2.0 - 0.99 * block;
        let hand = Hand::at_dial(block as u64).from(stands);
        stands = shows;
        dial.play(&hand.go_to(shows, 4.0).rest(8.0).stream());
        on_time.pass(2.0);
        checking.line().expect("it says what was taken");
    }
    let ran = checking.end().good();
    assert!(
        ran.out
            .contains("what the plunger is pushed in from its zero"),
        "{}",
        ran.out
    );
    let list = program.json(&["gauge", "list"]);
    near(
        &gauge(&list, "dial")["check"]["scale"],
        1.0 / 0.99 - 1.0,
        2e-4,
    );

    // Taken off the last block it hangs free.
    let hangs = Hand::at_dial(6).from(stands).go_to(6.0, 8.0);
    stands = 6.0;
    dial.play(&hangs.rest(2.0).stream());

    // A piston 0.5 mm below the deck: the plunger goes out by 0.495 as the gauge has it.
    let mut measure = vec![
        "measure",
        "v8",
        "deck-sides",
        "--json",
        "--gauge",
        "length=dial",
    ];
    measure.extend(["--cylinders", "1"]);
    let mut measuring = program.start(&measure);
    measuring.wait("the route runs", |event| {
        event["progress"]["running"] == true
    });
    program.json(&["steer", "v8", "go", "deck/1/thrust"]);
    let below = Hand::at_dial(7)
        .from(stands)
        .rest(3.0)
        .go_to(2.495, 4.0)
        .rest(6.0);
    dial.play(&below.stream());
    let taken = measuring.wait("the reading", |event| event["event"] == "reading");
    near(&taken["reading"]["figure"]["value"], 0.5, 0.002);
    let journal = String::from_utf8(shop.journal()).expect("text");
    assert!(
        journal.contains("\"raw\":2.49"),
        "what the gauge showed stays"
    );
}
