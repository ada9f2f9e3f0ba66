//! What a person types at a route's stops, takes back, exchanges, and is asked about.

use std::sync::Arc;

use benchhand_drivers::timebase::RealTime;
use benchhand_wire::Refusal;
use serde_json::{Value, json};

use crate::clock::SystemClock;
use crate::live::SerialOpener;
use crate::serve::Works;

pub(super) const ENGINE: &str = include_str!("../../../../examples/invented-v8.toml");

/// A shop with a burette and a manometer that are read by eye, and a job.
pub(super) struct Shop {
    folder: tempfile::TempDir,
    works: Option<Works>,
    asked: u32,
}

impl Shop {
    pub(super) fn new() -> Shop {
        Shop::of(ENGINE)
    }

    pub(super) fn of(engine: &str) -> Shop {
        let mut shop = Shop {
            folder: tempfile::tempdir().unwrap(),
            works: None,
            asked: 0,
        };
        shop.starts();
        for (name, profile) in [
            ("glass", "ascii-volume"),
            ("column", "modbus-pressure-pair"),
        ] {
            let setup = json!({"name": name, "profile": profile});
            shop.ask("gauges/set", json!({ "setup": setup })).unwrap();
        }
        let new = json!({"name": "v8", "engine": engine, "file": "engine.toml"});
        shop.ask("jobs/new", new).unwrap();
        shop
    }

    /// The daemon starts, as after a power cut.
    pub(super) fn starts(&mut self) {
        if let Some(works) = self.works.take() {
            works.stop_blocking();
        }
        let opener = Arc::new(SerialOpener::new(Arc::new(RealTime::new())));
        let clock = Arc::new(SystemClock::new());
        self.works = Some(Works::start(self.folder.path(), clock, opener).unwrap());
    }

    pub(super) fn ask(&mut self, path: &str, body: Value) -> Result<Value, Refusal> {
        self.asked += 1;
        let key = self.asked.to_string();
        let works = self.works.as_ref().expect("it runs");
        works.desk.dispatch(path, body, Some(&key))
    }

    pub(super) fn route(&mut self, more: Value) -> Value {
        let mut body = json!({"job": "v8"});
        let fields = more.as_object().unwrap().clone();
        body.as_object_mut().unwrap().extend(fields);
        self.ask("routes/start", body).unwrap()
    }

    pub(super) fn control(&mut self, control: Value) -> Result<Value, Refusal> {
        let mut body = json!({"job": "v8"});
        let fields = control.as_object().unwrap().clone();
        body.as_object_mut().unwrap().extend(fields);
        self.ask("routes/control", body)
    }

    pub(super) fn types(&mut self, value: &str) -> Value {
        self.control(json!({"control": "type", "value": value}))
            .unwrap()
    }
}

impl Drop for Shop {
    fn drop(&mut self) {
        if let Some(works) = self.works.take() {
            works.stop_blocking();
        }
    }
}

/// The stops as they are shown: spot, round, value.
pub(super) fn shown(progress: &Value) -> Vec<String> {
    let one = |stop: &Value| {
        let text = |key: &str| stop[key].as_str().unwrap_or_default().to_owned();
        format!("{} {} {}", text("spot"), stop["round"], text("shown"))
    };
    progress["stops"]
        .as_array()
        .unwrap()
        .iter()
        .map(one)
        .collect()
}

#[test]
fn a_typo_that_is_taken_back_takes_its_third_round_with_it() {
    let mut shop = Shop::new();
    shop.route(json!({"route": "chambers", "cylinders": [1], "rounds": 2}));
    shop.types("64.10 cc");
    let typo = shop.types("65.10 cc");
    assert_eq!(shown(&typo).len(), 3, "a third round is asked for: {typo}");
    let which = shop.control(json!({"control": "again"})).unwrap();
    assert_eq!(which["asked"]["about"], "which_again", "{which}");
    let back = shop.control(json!({"control": "again"})).unwrap();
    assert_eq!(shown(&back), ["chamber/1 1 64.10 cc", "chamber/1 2 "]);
    // Taken back by mistake: the third round is asked for again.
    let restored = shop.control(json!({"control": "undo"})).unwrap();
    assert_eq!(shown(&restored).len(), 3, "{restored}");
    for _ in 0..2 {
        shop.control(json!({"control": "again"})).unwrap();
    }
    let right = shop.types("64.12 cc");
    assert_eq!(
        shown(&right),
        ["chamber/1 1 64.10 cc", "chamber/1 2 64.12 cc"]
    );
    assert_eq!(right["done"], true, "{right}");
}

