//! An engine with its readings, of which sheets are made.

#![allow(dead_code, reason = "each test uses a part of it")]

use benchhand_blueprint::answers::{
    AnswerDocument, ChambersAsked, DomeAsked, MillAsked, Question, answer,
};
use benchhand_blueprint::decide::MadeEqual;
use benchhand_blueprint::{Engine, Report, ReportInputs, readings, report};
use benchhand_sheets::{GaugeUsed, SheetFacts, ShopShown};
use benchhand_wire::{OrderShown, SheetNote};
use benchhand_words::sheet::figures_in;

pub const ENGINE: &str = include_str!("../../../../examples/invented-v8.toml");
pub const READINGS: &str = include_str!("../../../../examples/invented-v8-readings.csv");

/// An engine with its readings, and what is asked of them.
pub struct Made {
    pub engine: Engine,
    pub readings: Vec<benchhand_blueprint::Reading>,
    pub report: Report,
    pub shop: ShopShown,
    pub gauges: Vec<GaugeUsed>,
    pub orders: Vec<OrderShown>,
    pub note: SheetNote,
}

impl Made {
    pub fn new(engine: &str, csv: &str) -> Made {
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
    pub fn of_size(cylinders: u32) -> Made {
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

    pub fn facts(&self) -> SheetFacts<'_> {
        SheetFacts {
            report: &self.report,
            before: None,
            flow_changes: &[],
            engine: &self.engine,
            shop: &self.shop,
            gauges: &self.gauges,
            orders: &self.orders,
            note: &self.note,
            kept: Some("2026-03-02T09:14:00Z"),
        }
    }

    pub fn answer(&self, question: &Question) -> AnswerDocument {
        let inputs = inputs(&self.engine, &self.readings);
        answer(&inputs, None, question).unwrap_or_else(|error| panic!("{error:?}"))
    }

    pub fn work(&self, opened: Option<MadeEqual>) -> (AnswerDocument, AnswerDocument) {
        let chambers = self.answer(&Question::Chambers(ChambersAsked { equal: opened }));
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
    pub fn sheets(&self) -> Vec<(&'static str, String)> {
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

pub fn inputs<'a>(
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
pub fn figure(html: &str, name: &str) -> String {
    let all = figures_in(html);
    let found = all.iter().find(|one| one.name == name);
    found
        .unwrap_or_else(|| panic!("no figure {name:?} among {all:?}"))
        .text
        .clone()
}

/// The first number in a text.
#[track_caller]
pub fn number(text: &str) -> f64 {
    let found = text.split(' ').find_map(|word| word.parse().ok());
    found.unwrap_or_else(|| panic!("no number in {text:?}"))
}
