//! Workbooks as a spreadsheet finds them that shows a file without calculating, and as paper does.

use std::io::{Cursor, Read as _};

use benchhand_blueprint::{Engine, Report, ReportInputs, readings, report};
use benchhand_wire::{Figure, ShownReading};
use benchhand_workbook::{WorkbookContent, workbook};

const ENGINE: &str = include_str!("../../../examples/invented-v8.toml");
const READINGS: &str = include_str!("../../../examples/invented-v8-readings.csv");

fn report_of(engine: &str, csv: &str) -> Report {
    let engine = Engine::from_toml(engine).unwrap_or_else(|faults| panic!("{faults}"));
    let readings = readings::from_csv(csv, &engine).unwrap_or_else(|faults| panic!("{faults}"));
    let inputs = ReportInputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage: None,
    };
    report(&inputs).unwrap_or_else(|error| panic!("{error}"))
}

/// The parts of a workbook, by their names.
struct Book(zip::ZipArchive<Cursor<Vec<u8>>>);

impl Book {
    fn of(report: &Report, readings: &[ShownReading]) -> Book {
        let content = WorkbookContent {
            job: "number-12",
            report,
            kept: Some("2026-03-02T09:14:00Z"),
            readings,
        };
        let bytes = workbook(&content).expect("a workbook");
        Book(zip::ZipArchive::new(Cursor::new(bytes)).expect("a zip"))
    }

    fn part(&mut self, name: &str) -> String {
        let mut text = String::new();
        let mut file = self.0.by_name(name).expect(name);
        file.read_to_string(&mut text).expect("text");
        text
    }

    fn sheet(&mut self, number: u32) -> String {
        self.part(&format!("xl/worksheets/sheet{number}.xml"))
    }

    /// What a cell shows: the text, or the number as it stands in the file.
    fn shown(&mut self, sheet: u32, cell: &str) -> String {
        let sheet = self.sheet(sheet);
        let Some((_, rest)) = sheet.split_once(&format!("<c r=\"{cell}\"")) else {
            return String::new();
        };
        let (cell, _) = rest.split_once("</c>").unwrap_or((rest, ""));
        if cell.split('>').next().is_some_and(|tag| tag.ends_with('/')) {
            return String::new();
        }
        let value = between(cell, "<v>", "</v>").to_owned();
        match cell.contains("t=\"s\"") {
            true => self.string(value.parse().expect("its place")),
            false => value,
        }
    }

    fn string(&mut self, place: usize) -> String {
        let all = self.part("xl/sharedStrings.xml");
        let one = all.split("<si>").nth(place + 1).expect("a text");
        let text = between(one, "<t", "</t>");
        text.split_once('>').expect("its tag").1.to_owned()
    }
}

fn between<'a>(text: &'a str, from: &str, to: &str) -> &'a str {
    let rest = text.split_once(from).map_or("", |(_, rest)| rest);
    rest.split_once(to).map_or("", |(inside, _)| inside)
}

/// The columns' letters.
fn column(at: usize) -> char {
    char::from(b'A' + u8::try_from(at).expect("few columns"))
}

#[test]
fn what_is_not_known_is_empty_and_not_nothing() {
    // Cylinder 3 has no deck.
    let kept = READINGS.lines().filter(|line| !line.starts_with("deck/3"));
    let report = report_of(ENGINE, &kept.collect::<Vec<_>>().join("\n"));
    let row = 1 + report
        .cylinders
        .iter()
        .position(|one| one.cylinder == 3)
        .expect("cylinder 3");
    let mut book = Book::of(&report, &[]);
    for letter in ["L", "M", "N", "Q"] {
        let cell = format!("{letter}{}", 8 + row);
        assert_eq!(book.shown(1, &cell), "", "{cell}");
        assert_ne!(book.shown(1, &format!("{letter}{}", 9 + row)), "");
    }
    let average: f64 = book.shown(1, "N17").parse().expect("the average");
    let mean = report.summary.compression_mean.expect("seven cylinders");
    assert_eq!(average, mean.value);

    // No deck at all: neither a ratio nor an average of ratios, and no bars.
    let kept = READINGS.lines().filter(|line| !line.starts_with("deck"));
    let bare = report_of(ENGINE, &kept.collect::<Vec<_>>().join("\n"));
    let mut book = Book::of(&bare, &[]);
    for cell in ["E17", "E18", "N9", "N16", "N17", "N18", "Q9"] {
        assert_eq!(book.shown(1, cell), "", "{cell}");
    }
    assert_ne!(book.shown(1, "D17"), "");
    let ratios = book
        .0
        .file_names()
        .any(|name| name.is_ok_and(|name| name.contains("chart2")));
    assert!(!ratios, "a chart of ratios that are not known");
}

