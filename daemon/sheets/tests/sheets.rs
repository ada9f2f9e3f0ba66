//! What a sheet prints is what its documents say, for engines of any size, and names are text.

use benchhand_blueprint::answers::{
    Answer, AnswerDocument, ChambersAsked, DomeAsked, MillAsked, Question, answer,
};
use benchhand_blueprint::decide::MadeEqual;
use benchhand_blueprint::{Engine, Report, ReportInputs, readings, report};
use benchhand_sheets::{GaugeUsed, MarkKind, SheetFacts, ShopMark, ShopShown};
use benchhand_wire::{OrderShown, SheetNote};
use benchhand_words::sheet::{figures_in, note_in};

const ENGINE: &str = include_str!("../../../examples/invented-v8.toml");
const READINGS: &str = include_str!("../../../examples/invented-v8-readings.csv");

/// An engine with its readings, and what is asked of them.
struct Made {
    engine: Engine,
    readings: Vec<benchhand_blueprint::Reading>,
    report: Report,
    shop: ShopShown,
    gauges: Vec<GaugeUsed>,
    orders: Vec<OrderShown>,
    note: SheetNote,
}

impl Made {
    fn new(engine: &str, csv: &str) -> Made {
        let engine = Engine::from_toml(engine).unwrap_or_else(|faults| panic!("{faults}"));
        let readings = readings::from_csv(csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
        let report = report(&inputs(&engine, &readings)).unwrap_or_else(|e| panic!("{e}"));
        let note = SheetNote {
            format: 1,
            sheet: "build".to_owned(),
            job: "v8".to_owned(),
            stage: report.stage.clone(),
            questions: Vec::new(),
            entry: 212,
            head: "ab".repeat(32),
            made: "2026-03-02T10:14:00Z".to_owned(),
            journals: Vec::new(),
        };
        Made {
            engine,
            readings,
            report,
            shop: ShopShown::default(),
            gauges: Vec::new(),
            orders: Vec::new(),
            note,
        }
    }

    /// An invented engine of so many cylinders, measured once.
    fn of_size(cylinders: u32) -> Made {
        let all: Vec<String> = (1..=cylinders).map(|number| number.to_string()).collect();
        let engine = format!(
            "name = \"Invented {cylinders}\"\ninvented = true\nunits = \"metric\"\n\
             cylinders = {cylinders}\nbanks = [[{}]]\nbore = \"86.3 mm\"\nstroke = \"71.9 mm\"\n\
             [gasket]\nbore = \"88.1 mm\"\nthickness = \"1.2 mm\"\n\
             [targets]\ncompression = 11.0\n[tolerances]\ncompression_spread = 0.2\n",
            all.join(", ")
        );
        let mut csv = "spot,value,unit\n".to_owned();
        for number in 1..=cylinders {
            let step = f64::from(number % 4) * 0.03;
            csv += &format!("chamber/{number},{:.2},cc\n", 41.2 + step);
            csv += &format!("deck/{number},{:.3},mm\n", 0.35 + 0.1 * step);
            csv += &format!("crown/{number},{:.2},cc\n", -3.1 - step);
        }
        Made::new(&engine, &csv)
    }

    fn facts(&self) -> SheetFacts<'_> {
        SheetFacts {
            report: &self.report,
            before: None,
            engine: &self.engine,
            shop: &self.shop,
            gauges: &self.gauges,
            orders: &self.orders,
            note: &self.note,
            kept: Some("2026-03-02T09:14:00Z"),
        }
    }

    fn answer(&self, question: &Question) -> AnswerDocument {
        let inputs = inputs(&self.engine, &self.readings);
        answer(&inputs, None, question).unwrap_or_else(|error| panic!("{error:?}"))
    }

    fn work(&self, opened: Option<MadeEqual>) -> (AnswerDocument, AnswerDocument) {
        let chambers = self.answer(&Question::Chambers(ChambersAsked::default()));
        let mill = self.answer(&Question::Mill(MillAsked {
            ratio: Some(
                self.report
                    .summary
                    .compression_mean
                    .as_ref()
                    .expect("known")
                    .value
                    + 0.3,
            ),
            area: Some("5500 mm2 +- 20 mm2".to_owned()),
            opened,
            ..MillAsked::default()
        }));
        (chambers, mill)
    }

