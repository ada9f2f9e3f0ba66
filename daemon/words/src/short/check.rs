//! What is out of line, in words that name the cylinder.

use benchhand_blueprint::report::{FROM_BEFORE, Finding, FindingKind, Report, ToleranceName};

use super::averages::word;
use super::cylinders::middle_chamber;
use super::document::CheckRow;
use super::free;
use crate::digits::rounded;
use crate::rows::numbers;
use crate::spots::{self, capital};

/// Kinds of findings that are told one by one, the gravest first.
const TOLD: [FindingKind; 9] = [
    FindingKind::Contact,
    FindingKind::Impossible,
    FindingKind::Unusual,
    FindingKind::Open,
    FindingKind::Ordered,
    FindingKind::Disagrees,
    FindingKind::Outlier,
    FindingKind::Marked,
    FindingKind::Kept,
];

/// Everything to check, the gravest first.
pub(super) fn items(report: &Report) -> Vec<CheckRow> {
    let mut items: Vec<CheckRow> = Vec::new();
    for kind in TOLD {
        match kind {
            FindingKind::Marked => items.extend(in_doubt(report)),
            _ => items.extend(report.findings_of(kind).map(|one| told(report, one))),
        }
    }
    for (about, begins) in SINGLE {
        items.extend(single(report, about, begins).map(unmarked));
    }
    items.extend(free::judged(report));
    for (kind, word) in [
        (
            FindingKind::Mixed,
            "Read for the whole piston and at points, the mean counts",
        ),
        (FindingKind::Missing, "Not measured"),
        (FindingKind::Unrepeated, "Measured once only"),
        (FindingKind::Typed, "Typed, not captured"),
        (
            FindingKind::Unchecked,
            "Not checked, or not said how set up",
        ),
    ] {
        let told = gathered(report, kind, word).map(|text| match kind {
            FindingKind::Missing => text + waits(report),
            _ => text,
        });
        items.extend(told.map(unmarked));
    }
    items
}

/// What waits for the readings that are missing.
fn waits(report: &Report) -> &'static str {
    let limits = &report.limits;
    let (target, spread) = (&limits.compression_target, &limits.compression_spread);
    match (&report.summary.compression_mean, target, spread) {
        (Some(_), ..) => "",
        (None, Some(_), _) => " Compression and its target wait for that.",
        (None, None, Some(_)) => " Compression and its spread wait for that.",
        (None, None, None) => " Compression waits for that.",
    }
}

/// Readings in doubt, once for each reason: "Decks 1 to 6: gauge dial failed its check".
fn in_doubt(report: &Report) -> Vec<CheckRow> {
    let mut reasons: Vec<(&str, Vec<&str>)> = Vec::new();
    for finding in report.findings_of(FindingKind::Marked) {
        let spot = finding.spot.as_str();
        match reasons.iter_mut().find(|(why, _)| *why == finding.text) {
            Some((_, spots)) => spots.push(spot),
            None => reasons.push((&finding.text, vec![spot])),
        }
    }
    let row = |(why, spots): (&str, Vec<&str>)| CheckRow {
        marked: true,
        text: match spots[..] {
            [one] => format!("{}: {why}", capital(&spots::said(one))),
            _ => {
                let named = spots::not_measured(spots.iter().copied());
                format!("{}: {why}", capital(&named.join(", ")))
            }
        },
        spot: match spots[..] {
            [one] => one.to_owned(),
            _ => String::new(),
        },
    };
    reasons.into_iter().map(row).collect()
}

fn unmarked(text: String) -> CheckRow {
    CheckRow {
        marked: false,
        text,
        spot: String::new(),
    }
}

fn told(report: &Report, finding: &Finding) -> CheckRow {
    let spot = capital(&spots::said(&finding.spot));
    let text = match off_middle(report, finding) {
        Some(off) if finding.is_from_before() => format!("{spot} is {off} {FROM_BEFORE}."),
        Some(off) => format!("{spot} is {off}."),
        None => format!("{spot}: {}", finding.text),
    };
    let several = finding.spot.contains(", ");
    CheckRow {
        marked: true,
        text,
        spot: match several {
            true => String::new(),
            false => finding.spot.clone(),
        },
    }
}

/// How far a chamber that is out of line is off the middle one: "0.87 cc over the middle one".
pub(super) fn off_middle(report: &Report, finding: &Finding) -> Option<String> {
    if finding.kind != FindingKind::Outlier || spots::part(&finding.spot) != "chamber" {
        return None;
    }
    let cylinder = report.cylinder(spots::cylinder(&finding.spot)?)?;
    let off = cylinder.chamber.as_ref()?.value - middle_chamber(report)?;
    let side = if off > 0.0 { "over" } else { "under" };
    Some(format!(
        "{} cc {side} the middle one",
        rounded(off.abs(), 2)
    ))
}

/// What the limits of a single cylinder are about, and how a sentence on them begins.
const SINGLE: [(ToleranceName, &str); 4] = [
    (ToleranceName::Chamber, "Each chamber against its limits"),
    (ToleranceName::Deck, "Each deck against its limits"),
    (
        ToleranceName::Compression,
        "Each compression against its limits",
    ),
    (ToleranceName::Quench, "Quench at the nearest point"),
];

/// One figure of each cylinder against its limits, in a sentence; `None` where no limit is stated.
fn single(report: &Report, about: ToleranceName, begins: &str) -> Option<String> {
    let mut judged: Vec<(&str, Vec<u32>)> = Vec::new();
    let all = report.verdicts.iter();
    for verdict in all.filter(|one| one.about == about) {
        let word = word(verdict);
        match judged.iter_mut().find(|(known, _)| *known == word) {
            Some((_, cylinders)) => cylinders.extend(verdict.cylinder),
            None => judged.push((word, verdict.cylinder.into_iter().collect())),
        }
    }
    let told = judged.iter().map(|(word, cylinders)| {
        let which = match cylinders.len() == report.cylinders.len() {
            true => "all".to_owned(),
            false => numbers(cylinders),
        };
        format!("{which} {word}")
    });
    let told: Vec<String> = told.collect();
    (!told.is_empty()).then(|| format!("{begins}: {}.", told.join("; ")))
}

/// All spots of one kind of finding in a sentence, part by part.
fn gathered(report: &Report, kind: FindingKind, what: &str) -> Option<String> {
    let mut parts: Vec<(String, Vec<u32>)> = Vec::new();
    for finding in report.findings_of(kind) {
        // A finding may name several spots.
        for spot in finding.spot.split(", ") {
            let part = spots::told_together(spot);
            let cylinder = spots::cylinder(spot);
            match parts.iter_mut().find(|(known, _)| *known == part) {
                Some((_, cylinders)) => cylinders.extend(cylinder),
                None => parts.push((part, cylinder.into_iter().collect())),
            }
        }
    }
    if parts.is_empty() {
        return None;
    }
    let told = parts.iter().map(|(part, cylinders)| {
        let named = spots::of_cylinders(part, cylinders);
        let of = |one: &&Finding| {
            one.spot
                .split(", ")
                .any(|spot| spots::told_together(spot) == *part)
        };
        match report
            .findings_of(kind)
            .filter(of)
            .all(Finding::is_from_before)
        {
            true => format!("{named} {FROM_BEFORE}"),
            false => named,
        }
    });
    let told: Vec<String> = told.collect();
    Some(format!("{what}: {}.", told.join("; ")))
}
