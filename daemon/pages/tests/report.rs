//! The report's page: the figures are the document's own, and names are text.

use benchhand_blueprint::{Engine, Report, ReportInputs, readings, report};
use benchhand_pages::{PageFrame, PageSection};
use benchhand_words::ShortReport;
use benchhand_words::chart::all_of_report;

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

fn page(report: &Report, job: &str) -> String {
    let frame = PageFrame {
        title: format!("Report of {job}"),
        section: PageSection::Report,
        job: Some(job.to_owned()),
        told: None,
        at_the_machine: true,
    };
    let short = ShortReport::new(report, job, Some("2026-03-02T10:14:00Z"));
    let charts = all_of_report(report, None);
    let stages = (report.stage.as_str(), report.stages.as_slice());
    benchhand_pages::report(&frame, &short, stages, &charts).expect("a page")
}

/// The rows of the table with this id, each with the text of its cells.
fn rows(html: &str, id: &str) -> Vec<Vec<String>> {
    let from = html
        .find(&format!("<table id=\"{id}\""))
        .expect("the table");
    let table = &html[from..];
    let body = table.split("<tbody>").nth(1).expect("a body");
    let body = body.split("</tbody>").next().expect("its end");
    let row = |row: &str| -> Vec<String> {
        let cells = row.split("</td>").flat_map(|part| part.split("</th>"));
        cells.map(text).filter(|cell| !cell.is_empty()).collect()
    };
    body.split("</tr>")
        .map(row)
        .filter(|row| !row.is_empty())
        .collect()
}

/// What a person reads of HTML.
fn text(html: &str) -> String {
    let mut out = String::new();
    let mut tag = false;
    for letter in html.chars() {
        match letter {
            '<' => tag = true,
            '>' => tag = false,
            other if !tag => out.push(other),
            _ => {}
        }
    }
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_page_shows_the_figures_of_the_document() {
    let report = report_of(ENGINE, READINGS);
    let html = page(&report, "v8");
    let cylinders = rows(&html, "cylinders");
    assert_eq!(cylinders.len(), report.cylinders.len());
    for (row, one) in cylinders.iter().zip(&report.cylinders) {
        assert_eq!(row[0], one.cylinder.to_string());
        let chamber = one.chamber.as_ref().expect("measured").value;
        assert_eq!(row[1], format!("{chamber:.2}"), "{row:?}");
        let compression = one.compression.as_ref().expect("known").value;
        let shown: f64 = row[6].trim_end_matches('?').parse().expect("a number");
        assert!((shown - compression).abs() <= 0.005 + 1e-9, "{row:?}");
    }
    let averages = rows(&html, "averages");
    let mean = report
        .summary
        .compression_mean
        .as_ref()
        .expect("known")
        .value;
    let row = averages
        .iter()
        .find(|row| row[0] == "Compression")
        .expect("a row");
    let shown: f64 = row[2]
        .split(' ')
        .next()
        .expect("a number")
        .parse()
        .expect("a number");
    assert!((shown - mean).abs() <= 0.0005 + 1e-9, "{row:?}");
    // The verdict is told by a sign and in words, not by colour alone.
    assert!(
        averages[0].iter().any(|cell| cell == "✕ NOT OK"),
        "{averages:?}"
    );
}

#[test]
fn each_figure_opens_what_it_rests_on_and_next_leads_to_where_it_is_done() {
    let html = page(&report_of(ENGINE, READINGS), "v8");
    for way in [
        "/jobs/v8/readings?spot=chamber%2F6",
        "/jobs/v8/readings?spot=deck%2F3",
        "/jobs/v8/readings?cylinder=6",
        "/jobs/v8/readings?spot=chamber\"",
    ] {
        let way = way.replace('&', "&#38;");
        assert!(html.contains(&format!("href=\"{way}")), "{way} in {html}");
    }
    let next = html.split("class=\"next\"").nth(1).expect("the next step");
    let next = next.split("</section>").next().expect("its end");
    assert!(text(next).contains("NEXT Measure deck 3 again"), "{next}");
    assert!(next.contains("/jobs/v8/begin/deck?cylinders=3"), "{next}");
    assert!(
        next.contains("/jobs/v8/decide/chambers?equal=allowed"),
        "{next}"
    );
    assert!(next.contains("Compression becomes"), "{next}");
}

#[test]
fn markup_in_names_is_text_in_the_page_and_in_its_charts() {
    let mut report = report_of(ENGINE, READINGS);
    let wild = "<script>alert(\"1\")</script><img src=x onerror=alert(2)>";
    report.engine = wild.to_owned();
    report.stage = wild.to_owned();
    report.stages = vec![wild.to_owned(), "other".to_owned()];
    report.cautions.push(wild.to_owned());
    report.findings[0].text = wild.to_owned();
    let html = page(&report, wild);
    assert!(
        !html.contains("<script>alert") && !html.contains("<img"),
        "{html}"
    );
    assert!(
        !html.contains("style="),
        "the policy forbids styles in the page"
    );
}

#[test]
fn engines_of_any_size_have_a_row_and_a_mark_for_each_cylinder() {
    for cylinders in [1_u32, 2, 4, 6, 12, 16] {
        let all: Vec<String> = (1..=cylinders).map(|number| number.to_string()).collect();
        let engine = format!(
            "name = \"Invented {cylinders}\"\ninvented = true\nunits = \"metric\"\n\
             cylinders = {cylinders}\nbanks = [[{}]]\nbore = \"86.3 mm\"\nstroke = \"71.9 mm\"\n",
            all.join(", ")
        );
        let mut csv = "spot,value,unit\n".to_owned();
        for number in 1..=cylinders {
            let value = 41.2 + 0.03 * f64::from(number);
            csv += &format!("chamber/{number},{value:.2},cc\n");
        }
        let html = page(&report_of(&engine, &csv), "sizes");
        let shown = rows(&html, "cylinders");
        assert_eq!(shown.len(), cylinders as usize);
        for (row, number) in shown.iter().zip(1..=cylinders) {
            let value = 41.2 + 0.03 * f64::from(number);
            assert_eq!(row[..2], [number.to_string(), format!("{value:.2}")]);
        }
    }
}