#[test]
fn a_long_title_is_wrapped_over_its_table_and_the_bars_tell_the_cylinders_apart() {
    let card = "\n[card]\ncustomer = \"A customer invented for the length of the name, of the harbour\"\n\
                order = \"2026-118/b\"\nblock = \"B 16-2 with a long mark\"\nmeasured_by = \"AB\"\n";
    let report = report_of(&format!("{ENGINE}{card}"), READINGS);
    let mut book = Book::of(&report, &[]);
    assert!(book.shown(1, "A1").contains("A customer invented for"));
    for (number, last) in [(1, 'Q'), (2, 'G')] {
        let sheet = book.sheet(number);
        assert!(
            sheet.contains(&format!("<mergeCell ref=\"A1:{last}1\"/>")),
            "{sheet}"
        );
        let title = between(&sheet, "<row r=\"1\"", ">");
        let height = between(title, "ht=\"", "\"")
            .parse::<f64>()
            .expect("a height");
        assert!(height > 30.0, "{height}: one line for a long title");
        // Text that runs beyond the table would make all of it smaller on paper.
        let mut at = 1;
        while let Some((_, rest)) = sheet.split_once(&format!("<row r=\"{at}\"")) {
            let first = between(rest, "<c ", "</c>");
            if first.contains(&format!("r=\"A{at}\"")) {
                let long = book.shown(number, &format!("A{at}")).chars().count() > 40;
                let merged = sheet.contains(&format!("<mergeCell ref=\"A{at}:{last}{at}\"/>"));
                assert!(!long || merged, "row {at} of sheet {number}");
            }
            at += 1;
            if at > 60 {
                break;
            }
        }
    }
    let mut charts = (1..=2).map(|chart| book.part(&format!("xl/charts/chart{chart}.xml")));
    let bars = charts
        .find(|chart| chart.contains("barChart"))
        .expect("bars");
    let from: f64 = between(&bars, "<c:min val=\"", "\"")
        .parse()
        .expect("a least");
    let ratios = report.cylinders.iter();
    let ratios = ratios.map(|one| one.compression.as_ref().expect("known").value);
    let low = ratios.fold(f64::INFINITY, f64::min);
    assert!(from > low - 1.0 && from < low - 0.2, "{from} for {low}");
}

#[test]
fn the_curves_say_their_units_and_stand_below_the_table() {
    let report = report_of(ENGINE, READINGS);
    let mut book = Book::of(&report, &[]);
    let charts: Vec<String> = (1..=2)
        .map(|chart| book.part(&format!("xl/charts/chart{chart}.xml")))
        .collect();
    let curves = charts.iter().find(|one| one.contains("scatterChart"));
    let curves = curves.expect("curves");
    for name in ["Lift, in", "Flow, cfm"] {
        assert!(curves.contains(&format!("<a:t>{name}</a:t>")), "{name}");
    }
    let sheet = book.sheet(3);
    let height = between(&sheet, "<row r=\"4\"", ">");
    let height: f64 = between(height, "ht=\"", "\"").parse().expect("a height");
    assert!(height >= 60.0, "{height}: headings of four lines");
    let from = between(
        &book.part("xl/drawings/drawing2.xml"),
        "<xdr:row>",
        "</xdr:row>",
    )
    .parse::<usize>()
    .expect("a row");
    assert!(from > 4 + report.flow.len(), "{from}");
}

