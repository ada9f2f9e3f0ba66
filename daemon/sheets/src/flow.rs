//! The flow sheet: every port over lift, by kind of runner, with its brothers and the stage before.

mod change;
mod table;

use askama::Template;
use benchhand_blueprint::Figure;
use benchhand_blueprint::report::{FlowReport, Report};
use benchhand_words::chart::{Chart, ChartKind, of_report};
use benchhand_words::digits::{rounded, usual_decimals};
use benchhand_words::lifts::lifts_in;
use benchhand_words::over_lift::kind_of_port;
use benchhand_words::spot_said;
use benchhand_words::stated::bare;

use crate::Sheet;
use crate::facts::SheetFacts;
use crate::frame::{STYLE, SheetFrame};
use change::FlowBefore;
use table::{Kind, Table, Told, between};

/// The usual cautions of those who measure flow, in the words of the routes.
const CAUTIONS: [&str; 3] = [
    "Blowers are loud and take in what lies near: wear ear protection, keep rags, hair and parts away from the inlet.",
    "Never run a blower near an open flammable liquid or its vapour.",
    "Compressed valve springs can let go: keep your face out of their line, use a compressor that grips.",
];

#[derive(Template)]
#[template(path = "flow.html")]
struct FlowSheet<'a> {
    frame: SheetFrame<'a>,
    conditions: Vec<(&'static str, String)>,
    chart: Option<Chart>,
    kinds: Vec<Kind>,
    /// Why there is nothing to tell, or why flow is told as it was measured; empty where neither is so.
    without: String,
    before: &'a str,
    corrections: Vec<&'a str>,
    /// What the ± leaves out.
    lacking: Option<String>,
    cautions: Vec<&'a str>,
}

impl FlowSheet<'_> {
    /// Whether the tables are long: the chart leaves them room.
    fn is_dense(&self) -> bool {
        self.kinds.iter().any(|kind| kind.many)
    }

    fn has_changes(&self) -> bool {
        self.kinds.iter().any(|kind| kind.has_changes)
    }

    /// Why ports have no coefficients, each reason once.
    fn no_coefficients(&self) -> Vec<String> {
        let mut reasons: Vec<(&str, Vec<&str>)> = Vec::new();
        for kind in self
            .kinds
            .iter()
            .filter(|one| !one.no_coefficients.is_empty())
        {
            match reasons
                .iter_mut()
                .find(|(why, _)| *why == kind.no_coefficients)
            {
                Some((_, kinds)) => kinds.push(&kind.name),
                None => reasons.push((kind.no_coefficients, vec![&kind.name])),
            }
        }
        let told = |(why, kinds): (&str, Vec<&str>)| format!("{}: {why}.", kinds.join(", "));
        reasons.into_iter().map(told).collect()
    }
}

/// The flow sheet.
///
/// # Errors
/// A fault of the template.
pub fn flow(facts: &SheetFacts<'_>) -> Sheet {
    let report = facts.report;
    let before = facts.before.filter(|one| one.stage != report.stage);
    let beside = before.map(|before| FlowBefore {
        report: before,
        changes: facts.flow_changes,
    });
    let at_reference = |one: &&FlowReport| one.flow_at_reference.is_some();
    let mut corrections: Vec<&str> = Vec::new();
    for one in report.flow.iter().filter(at_reference) {
        if !one.correction.is_empty() && !corrections.contains(&one.correction.as_str()) {
            corrections.push(&one.correction);
        }
    }
    let cautions = CAUTIONS.into_iter();
    FlowSheet {
        frame: SheetFrame::new("Flow sheet", facts),
        conditions: conditions(report),
        chart: of_report(ChartKind::Flow, report, before),
        kinds: kinds(report, beside.as_ref()),
        without: without(report).to_owned(),
        before: before.map_or("", |one| &one.stage),
        corrections,
        lacking: report.lacking_of_ports().map(|text| said(text, report)),
        cautions: cautions
            .chain(report.cautions.iter().map(String::as_str))
            .collect(),
    }
    .render()
}

/// Why a sheet has no flow, or none at a reference depression.
fn without(report: &Report) -> &'static str {
    let all = &report.flow;
    let measured = all.iter().any(|one| Told::Measured.of(one).is_some());
    let compared = all.iter().any(|one| Told::Compared.of(one).is_some());
    let stated = report.inputs.reference_depression.is_some();
    match (measured, compared) {
        (true, _) if !stated => {
            "As measured, each at its own test pressure: no reference depression is stated, so these \
             flows are not set beside each other. With a reference under [flow] in the engine file, \
             they are given at that depression."
        }
        (true, _) => {
            "As measured: where a test pressure is lacking, flow is not known at the reference \
             depression."
        }
        (false, true) => "",
        (false, false) if all.is_empty() => "No flow was measured at this stage yet.",
        (false, false) => {
            "No flow is known: beside the test pressure it takes the metering pressure, or the flow \
             that the bench shows."
        }
    }
}

/// A text with its spots as people say them.
fn said(text: &str, report: &Report) -> String {
    let word = |word: &str| match word.starts_with("flow/") {
        true => spot_said(word),
        false => word.to_owned(),
    };
    let words: Vec<String> = text.split(' ').map(word).collect();
    lifts_in(&words.join(" "), report.units)
}

/// The conditions to which the flows are referred, and those under which they were measured.
fn conditions(report: &Report) -> Vec<(&'static str, String)> {
    let mut all = Vec::new();
    if let Some(reference) = &report.inputs.reference_depression {
        let digits = usual_decimals(reference.unit.symbol());
        let told = format!("{} {}", rounded(reference.value, digits), reference.unit);
        all.push(("Stated at a depression of", told));
    }
    let over = |get: fn(&FlowReport) -> Option<&Figure>| {
        let found: Vec<&Figure> = report.flow.iter().filter_map(get).collect();
        let unit = found.first()?.unit;
        Some(format!("{} {unit}", between(&found)))
    };
    all.extend(over(|one| one.test_pressure.as_ref()).map(|told| ("Tested at", told)));
    let density = over(|one| one.air_density.as_ref());
    all.extend(density.map(|told| ("Density of the air before the port", told)));
    let reference = report
        .flow
        .iter()
        .find_map(|one| one.reference_air.as_ref());
    all.extend(reference.map(|air| ("Reference air", bare(air))));
    all
}

fn kinds(report: &Report, before: Option<&FlowBefore<'_>>) -> Vec<Kind> {
    let mut found: Vec<String> = Vec::new();
    for one in &report.flow {
        let kind = kind_of_port(one);
        if !found.contains(&kind) {
            found.push(kind);
        }
    }
    let both = [Told::Compared, Told::Measured];
    let tables = both
        .iter()
        .flat_map(|told| found.iter().map(move |kind| (*told, kind)));
    tables
        .filter_map(|(told, kind)| Table::of(report, kind, told)?.kind(before))
        .collect()
}