#[test]
fn two_readings_that_are_exchanged_keep_both_their_stops() {
    let mut shop = Shop::new();
    shop.route(json!({"route": "chambers", "cylinders": [1, 3, 5], "rounds": 1}));
    shop.types("64.10 cc");
    shop.types("64.40 cc");
    for (number, to) in [(1, "chamber/3"), (2, "chamber/1")] {
        let moved = json!({"job": "v8", "number": number, "to": to, "reason": "exchanged"});
        shop.ask("readings/move", moved).unwrap();
    }
    let now = shop.ask("jobs/show", json!({"job": "v8"})).unwrap()["route"].clone();
    let expected = [
        "chamber/1 1 64.40 cc",
        "chamber/3 1 64.10 cc",
        "chamber/5 1 ",
    ];
    assert_eq!(shown(&now), expected);
    assert_eq!(now["at"], 2, "the third chamber is next");
}

/// What an earlier route took at the same spot is another round: the stop waits for its own.
#[test]
fn a_repeat_that_is_voided_is_asked_for_again() {
    let mut shop = Shop::new();
    let chambers = json!({"route": "chambers", "cylinders": [1, 3], "rounds": 1});
    shop.route(chambers.clone());
    for value in ["64.10 cc", "64.40 cc"] {
        shop.types(value);
    }
    let mut anew = chambers;
    anew["afresh"] = json!(true);
    shop.route(anew);
    shop.types("64.12 cc");
    let void = json!({"job": "v8", "number": 3, "reason": "a bubble"});
    shop.ask("readings/void", void).unwrap();
    let now = shop.ask("jobs/show", json!({"job": "v8"})).unwrap()["route"].clone();
    assert_eq!(shown(&now), ["chamber/1 2 ", "chamber/3 2 "]);
}

#[test]
fn a_question_says_its_reason_also_after_the_daemon_was_started_anew() {
    let mut shop = Shop::new();
    shop.route(json!({"route": "chambers"}));
    for value in ["64.40 cc", "64.50 cc", "64.60 cc"] {
        shop.types(value);
    }
    // Two digits exchanged: 64.5.
    let asked = shop.types("65.4 cc");
    assert_eq!(asked["asked"]["about"], "slip", "{asked}");
    shop.starts();
    let again = shop.route(json!({"route": "chambers"}));
    let text = again["asked"]["text"].as_str().unwrap_or_default();
    assert!(text.contains("64.5 cc meant"), "{again}");
    let kept = shop.control(json!({"control": "keep"})).unwrap();
    assert_eq!(kept["stops"][3]["shown"], "65.4 cc", "{kept}");
}

#[test]
fn a_flow_read_by_eye_is_typed_with_both_its_values() {
    let mut shop = Shop::new();
    let lift = json!({"lift": ["0.300in"]});
    shop.route(json!({"route": "flow", "cylinders": [1, 3], "lists": lift}));
    let one = shop.control(json!({"control": "type", "value": "28 inH2O"}));
    let refused = one.unwrap_err().to_string();
    assert!(refused.contains("28 inH2O and 4.55 inH2O"), "{refused}");
    let typed = shop.types("28.0 and 6.55 inH2O");
    assert_eq!(typed["stops"][0]["state"], "taken", "{typed}");
    let two = json!({"job": "v8", "spot": "flow/3/intake/0.300in", "value": "28.0 and 6.60 inH2O"});
    shop.ask("readings/enter", two).unwrap();
    let report = shop.ask("jobs/report", json!({"job": "v8"})).unwrap();
    let flows = report["document"]["flow"].as_array().unwrap().clone();
    let flow = |at: usize| flows[at]["flow_at_reference"]["value"].as_f64().unwrap();
    assert!(
        (flow(1) / flow(0) - (6.60f64 / 6.55).sqrt()).abs() < 1e-6,
        "{flows:?}"
    );
}

#[test]
fn a_gauge_named_for_a_kind_that_the_route_does_not_measure_is_refused_with_what_can_be_done() {
    let mut shop = Shop::new();
    let two = json!({"test": "column", "metering": "column"});
    let start = json!({"job": "v8", "route": "flow", "cylinders": [1], "gauges": two});
    let refused = shop.ask("routes/start", start).unwrap_err().to_string();
    assert!(refused.contains("--gauge pressure=NAME"), "{refused}");
    assert!(refused.contains("type both at the stop"), "{refused}");
}

