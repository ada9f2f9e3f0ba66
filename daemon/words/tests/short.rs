//! The short report: how wide and how long it is, and what it says first.

mod common;

use benchhand_blueprint::Report;
use benchhand_words::ShortReport;
use common::{ENGINE, READINGS, engine, one_round, report_of};

fn short(report: &Report) -> String {
    ShortReport::new(report, "v8", None).text()
}

#[track_caller]
fn assert_narrow(text: &str) {
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "{line:?} in\n{text}");
        assert_eq!(line.trim_end(), line, "blanks at the end in\n{text}");
    }
}

#[test]
fn the_example_fits_into_forty_lines_of_eighty_columns_and_says_the_most_important_first() {
    let text = short(&report_of(ENGINE, READINGS));
    assert_narrow(&text);
    assert!(
        text.lines().count() <= 40,
        "{} lines:\n{text}",
        text.lines().count()
    );
    let at = |words: &str| {
        let found = text.find(words);
        found.unwrap_or_else(|| panic!("no {words:?} in\n{text}"))
    };
    let report = report_of(ENGINE, READINGS);
    let kept = ShortReport::new(&report, "number-12", Some("2026-03-02T09:14:00Z")).text();
    assert!(
        kept.lines().count() <= 40,
        "{} lines of a job:\n{kept}",
        kept.lines().count()
    );
    assert_narrow(&kept);
    // Target and averages, then what to do, then the cylinders, then the doubts.
    let order = [
        "NOT OK",
        "target 10.50",
        "NEXT  Measure deck 3 again",
        "THEN  Chamber 6 sets the size",
        "Cyl  Chamber",
        "! chamber",
        "CHECK THESE",
        "Each ± covers 95 %",
        "CAUTION",
    ];
    let places = order.map(at);
    assert!(places.is_sorted(), "{places:?} in\n{text}");
}

#[test]
fn engines_of_any_size_fit_into_eighty_columns() {
    for cylinders in [1, 2, 4, 6, 8, 12, 16] {
        let text = short(&report_of(&engine(cylinders), &one_round(cylinders)));
        assert_narrow(&text);
        let rows = text.lines().filter(|line| {
            let first = line.split_whitespace().next();
            first.is_some_and(|first| first.parse::<u32>().is_ok())
        });
        assert_eq!(rows.count(), cylinders as usize, "{text}");
    }
}

/// Nothing was stated, neither a ± nor a tolerance: averages, spreads and the next step are there.
#[test]
fn a_builder_who_stated_nothing_gets_averages_spreads_and_a_next_step() {
    let text = short(&report_of(&engine(4), &one_round(4)));
    let chambers = text.lines().find(|line| line.starts_with("Chamber"));
    let chambers = chambers.expect("a row");
    assert_eq!(chambers.matches('±').count(), 2, "{text}");
    assert!(text.contains("NEXT  "), "{text}");
    assert!(text.contains("Not in it: "), "{text}");
}

/// A burette and a dial whose scatter is stated: a spread is judged after one round.
const GAUGES: &str = "[gauges.burette]\nkind = \"burette\"\nresolution = \"0.1 cc\"\n\
    u = \"0.02 cc\"\nrepeatability = \"0.03 cc\"\nrepeatability_dof = 30\n\
    [gauges.dial]\nkind = \"dial\"\nresolution = \"0.001 mm\"\nu = \"0.001 mm\"\n\
    zero_u = \"0.001 mm\"\nrepeatability = \"0.002 mm\"\nrepeatability_dof = 30\n";

/// Rounds of chambers in which the last one is 0.8 cc larger, and of decks `apart` from front to
/// back of the engine.
fn rounds(rounds: usize, apart_mm: f64) -> String {
    let mut rows = "spot,value,unit,gauge\n".to_owned();
    for round in 0..rounds {
        let off = 0.01 * round as f64;
        for number in 1..=4 {
            let larger = if number == 4 { 0.8 } else { 0.0 };
            let chamber = 41.2 + 0.02 * f64::from(number) + larger + off;
            rows += &format!("chamber/{number},{chamber:.2},cc,burette\n");
            let deck = 0.35 + apart_mm * f64::from(number) / 3.0 + 0.1 * off;
            rows += &format!("deck/{number},{deck:.4},mm,dial\n");
            rows += &format!("crown/{number},-3.1,cc,burette\n");
        }
    }
    rows
}

