//! What is out of line, in words that name the cylinder.

use benchhand_blueprint::decide::VerdictAnswer;
use benchhand_blueprint::report::{Finding, FindingKind, Report, ToleranceName};

use super::cylinders::middle_chamber;
use super::{WIDTH, spots};
use crate::digits::rounded;
use crate::rows::{numbers, wrapped};

/// Kinds of findings that are told one by one, the gravest first.
const TOLD: [FindingKind; 7] = [
    FindingKind::Contact,
    FindingKind::Impossible,
    FindingKind::Open,
    FindingKind::Disagrees,
    FindingKind::Outlier,
    FindingKind::Marked,
    FindingKind::Kept,
];

/// At most `room` lines; a last one says how many more there are.
pub(super) fn lines(report: &Report, job: &str, room: usize) -> Vec<String> {
    let mut items: Vec<Vec<String>> = Vec::new();
    for kind in TOLD {
        items.extend(report.findings_of(kind).map(|one| told(report, one)));
    }
    items.extend(quench(report).map(|text| wrapped("  ", &text, WIDTH)));
    for (kind, word) in [
        (FindingKind::Missing, "Not measured"),
        (FindingKind::Unrepeated, "Measured once only"),
        (FindingKind::Typed, "Typed, not captured"),
        (FindingKind::Unchecked, "Not checked"),
    ] {
        items.extend(gathered(report, kind, word));
    }
    if items.is_empty() {
        return Vec::new();
    }
    let mut lines = vec!["CHECK THESE".to_owned()];
    let mut left = items.len();
    for item in items {
        // A line is kept for what does not fit.
        if left > 1 && lines.len() + item.len() + 1 > room {
            break;
        }
        lines.extend(item);
        left -= 1;
    }
    if left > 0 {
        lines.push(format!("  and {left} more: benchhand report {job} --full"));
    }
    lines
}

fn told(report: &Report, finding: &Finding) -> Vec<String> {
    let spot = capital(&spots::said(&finding.spot));
    wrapped(
        "! ",
        &format!("{spot} {}", off(report, finding)).replace(" : ", ": "),
        WIDTH,
    )
}

/// What is the matter: how far a chamber is off the middle one, or the finding's own words.
pub(super) fn off(report: &Report, finding: &Finding) -> String {
    let cylinder = spots::cylinder(&finding.spot).and_then(|number| report.cylinder(number));
    let chamber = cylinder
        .and_then(|one| one.chamber.as_ref())
        .filter(|_| spots::part(&finding.spot) == "chamber");
    match (finding.kind, chamber, middle_chamber(report)) {
        (FindingKind::Outlier, Some(chamber), Some(middle)) => {
            let off = chamber.value - middle;
            let side = if off > 0.0 { "over" } else { "under" };
            format!("is {} cc {side} the middle one.", rounded(off.abs(), 2))
        }
        _ => format!(": {}", finding.text),
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}

/// Quench distances against their limits, in a sentence; `None` where no limit is stated.
fn quench(report: &Report) -> Option<String> {
    let judged = |answer: Option<VerdictAnswer>| -> Vec<u32> {
        let all = report.verdicts.iter();
        all.filter(|one| one.about == ToleranceName::Quench)
            .filter(|one| answer.is_none_or(|answer| one.answer == answer))
            .filter_map(|one| one.cylinder)
            .collect()
    };
    let all = judged(None);
    if all.is_empty() {
        return None;
    }
    let (bad, open) = (
        judged(Some(VerdictAnswer::Outside)),
        judged(Some(VerdictAnswer::CannotTell)),
    );
    let told = [(bad, "NOT OK"), (open, "too close to call")]
        .into_iter()
        .filter(|(cylinders, _)| !cylinders.is_empty())
        .map(|(cylinders, word)| format!("{} {word}", numbers(&cylinders)));
    let told: Vec<String> = told.collect();
    Some(match told.is_empty() {
        true => "Quench at the nearest point: all OK.".to_owned(),
        false => format!("Quench at the nearest point: {}.", told.join(", ")),
    })
}

/// All spots of one kind of finding in a sentence, part by part.
fn gathered(report: &Report, kind: FindingKind, word: &str) -> Option<Vec<String>> {
    let mut parts: Vec<(&str, Vec<u32>)> = Vec::new();
    for finding in report.findings_of(kind) {
        // A finding may name several spots.
        for spot in finding.spot.split(", ") {
            let part = spots::part(spot);
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
    let told = parts
        .iter()
        .map(|(part, cylinders)| spots::of_cylinders(part, cylinders));
    let told: Vec<String> = told.collect();
    Some(wrapped(
        "  ",
        &format!("{word}: {}.", told.join("; ")),
        WIDTH,
    ))
}