#[test]
fn a_value_of_before_a_cut_is_entered_at_its_stage_and_an_unknown_gauge_is_said() {
    let mut shop = Shop::new();
    let enter = |shop: &mut Shop, more: Value| {
        let mut body = json!({"job": "v8", "spot": "chamber/1", "value": "64.2 cc"});
        let fields = more.as_object().unwrap().clone();
        body.as_object_mut().unwrap().extend(fields);
        shop.ask("readings/enter", body)
    };
    enter(&mut shop, json!({})).unwrap();
    let cut = json!({"job": "v8", "stage": "milled", "what": "0.010 in", "changes": ["chamber"]});
    shop.ask("jobs/cut", cut).unwrap();
    let before = enter(&mut shop, json!({"stage": "as received", "gauge": "glas"})).unwrap();
    assert_eq!(before["stage"], "as received");
    let remark = before["remark"].as_str().unwrap_or_default();
    assert!(
        remark.contains("glas") && remark.contains("is glass meant?"),
        "{before}"
    );
    let unknown = enter(&mut shop, json!({"stage": "as recieved"})).unwrap_err();
    assert!(
        unknown.to_string().contains("as received, milled"),
        "{unknown}"
    );
}

#[test]
fn an_import_names_every_row_that_cannot_be_and_every_gauge_that_nobody_knows() {
    let mut shop = Shop::new();
    let import = |shop: &mut Shop, csv: &str| {
        let body = json!({"job": "v8", "csv": csv, "file": "book.csv"});
        shop.ask("readings/import", body)
    };
    let rows: String = (1..=8)
        .flat_map(|n| ["ported", "milled", "decked"].map(|stage| (n, stage)))
        .map(|(n, stage)| format!("chamber/{n},64.2,cc,glass,{stage}\n"))
        .collect();
    let csv =
        format!("spot,value,unit,gauge,stage\n{rows}flow/1/intake/0.3in/metering,4.5,inH2O,,\n");
    let refused = import(&mut shop, &csv).unwrap_err();
    assert!(refused.found.contains("25 faults"), "{refused}");
    assert_eq!(refused.places.len(), 20);
    assert_eq!((refused.places[0].line, refused.places[19].line), (2, 21));
    let kept = import(
        &mut shop,
        "spot,value,unit,gauge\nchamber/1,64.2,cc,gl4ss\nchamber/2,64.3,cc,glass\n",
    );
    let remark = kept.unwrap()["remark"]
        .as_str()
        .unwrap_or_default()
        .to_owned();
    assert!(
        remark.contains("gl4ss") && !remark.contains("called glass"),
        "{remark}"
    );
}

/// The first row is the slip: the rows behind it tell, and one that is in line is not asked about.
#[test]
fn a_row_whose_digits_changed_places_is_named_beside_the_rows_behind_it() {
    let mut shop = Shop::new();
    let csv = "spot,value,unit\nchamber/1,63.8,cc\nchamber/2,68.1,cc\nchamber/3,68.5,cc\n";
    let body = json!({"job": "v8", "csv": csv, "file": "book.csv"});
    let refused = shop.ask("readings/import", body).unwrap_err();
    assert!(
        refused.found.contains("line 2: chamber 1: 63.8 cc"),
        "{refused}"
    );
    assert!(refused.found.ends_with("68.3 cc meant?"), "{refused}");
    // Typed one by one, the first one is doubted once the others disagree.
    for (spot, value) in [("chamber/1", "63.8 cc"), ("chamber/2", "68.1 cc")] {
        let enter = json!({"job": "v8", "spot": spot, "value": value});
        shop.ask("readings/enter", enter).unwrap();
    }
    let enter = json!({"job": "v8", "spot": "chamber/3", "value": "68.4 cc"});
    let kept = shop.ask("readings/enter", enter).unwrap();
    let remark = kept["remark"].as_str().unwrap_or_default();
    assert!(remark.contains("chamber 1 was 63.8 cc"), "{remark}");
}

