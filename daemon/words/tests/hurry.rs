//! What a reader in a hurry takes away: of which cylinders an average is, what is asked for first,
//! and how much metal comes off.

mod common;

use benchhand_blueprint::Report;
use benchhand_blueprint::report::{Finding, FindingKind};
use benchhand_words::ShortReport;
use common::{engine, report_of};

/// A burette and a dial that are known well, so that verdicts rest on what was measured.
const GAUGES: &str = "[gauges.burette]\nkind = \"burette\"\nresolution = \"0.01 cc\"\n\
    u = \"0.01 cc\"\nrepeatability = \"0.01 cc\"\nrepeatability_dof = 60\n\
    [gauges.dial]\nkind = \"dial\"\nresolution = \"0.001 mm\"\nu = \"0.001 mm\"\n\
    zero_u = \"0.001 mm\"\nrepeatability = \"0.002 mm\"\nrepeatability_dof = 60\n";

/// Two rounds of these chambers, with decks and domes of all cylinders.
fn two_rounds(chambers: &[f64]) -> String {
    let mut rows = "spot,value,unit,gauge\n".to_owned();
    for _ in 0..2 {
        for (at, chamber) in chambers.iter().enumerate() {
            let cylinder = at + 1;
            rows += &format!("chamber/{cylinder},{chamber:.2},cc,burette\n");
            rows += &format!("deck/{cylinder},0.200,mm,dial\ncrown/{cylinder},5.00,cc,burette\n");
        }
    }
    rows
}

fn told(report: &Report) -> String {
    ShortReport::new(report, "six", None).text()
}

#[track_caller]
fn line<'a>(text: &'a str, begins: &str) -> &'a str {
    let found = text.lines().find(|line| line.starts_with(begins));
    found.unwrap_or_else(|| panic!("no line {begins:?} in\n{text}"))
}

#[test]
fn an_average_over_some_of_the_cylinders_says_which() {
    let whole = engine(6) + GAUGES;
    let all = two_rounds(&[41.2; 6]);
    assert!(!told(&report_of(&whole, &all)).contains(" only"));
    let part: String = all
        .lines()
        .filter(|row| {
            !["chamber/2", "chamber/4", "chamber/6"]
                .iter()
                .any(|spot| row.starts_with(spot))
        })
        .map(|row| format!("{row}\n"))
        .collect();
    let text = told(&report_of(&whole, &part));
    let rows: Vec<&str> = text.lines().collect();
    for name in ["Chamber", "Compression"] {
        let at = rows
            .iter()
            .position(|row| row.starts_with(name))
            .expect("a row");
        assert_eq!(rows[at + 1].trim(), "of 1, 3 and 5 only", "{text}");
    }
    let deck = rows
        .iter()
        .position(|row| row.starts_with("Deck"))
        .expect("a row");
    assert!(!rows[deck + 1].contains("only"), "{text}");
}

/// Five chambers lie within the 0.5 cc of the largest; one is 0.1 cc below that.
#[test]
fn the_least_metal_out_of_the_fewest_chambers_is_asked_for() {
    let engine = engine(6) + GAUGES + "[tolerances]\nchamber_spread = \"0.5 cc\"\n";
    let chambers = [41.60, 41.50, 41.00, 41.40, 41.45, 41.30];
    let text = told(&report_of(&engine, &two_rounds(&chambers)));
    let next = line(&text, "NEXT");
    assert!(
        next.contains("Chamber 1 sets the size") && next.contains("out of 3,"),
        "{text}"
    );
    let (_, amount) = next.split_once("take ").expect("an amount");
    let amount: f64 = amount
        .split(' ')
        .next()
        .expect("a number")
        .parse()
        .expect("cc");
    // 0.10 cc, and what two chambers are known to against each other.
    assert!((0.10..0.20).contains(&amount), "{amount} in\n{text}");
    let flowing = text.replace("\n      ", " ");
    assert!(flowing.contains("keeps to 0.50 cc"), "{text}");
}

/// Metal out of a chamber lowers the compression: what becomes of the target is told beside the
/// amount, and the next cut is reckoned with the chambers opened.
#[test]
fn metal_that_loses_the_target_says_what_becomes_of_it() {
    let tolerance = "[tolerances]\nchamber_spread = \"0.5 cc\"\n";
    let chambers = [43.60, 41.50, 41.00, 41.40, 41.45, 41.30];
    let rows = two_rounds(&chambers);
    let bare = engine(6) + GAUGES + tolerance;
    let report = report_of(&bare, &rows);
    let now = report
        .summary
        .compression_mean
        .expect("a compression")
        .value;
    let work = report.least_chambers.expect("work to do");
    let after = work.compression_after.expect("a compression").value;
    assert!(after < now - 0.2, "{after} after {now}");
    let text = told(&report_of(&bare, &rows)).replace("\n      ", " ");
    let told_of = |text: &str, words: &str| assert!(text.contains(words), "{words} in\n{text}");
    told_of(
        &text,
        &format!("Compression becomes {after:.2} (now {now:.2})."),
    );

    // A target that is reached now, and lost by the work.
    let aimed = format!("{bare}[targets]\ncompression = {now:.2}\n");
    let text = ShortReport::new(&report_of(&aimed, &rows), "six", None).text();
    let text = text.replace("\n      ", " ");
    let under = (now * 100.0).round() / 100.0 - after;
    told_of(
        &text,
        &format!("becomes {after:.2}, {under:.2} under the target: "),
    );
    told_of(&text, "THEN  With the chambers opened, compression is");
    told_of(&text, "benchhand decide mill six --opened allowed");
    let (next, then) = text.split_once("THEN").expect("two steps");
    assert!(next.contains("take") && then.contains("mill"), "{text}");

    // A target that the work comes to is not called lost.
    let met = format!("{bare}[targets]\ncompression = {after:.2}\n");
    let text = told(&report_of(&met, &rows)).replace("\n      ", " ");
    told_of(
        &text,
        &format!("Compression becomes {after:.2}, the target."),
    );
    assert!(!text.contains("under the target"), "{text}");
}