    /// Every sheet that can be made of it, with its name.
    fn sheets(&self) -> Vec<(&'static str, String)> {
        let facts = self.facts();
        let dome = self.answer(&Question::Dome(DomeAsked {
            ratio: Some(10.8),
            ratio_tolerance: Some(0.1),
        }));
        let mut all = vec![
            ("build", benchhand_sheets::build(&facts)),
            ("flow", benchhand_sheets::flow(&facts)),
            (
                "order",
                benchhand_sheets::order(&facts, &dome).expect("a dome"),
            ),
            ("labels", benchhand_sheets::labels(&facts)),
        ];
        if self.report.cylinders.len() > 1 {
            let (chambers, mill) = self.work(Some(MadeEqual::Chambers));
            let work = benchhand_sheets::work(&facts, Some(&chambers), Some(&mill), "");
            all.push(("work", work));
        }
        all.into_iter()
            .map(|(name, sheet)| (name, sheet.expect("a template")))
            .collect()
    }
}

fn inputs<'a>(
    engine: &'a Engine,
    readings: &'a [benchhand_blueprint::Reading],
) -> ReportInputs<'a> {
    ReportInputs {
        engine,
        readings,
        stages: &[],
        stage: None,
    }
}

/// The text of one figure of a sheet.
#[track_caller]
fn figure(html: &str, name: &str) -> String {
    let all = figures_in(html);
    let found = all.iter().find(|one| one.name == name);
    found
        .unwrap_or_else(|| panic!("no figure {name:?} among {all:?}"))
        .text
        .clone()
}

/// The first number in a text.
#[track_caller]
fn number(text: &str) -> f64 {
    let found = text.split(' ').find_map(|word| word.parse().ok());
    found.unwrap_or_else(|| panic!("no number in {text:?}"))
}

#[test]
fn the_build_sheet_prints_the_figures_of_the_report_for_engines_of_any_size() {
    for made in [
        Made::new(ENGINE, READINGS),
        Made::of_size(1),
        Made::of_size(16),
    ] {
        let html = benchhand_sheets::build(&made.facts()).expect("a sheet");
        for one in &made.report.cylinders {
            let n = one.cylinder;
            let value = |figure: &Option<benchhand_blueprint::Figure>| {
                figure.as_ref().expect("known").value
            };
            let deck = if made.engine.name.contains("litre") {
                4
            } else {
                3
            };
            for (name, wanted) in [
                ("chamber", format!("{:.2}", value(&one.chamber))),
                ("deck", format!("{:.deck$}", value(&one.deck))),
                ("total at TDC", format!("{:.2}", value(&one.clearance))),
                ("compression", format!("{:.2}", value(&one.compression))),
            ] {
                assert_eq!(figure(&html, &format!("{name} {n}")), wanted, "{name} {n}");
                let sure = number(&figure(&html, &format!("{name} {n} with ±")));
                let printed: f64 = wanted.parse().expect("a number");
                assert!((sure - printed).abs() < 0.06, "{name} {n}: {sure}");
            }
            let crown = value(&one.crown);
            let told = figure(&html, &format!("dome or dish {n}"));
            let shape = if crown < 0.0 { "dish" } else { "dome" };
            assert_eq!(told, format!("{shape} {:.2}", crown.abs()));
        }
        let mean = made
            .report
            .summary
            .compression_mean
            .as_ref()
            .expect("known");
        let told = number(&figure(&html, "average compression"));
        assert!((told - mean.value).abs() < 0.006, "{told}");
        let rows = html.split("id=\"cylinders\"").nth(1).expect("the table");
        let rows = rows.split("</tbody>").next().expect("its end");
        let rows = rows.matches("<tr><th scope=\"row\">").count();
        assert_eq!(rows, made.report.cylinders.len());
    }
}