fn stated(tolerances: &str) -> String {
    engine(4) + GAUGES + "[tolerances]\n" + tolerances
}

/// Metal never comes off what was read once; what was read twice and agreed is enough.
#[test]
fn what_was_read_once_is_read_again_before_anything_is_cut() {
    let engine = stated("chamber_spread = \"0.3 cc\"\n");
    let once = short(&report_of(&engine, &rounds(1, 0.0)));
    assert!(once.contains("NOT OK"), "{once}");
    assert!(!once.contains("sets the size"), "{once}");
    assert!(once.contains("NEXT  Measure chamber 4 again"), "{once}");
    let twice = short(&report_of(&engine, &rounds(2, 0.0)));
    assert!(twice.contains("NEXT  Chamber 4 sets the size"), "{twice}");
}

/// What is outside of its limits is never followed by "what is allowed is kept to".
#[test]
fn what_is_not_ok_is_never_passed_over() {
    let engine = stated("deck_spread = \"0.02 mm\"\n");
    let text = short(&report_of(&engine, &rounds(2, 0.3)));
    assert!(text.contains("NOT OK"), "{text}");
    assert!(text.contains("The deck spread is NOT OK"), "{text}");
    assert!(!text.contains("is kept to"), "{text}");
    let within = short(&report_of(
        &stated("deck_spread = \"0.5 mm\"\n"),
        &rounds(2, 0.3),
    ));
    assert!(
        within.contains("what the engine file allows is kept to"),
        "{within}"
    );
    let nothing = short(&report_of(&(engine_with_gauges()), &rounds(2, 0.3)));
    assert!(nothing.contains("nothing was judged"), "{nothing}");
}

fn engine_with_gauges() -> String {
    engine(4) + GAUGES
}

/// A target without a stated tolerance is told with the distance, and is not judged.
#[test]
fn a_target_is_not_judged_by_a_tolerance_that_nobody_stated() {
    let engine = engine_with_gauges() + "[targets]\ncompression = 10.5\n";
    let text = short(&report_of(&engine, &rounds(2, 0.0)));
    let line = text.lines().find(|line| line.contains("target 10.50"));
    let line = line.unwrap_or_else(|| panic!("no target in\n{text}"));
    assert!(
        line.contains("under it") || line.contains("over it"),
        "{line}"
    );
    assert!(!line.contains("OK"), "{line}");
}

/// Each ± of a cylinder covers 95 %: few degrees of freedom widen it.
#[test]
fn a_scatter_of_one_degree_of_freedom_is_no_narrow_plus_minus() {
    let report = report_of(ENGINE, READINGS);
    let deck = report
        .cylinder(3)
        .and_then(|one| one.deck.as_ref())
        .expect("a deck");
    let (u, dof) = (deck.u.expect("known"), deck.dof.expect("few"));
    assert!(dof < 2.0, "{dof}");
    let copied: Report = serde_json::from_value(serde_json::to_value(&report).expect("JSON"))
        .expect("the same report");
    let copied = copied
        .cylinder(3)
        .and_then(|one| one.deck.clone())
        .expect("a deck");
    // Student's t of one degree of freedom: 12.706.
    assert!(copied.expanded_known().expect("known") > 6.0 * u);
}

/// Long names, every part in doubt, nine lifts of two ports.
#[test]
fn the_worst_job_of_eight_cylinders_still_fits() {
    let engine = ENGINE.replace(
        "Invented six-litre V8",
        "Invented six-litre V8 with a name that goes on for longer than any line can hold it",
    );
    let mut csv = READINGS.to_owned();
    for number in 1..=8 {
        let odd = f64::from(number % 3);
        csv += &format!(
            "chamber/{number},{:.1},cc,,burette,as received\n",
            60.0 + 3.0 * odd
        );
        csv += &format!(
            "deck/{number}/front,{:.4},in,,dial,as received\n",
            0.004 + 0.004 * odd
        );
    }
    for lift in 1..=9 {
        for port in ["intake", "exhaust"] {
            let spot = format!("flow/1/{port}/0.{lift}50in");
            csv += &format!("{spot}/test,28.00,inH2O,,manometer,as received\n");
            let metering = 0.5 * f64::from(lift);
            csv += &format!("{spot}/metering,{metering:.2},inH2O,,manometer,as received\n");
        }
    }
    let text = short(&report_of(&engine, &csv));
    assert_narrow(&text);
    assert!(
        text.lines().count() <= 40,
        "{} lines:\n{text}",
        text.lines().count()
    );
}