/// A gasket of 12 mm was typed for one of 1.2 mm: nothing else is worth saying before that.
#[test]
fn a_gasket_that_no_engine_has_is_asked_about_first() {
    let right = engine(6) + GAUGES;
    let wrong = right.replace("\"1.2 mm\"", "\"12 mm\"");
    let rows = two_rounds(&[41.2; 6]);
    let text = told(&report_of(&wrong, &rows));
    assert!(
        line(&text, "NEXT").contains("gasket thickness again: 12.000 mm is far from usual"),
        "{text}"
    );
    assert!(text.contains("common practice, no source"), "{text}");
    let sound = report_of(&right, &rows);
    assert_eq!(sound.findings_of(FindingKind::Unusual).count(), 0);
}

#[test]
fn what_is_wrong_at_all_cylinders_is_not_told_of_the_first_alone() {
    let engine = engine(6) + GAUGES + "[tolerances]\nleast_quench = \"1.6 mm\"\n";
    let text = told(&report_of(&engine, &two_rounds(&[41.2; 6])));
    assert!(
        text.contains("The quench of all cylinders is NOT OK"),
        "{text}"
    );
    assert!(!text.contains("of cylinder 1"), "{text}");
}

/// A gauge that failed its check: it is set right first, and all that rests on it is taken again.
#[test]
fn a_failed_check_asks_for_the_zero_and_for_all_decks_again() {
    let mut report = report_of(&(engine(6) + GAUGES), &two_rounds(&[41.2; 6]));
    let why = "gauge dial failed its check against zero at 2026-03-02T09:00:00Z: found 0.05 mm, expected 0 mm";
    for cylinder in 1..=6 {
        report.findings.push(Finding {
            spot: format!("deck/{cylinder}"),
            kind: FindingKind::Marked,
            text: why.to_owned(),
            replaced: Vec::new(),
        });
    }
    let text = told(&report);
    assert!(
        line(&text, "NEXT").contains("Zero dial, then measure decks 1 to 6 again"),
        "{text}"
    );
    let command = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        command.contains("benchhand gauge zero dial --job six, then benchhand measure six deck --cylinders 1,2,3,4,5,6 --start-over"),
        "{text}"
    );
    // One reason is told once.
    assert_eq!(
        text.matches("! Decks 1 to 6: gauge dial").count(),
        1,
        "{text}"
    );
}

/// One round, and nobody states how the burette repeats: that is the reason, not the gauge.
#[test]
fn a_spread_that_nobody_repeated_is_not_called_too_close() {
    let burette = GAUGES.replace("repeatability = \"0.01 cc\"\nrepeatability_dof = 60\n", "");
    let engine = engine(6) + &burette + "[tolerances]\nchamber_spread = \"0.5 cc\"\n";
    for largest in [41.25, 41.62] {
        let rows = two_rounds(&[41.2, 41.2, 41.2, 41.2, 41.2, largest]);
        let rows: Vec<&str> = rows.lines().collect();
        let once = rows[..19].join("\n") + "\n";
        let text = told(&report_of(&engine, &once));
        assert!(line(&text, "Chamber").ends_with("not repeated"), "{text}");
        assert!(text.contains("a second time, set up anew"), "{text}");
    }
}

/// A report that fills its forty lines names the worst finding at least.
#[test]
fn the_worst_finding_is_named_however_full_the_report_is() {
    let mut report = report_of(&(engine(16) + GAUGES), &two_rounds(&[41.2; 16]));
    let findings = (1..=7).map(|cylinder| Finding {
        spot: format!("chamber/{cylinder}"),
        kind: FindingKind::Kept,
        text: format!("{cylinder}8.40 cc was asked about, since it was far from what was expected and nobody had said that this cylinder was opened before, nor that another liquid had been poured into it; kept"),
        replaced: Vec::new(),
    });
    report.findings = findings.collect();
    let text = told(&report);
    assert!(
        text.lines().all(|line| line.chars().count() <= 80),
        "{text}"
    );
    let (_, checks) = text.split_once("CHECK THESE\n").expect("what to check");
    assert!(checks.starts_with("! Chamber 1: 18.40 cc"), "{checks}");
    assert!(checks.contains("more"), "{checks}");
}

/// A long heading says as much of what was measured as has room, and no bare "Measured:".
#[test]
fn a_heading_never_ends_in_a_bare_measured() {
    for length in 1..120 {
        let name = "x".repeat(length);
        let whole = engine(6).replace("name = \"", &format!("name = \"{name} ")) + GAUGES;
        let report = report_of(&whole, &two_rounds(&[41.2; 6]));
        let text = told(&report);
        let (head, _) = text.split_once("\n\n").expect("a heading");
        assert!(!head.trim_end().ends_with("Measured:"), "{head}");
        assert!(!head.contains("Measured: …"), "{head}");
    }
}