#[test]
fn the_order_says_the_shape_by_its_word_and_the_tolerance_with_its_unit() {
    let made = Made::new(ENGINE, READINGS);
    let dome = made.answer(&Question::Dome(DomeAsked {
        ratio: Some(10.0),
        ratio_tolerance: Some(0.2),
    }));
    let Answer::Dome(wanted) = &dome.answer else {
        panic!("no dome")
    };
    let html = benchhand_sheets::order(&made.facts(), &dome)
        .expect("a dome")
        .expect("a sheet");
    let shape = if wanted.crown.value < 0.0 {
        "dish"
    } else {
        "dome"
    };
    assert_eq!(figure(&html, "shape"), shape);
    let cc = wanted.crown.value.abs();
    assert_eq!(figure(&html, "dome or dish"), format!("{cc:.2} cc"));
    // 16.387064 cc in a cubic inch (exact, from the inch of 25.4 mm).
    let inches = number(&figure(&html, "dome or dish in cu in"));
    assert!((inches - cc / 16.387_064).abs() < 0.0006, "{inches}");
    let left = wanted.tolerance.as_ref().expect("a tolerance").value;
    assert_eq!(figure(&html, "tolerance"), format!("± {left:.2} cc"));
    assert!(figure(&html, "dome positive").starts_with(['-', '+']));
    for one in &wanted.cylinders {
        let told = number(&figure(&html, &format!("compression {}", one.cylinder)));
        // A compression that is not well known has one decimal.
        assert!((told - one.compression.value).abs() < 0.06, "{told}");
    }
    let height = figure(&html, "Compression height");
    assert!(
        height.starts_with("1.203") && height.ends_with(" in"),
        "{height}"
    );
    // Nobody has stated pockets: there is room to write them.
    assert!(html.contains("Valve pocket, intake"));
    let other = made.answer(&Question::Chambers(ChambersAsked::default()));
    assert!(benchhand_sheets::order(&made.facts(), &other).is_none());
}

#[test]
fn the_work_order_reckons_the_cut_with_the_chambers_opened_first() {
    let made = Made::new(ENGINE, READINGS);
    let (chambers, mill) = made.work(Some(MadeEqual::Chambers));
    let (_, alone) = made.work(None);
    let (Answer::Mill(opened), Answer::Mill(alone)) = (&mill.answer, &alone.answer) else {
        panic!("no cut")
    };
    let Answer::Chambers(work) = &chambers.answer else {
        panic!("no chamber work")
    };
    let facts = made.facts();
    let html = benchhand_sheets::work(&facts, Some(&chambers), Some(&mill), "").expect("a sheet");
    for (head, unopened) in opened.heads.iter().zip(&alone.heads) {
        let told = number(&figure(&html, &format!("cut {}", head.head)));
        assert!((told - head.depth.value).abs() < 6e-5, "{told}");
        // Opened chambers are larger, so more is to be cut for the same compression.
        assert!(head.depth.value > unopened.depth.value, "{}", head.head);
    }
    // A head whose chambers were all opened ends with chambers that are alike.
    for head in &opened.heads {
        for one in &head.cylinders {
            let told = number(&figure(&html, &format!("chamber {} after", one.cylinder)));
            let after = one.chamber.as_ref().expect("known").after.value;
            assert!((told - after).abs() < 0.06, "{told}");
        }
    }
    for one in &work.work {
        let told = figure(&html, &format!("open {}", one.cylinder));
        match (one.cylinder == work.reference, one.worth_it) {
            (true, _) => assert!(told.starts_with("nothing"), "{told}"),
            (false, Some(false)) => assert_eq!(told, "leave it"),
            (false, _) => assert!((number(&told) - one.remove.value).abs() < 0.06, "{told}"),
        }
    }
    let mean = made.report.summary.compression_mean.as_ref();
    let mean = mean.expect("known").value;
    let whole = |state: &str| number(&figure(&html, &format!("Compression, average {state}")));
    assert!((whole("now") - mean).abs() < 0.006 && whole("opened") < whole("now"));
    let only = benchhand_sheets::work(&facts, Some(&chambers), None, "no area is known");
    let only = only.expect("a sheet");
    assert!(only.contains("no area is known") && !only.contains("data-figure=\"cut"));
}