/// What all cylinders share, such as the calibration of the burette, widens each of them and not the
/// difference between two.
#[test]
fn one_to_another_leaves_out_what_both_share() {
    let widths = |gauges: &str| {
        let engine = engine(4) + gauges;
        let report = report_of(&engine, &rounds(2, 0.0));
        let chamber = report.cylinders[0].chamber.clone().expect("measured");
        let each = chamber.expanded_known().expect("known");
        (
            each,
            report.summary.between_cylinders["chamber"].value,
            report,
        )
    };
    let (each, between, report) = widths(GAUGES);
    let worse = GAUGES.replace("u = \"0.02 cc\"", "u = \"0.4 cc\"");
    let (each_worse, between_worse, _) = widths(&worse);
    assert!(each_worse > 5.0 * each, "{each} {each_worse}");
    assert!(
        (between_worse - between).abs() < 1e-6,
        "{between} {between_worse}"
    );
    let text = short(&report);
    let line = text.lines().find(|line| line.ends_with("one to another"));
    let line = line.unwrap_or_else(|| panic!("no such row in\n{text}"));
    assert!(line.contains(&format!("{between:.2}")), "{line}");
    assert!(
        text.replace('\n', " ")
            .contains("Measured: chambers twice, decks twice"),
        "{text}"
    );
}

/// The first step stands again where the report is longer than the terminal.
#[test]
fn the_first_step_can_be_said_again() {
    let report = report_of(ENGINE, READINGS);
    let short = ShortReport::new(&report, "v8", Some("2026-03-02T10:14:00Z"));
    let again = short.first_step();
    assert!(again.starts_with("NEXT  Measure deck 3 again"), "{again}");
    assert!(short.text().contains(&again), "{}", short.text());
    assert!(
        short.text().contains("2026-03-0"),
        "the moment is told: {}",
        short.text()
    );
}

/// A flow of one cylinder is told with its cylinder, and compression that waits says for what.
#[test]
fn one_port_is_told_and_compression_says_what_it_waits_for() {
    let stated = engine(4) + "[piston]\ncrown = \"-4 cc\"\n";
    let mut csv = one_round(4);
    csv += "flow/3/intake/10mm/test,700,mmH2O\nflow/3/intake/10mm/metering,120,mmH2O\n";
    let text = short(&report_of(&stated, &csv));
    assert!(text.contains("intake, cylinder 3"), "{text}");
    assert!(!text.contains("wait"), "{text}");
    let chambers: String = csv
        .lines()
        .filter(|line| !line.starts_with("deck/"))
        .map(|line| format!("{line}\n"))
        .collect();
    let target = stated + "[targets]\ncompression = 10.2\n";
    let text = short(&report_of(&target, &chambers));
    assert!(
        text.contains("Compression and its target wait for that."),
        "{text}"
    );
}

/// A second round that stands half-way is finished, not begun.
#[test]
fn a_round_that_stands_half_way_is_called_so() {
    let mut csv = "spot,value,unit\n".to_owned();
    for number in [1, 2, 3, 4, 1, 2] {
        csv += &format!("chamber/{number},41.{number}2,cc\n");
    }
    for number in 1..=4 {
        csv += &format!("deck/{number},0.35,mm\n");
    }
    let stated = engine(4) + "[piston]\ncrown = \"-4 cc\"\n";
    let report = report_of(&stated, &csv);
    let steps = ShortReport::new(&report, "v8", None).next;
    let told: Vec<&str> = steps.iter().map(|step| step.what.as_str()).collect();
    assert!(
        told.contains(&"Finish the second round: chambers 3 and 4"),
        "{told:?}"
    );
}