/// 64 cc of water weigh about 63.9 g.
#[test]
fn a_chamber_is_typed_as_a_weight_once_its_liquid_is_known() {
    let mut shop = Shop::new();
    let enter = |shop: &mut Shop, spot: &str, value: &str| {
        let body = json!({"job": "v8", "spot": spot, "value": value});
        shop.ask("readings/enter", body)
    };
    let refused = enter(&mut shop, "chamber/1", "63.9 g").unwrap_err();
    assert!(refused.todo.contains("liquid water"), "{refused}");
    let water = json!({"job": "v8", "name": "liquid", "value": "water"});
    shop.ask("conditions/set", water).unwrap();
    let kept = enter(&mut shop, "chamber/1", "63.9 g").unwrap();
    assert_eq!((&kept["value"], &kept["unit"]), (&json!(63.9), &json!("g")));
    // What is expected is told in grams, also where the other was poured.
    enter(&mut shop, "chamber/2", "64.2 cc").unwrap();
    let far = enter(&mut shop, "chamber/3", "45.8 g").unwrap_err();
    assert!(
        far.found.contains("expected about 63.9 g as the other"),
        "{far}"
    );
    shop.route(json!({"route": "chambers", "cylinders": [3], "rounds": 1}));
    let typed = shop.types("64.3 g");
    assert_eq!(typed["done"], true, "{typed}");
    let report = shop.ask("jobs/report", json!({"job": "v8"})).unwrap();
    let cylinders = report["document"]["cylinders"].as_array().unwrap();
    let third = cylinders.iter().find(|one| one["cylinder"] == 3).unwrap();
    let volume = third["chamber"]["value"].as_f64().unwrap();
    // 0.0023 cc more a gram than by the density alone: buoyancy and density at 20 degC.
    assert!((volume - 64.3 * 1.0028).abs() < 0.05, "{volume}");
}

/// Whoever types no step has the width of a usual dial allowed, 0.025 mm: 0.000984 in, told as 0.0010.
#[test]
fn a_check_at_what_is_allowed_is_ok() {
    let mut shop = Shop::new();
    let setup = json!({"name": "dial", "profile": "ascii-length"});
    shop.ask("gauges/set", json!({ "setup": setup })).unwrap();
    let zero = json!({"name": "dial", "job": "v8", "raw": "0.100 in"});
    shop.ask("gauges/zero", zero).unwrap();
    for (raw, passed) in [("0.101 in", true), ("0.099 in", true), ("0.102 in", false)] {
        let check = json!({"name": "dial", "job": "v8", "raw": raw});
        let found = shop.ask("gauges/check", check).unwrap();
        assert_eq!(found["passed"], passed, "{found}");
    }
}

#[test]
fn the_seconds_of_a_mean_hold_when_a_route_is_taken_up() {
    let mut shop = Shop::new();
    let lift = json!({"lift": ["0.300in"]});
    let flow = json!({"route": "flow", "cylinders": [1, 3], "lists": lift, "mean_s": 7.0});
    let begun = shop.route(flow);
    shop.types("28.0 and 6.55 inH2O");
    let kept = |shop: &mut Shop| {
        let folder = shop.folder.path().join("jobs/v8");
        let lines = std::fs::read_to_string(folder.join("journal.ndjson")).unwrap();
        let mut routes = lines.lines().rev();
        let started = routes.find(|line| line.contains("\"route_started\""));
        started.unwrap().to_owned()
    };
    assert!(kept(&mut shop).contains("\"mean_s\":7.0"));
    shop.starts();
    let again = shop.route(json!({"route": "flow"}));
    assert_eq!(
        shown(&again).len(),
        shown(&begun).len(),
        "the same stops: {again}"
    );
    assert!(kept(&mut shop).contains("\"mean_s\":7.0"));
}

#[test]
fn whoever_ends_a_route_at_a_question_hears_that_it_has_ended() {
    let mut shop = Shop::new();
    shop.route(json!({"route": "chambers"}));
    shop.types("94.3 cc");
    let ended = shop.control(json!({"control": "end"})).unwrap();
    assert_eq!(ended["running"], false, "{ended}");
    assert_eq!(ended["asked"]["about"], "far_off", "{ended}");
}

/// The plate passes 240 cfm at 8 inH2O: a hundredth of that pressure is a tenth of the flow.
#[test]
fn a_leak_is_told_in_the_unit_of_the_job() {
    let mut shop = Shop::new();
    let leak = json!({"job": "v8", "at": "28 inH2O", "metering": "0.08 inH2O"});
    let found = shop.ask("bench/leak", leak).unwrap();
    assert_eq!(found["flow"]["unit"], "cfm", "{found}");
    let flow = found["flow"]["value"].as_f64().unwrap();
    assert!((flow - 24.0).abs() < 1e-6, "{found}");
}