#[test]
fn the_flow_sheet_prints_every_port_at_every_lift() {
    let made = Made::new(ENGINE, READINGS);
    let html = benchhand_sheets::flow(&made.facts()).expect("a sheet");
    assert!(!made.report.flow.is_empty());
    for one in &made.report.flow {
        let flow = one.flow_at_reference.as_ref().expect("known").value;
        let name = match &one.runner {
            Some(runner) => format!("{} {runner}", one.port),
            None => one.port.to_string(),
        };
        let key = format!("{name} {} at {:.3}", one.cylinder, one.lift.value);
        assert_eq!(figure(&html, &key), format!("{flow:.1}"), "{key}");
        for by in &one.coefficients {
            let key = format!("coefficient by {}, {key}", by.by_area);
            let wanted = format!("{:.3}", by.coefficient.value);
            assert_eq!(figure(&html, &key), wanted, "{key}");
        }
    }
}

#[test]
fn every_chamber_has_a_label() {
    for made in [
        Made::new(ENGINE, READINGS),
        Made::of_size(1),
        Made::of_size(16),
    ] {
        let html = benchhand_sheets::labels(&made.facts()).expect("a sheet");
        let labels = html.matches("class=\"label\"").count();
        assert_eq!(labels, made.report.cylinders.len());
        for one in &made.report.cylinders {
            let volume = one.chamber.as_ref().expect("known").value;
            let told = figure(&html, &format!("chamber {}", one.cylinder));
            assert_eq!(told, format!("{volume:.2} cc"));
        }
    }
}

#[test]
fn a_sheet_loads_nothing_and_names_with_markup_stay_text() {
    let evil = "<script>alert(1)</script>\\\" onload=\\\"x";
    let engine = ENGINE.replace("Invented six-litre V8", evil)
        + &format!("\n[card]\ncustomer = \"{evil}\"\norder = \"{evil}\"\nblock = \"{evil}\"\n");
    let mut made = Made::new(&engine, READINGS);
    let evil = evil.replace("\\\"", "\"");
    made.shop = ShopShown {
        name: evil.clone(),
        address: vec![evil.clone()],
        mark: Some(ShopMark {
            kind: MarkKind::Svg,
            bytes: format!("<svg xmlns=\"http://www.w3.org/2000/svg\">{evil}</svg>").into_bytes(),
        }),
    };
    made.gauges = vec![GaugeUsed {
        name: evil.clone(),
        readings: 3,
        checked: evil.clone(),
    }];
    made.note.job = evil.clone();
    for (name, html) in made.sheets() {
        assert!(!html.contains("<script"), "{name}");
        assert!(!html.contains("\" onload=\""), "{name}");
        assert!(html.contains("&#60;script&#62;"), "{name} shows the name");
        assert_eq!(note_in(&html).as_ref(), Some(&made.note), "{name}");
        for part in html
            .split(" src=\"")
            .skip(1)
            .chain(html.split(" href=\"").skip(1))
        {
            assert!(part.starts_with("data:image/"), "{name} loads {part:.40}");
        }
        for outside in ["url(", "@import", "<link", "<iframe", "<object", "<form"] {
            assert!(!html.contains(outside), "{name}: {outside}");
        }
    }
}

#[test]
fn every_sheet_says_what_it_is_traced_to() {
    let mut made = Made::new(ENGINE, READINGS);
    made.gauges = vec![GaugeUsed {
        name: "burette".to_owned(),
        readings: 16,
        checked: "2026-01-12, weighed water".to_owned(),
    }];
    for (name, html) in made.sheets() {
        assert!(html.contains(&made.note.head), "{name}");
        assert!(html.contains("INVENTED"), "{name}");
        assert!(html.contains("2026-01-12, weighed water"), "{name}");
        if name != "labels" {
            assert!(html.contains("class=\"signs\""), "{name} has room to sign");
        }
        for one in figures_in(&html) {
            assert!(!one.text.is_empty(), "{name}: {} is empty", one.name);
        }
    }
}