#[test]
fn each_part_of_a_reading_has_a_column_and_lifts_are_in_the_engines_unit() {
    let report = report_of(ENGINE, READINGS);
    let figure = |value: f64, unit: &str| Figure {
        value,
        u: None,
        unit: unit.to_owned(),
    };
    let reading = |id: u64, spot: &str, value: Figure| ShownReading {
        id,
        number: id,
        station: String::new(),
        spot: spot.to_owned(),
        stage: "as received".to_owned(),
        state: "final".to_owned(),
        figure: value,
        raw: None,
        gauge: None,
        source: "captured".to_owned(),
        round: 1,
        at: "2026-03-02T09:14:00Z".to_owned(),
        n: None,
        sd: None,
        window_s: None,
        parts: Vec::new(),
        told: None,
        told_parts: Vec::new(),
        by: None,
        note: String::new(),
    };
    let mut pressures = reading(1, "flow/2/intake/2.54mm", figure(28.1, "inH2O"));
    pressures.parts = vec![("metering".to_owned(), figure(6.6, "inH2O"))];
    let mut shown = reading(2, "flow/2/intake/5.08mm", figure(27.9, "inH2O"));
    shown.parts = vec![("flow".to_owned(), figure(126.0, "cfm"))];
    let chamber = reading(3, "chamber/1", figure(64.1, "cc"));
    let mut book = Book::of(&report, &[pressures, shown, chamber]);
    let row = |book: &mut Book, number: usize| -> Vec<String> {
        let cells = (0..9).map(|at| format!("{}{number}", column(at)));
        cells.map(|cell| book.shown(4, &cell)).collect()
    };
    assert_eq!(
        row(&mut book, 1)[3..7],
        ["Value", "Unit", "Metering, inH2O", "Flow, cfm"]
    );
    let told = row(&mut book, 2);
    assert_eq!(told[1], "flow 2 intake 0.100 in");
    assert_eq!(told[3..8], ["28.1", "inH2O", "6.6", "", "final"]);
    let told = row(&mut book, 3);
    assert_eq!(told[3..8], ["27.9", "inH2O", "", "126", "final"]);
    assert_eq!(row(&mut book, 4)[3..7], ["64.1", "cc", "", ""]);
}

#[test]
fn flow_without_a_reference_depression_is_told_as_it_was_measured() {
    let engine = "name = \"Invented single\"\ninvented = true\nunits = \"metric\"\ncylinders = 1\n\
                  bore = \"86.0 mm\"\nstroke = \"85.7 mm\"\n";
    let csv =
        "spot,value,unit\nflow/1/intake/2mm/test,713.8,mmH2O\nflow/1/intake/2mm/flow,900,L/min\n";
    let report = report_of(engine, csv);
    let mut book = Book::of(&report, &[]);
    let title = book.shown(3, "A1");
    assert!(title.contains("as measured"), "{title}");
    let how = book.shown(3, "A2");
    assert!(how.contains("No reference depression is stated"), "{how}");
    let headings: Vec<String> = (0..9)
        .map(|at| book.shown(3, &format!("{}4", column(at))))
        .collect();
    let at = |name: &str| {
        let found = headings.iter().position(|one| one == name);
        column(found.unwrap_or_else(|| panic!("no {name} among {headings:?}")))
    };
    let (flow, test) = (
        at("Flow at the test pressure, L/min"),
        at("Test pressure, mmH2O"),
    );
    assert_eq!(book.shown(3, &format!("{flow}5")), "900");
    let told: f64 = book
        .shown(3, &format!("{test}5"))
        .parse()
        .expect("a number");
    assert!((told - 713.8).abs() < 1e-6, "{told}");
    assert!(
        !headings.iter().any(|one| one.contains("reference")),
        "{headings:?}"
    );
}
