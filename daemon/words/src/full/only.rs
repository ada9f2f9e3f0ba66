//! Keeps some sections of a report. Remarks, signs and cautions belong to all sections and stay.

use benchhand_blueprint::report::Report;
use serde_json::Value;

/// A section of the report.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReportSection {
    /// Chamber volumes.
    Chambers,
    /// Deck clearances, quench and rock.
    Deck,
    /// Domes and dishes.
    Crowns,
    /// Compression, and the sources of its uncertainty.
    Compression,
    /// Flow.
    Flow,
    /// The form of the bores.
    Bores,
    /// Piston-to-valve clearances.
    Gaps,
    /// Free spots.
    Free,
    /// Everything else that was measured.
    Measured,
}

impl ReportSection {
    /// Every section, with the word by which it is asked for.
    pub const ALL: [(&str, ReportSection); 9] = [
        ("chambers", ReportSection::Chambers),
        ("deck", ReportSection::Deck),
        ("crowns", ReportSection::Crowns),
        ("compression", ReportSection::Compression),
        ("flow", ReportSection::Flow),
        ("bores", ReportSection::Bores),
        ("gaps", ReportSection::Gaps),
        ("free", ReportSection::Free),
        ("measured", ReportSection::Measured),
    ];
}

/// The sections in the table of the cylinders, with their fields.
const OF_CYLINDERS: [(ReportSection, &[&str]); 4] = [
    (ReportSection::Chambers, &["chamber"]),
    (
        ReportSection::Deck,
        &["deck", "deck_points", "deck_from_parts", "quench", "rock"],
    ),
    (ReportSection::Crowns, &["crown"]),
    (
        ReportSection::Compression,
        &[
            "compression",
            "compression_expanded",
            "compression_budget",
            "clearance",
            "swept",
        ],
    ),
];

/// Whether any of the sections is part of the table of the cylinders.
pub(super) fn cylinders(only: &[ReportSection]) -> bool {
    only.is_empty()
        || OF_CYLINDERS
            .iter()
            .any(|(section, _)| only.contains(section))
}

/// The section of a spot or a tolerance, by its first word.
fn section_of(word: &str) -> Option<ReportSection> {
    Some(match word.split(['/', '_']).next()? {
        "chamber" => ReportSection::Chambers,
        "deck" | "quench" => ReportSection::Deck,
        "crown" => ReportSection::Crowns,
        "compression" | "gasket" => ReportSection::Compression,
        "flow" => ReportSection::Flow,
        "bore" | "skirt" => ReportSection::Bores,
        "gap" => ReportSection::Gaps,
        "free" => ReportSection::Free,
        _ => return None,
    })
}

fn about(word: &str, only: &[ReportSection]) -> bool {
    section_of(word).is_some_and(|section| only.contains(&section))
}

/// The report with only these sections.
pub(super) fn kept(report: &Report, only: &[ReportSection]) -> Report {
    let mut kept = report.clone();
    let without = |section: ReportSection| !only.contains(&section);
    kept.findings.retain(|finding| about(&finding.spot, only));
    kept.verdicts
        .retain(|verdict| about(verdict.about.name(), only));
    if without(ReportSection::Flow) {
        kept.flow.clear();
        kept.flow_by_lift.clear();
        kept.running_ports.clear();
    }
    if without(ReportSection::Bores) {
        kept.bores.clear();
    }
    if without(ReportSection::Gaps) {
        kept.valve_gaps.clear();
    }
    if without(ReportSection::Free) {
        kept.free.clear();
    }
    if without(ReportSection::Measured) {
        kept.measured.clear();
        kept.ordered.clear();
    }
    kept
}

/// The report document with only these sections. Fields of other sections are removed.
pub fn keep_only(document: &mut Value, only: &[ReportSection]) {
    let Some(fields) = document.as_object_mut().filter(|_| !only.is_empty()) else {
        return;
    };
    for (section, names) in [
        (
            ReportSection::Flow,
            ["flow", "flow_by_lift", "running_ports"].as_slice(),
        ),
        (ReportSection::Bores, &["bores"]),
        (ReportSection::Gaps, &["valve_gaps"]),
        (ReportSection::Free, &["free"]),
        (ReportSection::Measured, &["measured", "ordered"]),
        (ReportSection::Compression, &["inputs"]),
    ] {
        if !only.contains(&section) {
            names.iter().for_each(|name| {
                fields.remove(*name);
            });
        }
    }
    for (name, key) in [("findings", "spot"), ("verdicts", "about")] {
        if let Some(list) = fields.get_mut(name).and_then(Value::as_array_mut) {
            list.retain(|one| one[key].as_str().is_some_and(|word| about(word, only)));
        }
    }
    if !cylinders(only) {
        fields.remove("cylinders");
        fields.remove("summary");
        return;
    }
    let unwanted: Vec<&str> = OF_CYLINDERS
        .iter()
        .filter(|(section, _)| !only.contains(section))
        .flat_map(|(_, names)| names.iter().copied())
        .collect();
    for one in fields
        .get_mut("cylinders")
        .and_then(Value::as_array_mut)
        .into_iter()
        .flatten()
    {
        if let Some(one) = one.as_object_mut() {
            one.retain(|name, _| !unwanted.contains(&name.as_str()));
        }
    }
    if let Some(summary) = fields.get_mut("summary").and_then(Value::as_object_mut) {
        let kept = |name: &str| match name {
            "counts" | "spreads_of_equals" => true,
            "displacement" => only.contains(&ReportSection::Compression),
            _ => about(name, only),
        };
        summary.retain(|name, _| kept(name));
    }
}
