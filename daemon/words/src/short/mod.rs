//! The report that is read in ten seconds: averages and spreads, what to do next, a row a cylinder,
//! what to check, and what the figures leave out.
//!
//! It is a document of rows and sentences, of which the terminal's text and the page are made. It
//! says nothing that the long report does not say as well.

mod averages;
mod check;
mod cylinders;
mod document;
mod doubted;
mod flow;
mod free;
mod metal;
mod next;
mod rounds;
mod steps;
mod text;

pub use averages::word as verdict_word;

use benchhand_blueprint::Unit;
use benchhand_blueprint::engine::{JobCard, LengthUnits};
use benchhand_blueprint::report::Report;

use crate::day_and_minute;
use crate::digits::rounded;
use crate::lifts::lifts_in;
use crate::rows::wrapped;
use crate::spots;

pub use cylinders::middle;
pub use document::{
    AverageRow, CheckRow, CylinderColumn, CylinderRow, CylinderRows, DoneAt, FlowRows,
    JudgedAverage, NextStep, ShortReport, ShownCell,
};

/// Columns of the short report's text.
pub(crate) const WIDTH: usize = 80;

impl ShortReport {
    /// The short report. `job` is the job's name, empty for a report of files; `kept` the moment of
    /// the stage's last reading (RFC 3339), where that is known.
    pub fn new(report: &Report, job: &str, kept: Option<&str>) -> Self {
        let long_form = match job {
            "" => "--full".to_owned(),
            job => format!("benchhand report {job} --full"),
        };
        let short = Self {
            title: title(report, job, kept),
            measured: measured(report),
            averages: averages::rows(report)
                .into_iter()
                .chain(free::averages(report))
                .collect(),
            next: next::steps(report, job),
            cylinders: cylinders::rows(report),
            flow: flow::rows(report),
            checks: check::items(report),
            covers: covers(report),
            cautions: report.cautions.clone(),
            long_form,
        };
        short.with_lifts_in(report.units)
    }

    /// The same with the lifts of its spots in the engine's unit.
    fn with_lifts_in(mut self, units: LengthUnits) -> Self {
        let checks = self.checks.iter_mut().map(|check| &mut check.text);
        let next = self.next.iter_mut();
        let next = next.flat_map(|step| [&mut step.what, &mut step.more]);
        for text in checks.chain(next).chain([&mut self.covers]) {
            *text = lifts_in(text, units);
        }
        self
    }
}

/// What is reported, part by part: job, engine, size, stage, and when it was last measured.
fn title(report: &Report, job: &str, kept: Option<&str>) -> Vec<String> {
    let mut title = Vec::new();
    if !job.is_empty() {
        title.push(format!("Job {job}"));
    }
    let invented = if report.invented { " (INVENTED)" } else { "" };
    title.push(format!("{}{invented}", report.engine));
    if let Some(displacement) = &report.summary.displacement {
        let cc = displacement.unit.to_base(displacement.value);
        let inches = Unit::CubicInch.from_base(cc);
        let (inches, cc) = (rounded(inches, 0), rounded(cc, 0));
        title.push(match report.units {
            LengthUnits::Inch => format!("{inches} cu in ({cc} cc)"),
            LengthUnits::Metric => format!("{cc} cc ({inches} cu in)"),
        });
    }
    title.push(report.stage.clone());
    title.extend(kept.map(day_and_minute));
    title.extend(card(&report.card));
    title
}

/// The job card, entry by entry.
fn card(card: &JobCard) -> Vec<String> {
    let heads = card
        .heads
        .iter()
        .map(|(bank, mark)| match card.heads.len() {
            1 => format!("head {mark}"),
            _ => format!("head {mark} on bank {bank}"),
        });
    let named = |name: &str, value: &Option<String>| value.as_ref().map(|v| format!("{name} {v}"));
    let first = [
        named("Customer:", &card.customer),
        named("order", &card.order),
        named("block", &card.block),
    ];
    let last = named("measured by", &card.measured_by);
    let first = first.into_iter().flatten();
    first.chain(heads).chain(last).collect()
}

/// How often each part was measured: "chambers twice, decks once"; empty where nothing was.
fn measured(report: &Report) -> String {
    let told = report.measured_times.iter().map(|one| {
        let name = spots::several(&one.family);
        let times = |times: usize| match times {
            1 => "once".to_owned(),
            2 => "twice".to_owned(),
            more => format!("{more} times"),
        };
        match one.least == one.most {
            true => format!("{name} {}", times(one.least)),
            false => format!("{name} {} to {}", times(one.least), times(one.most)),
        }
    });
    told.collect::<Vec<_>>().join(", ")
}

const COVERS: &str = "Each ± covers 95 %; ? marks what is less sure than that.";

/// Stands where a verdict on a spread is firmer than the ± beside it.
const SIMULATED: &str = "Spreads are judged by a simulation of the readings, which tells more than \
                         their ±.";

/// What the ± leaves out is named once, as far as it fits into two lines, three where spreads are
/// judged more firmly than their ±.
fn covers(report: &Report) -> String {
    let lacking = &report.left_out;
    let (covers, lines) = match averages::firmer_than_its_width(report) {
        true => (format!("{COVERS} {SIMULATED}"), 3),
        false => (COVERS.to_owned(), 2),
    };
    let told = |named: usize| match (named, lacking.len() - named) {
        (0, 0) => covers.clone(),
        (0, _) => format!("{covers} What else is not in it, the long report names."),
        (named, 0) => format!("{covers} Not in it: {}.", lacking[..named].join("; ")),
        (named, more) => format!(
            "{covers} Not in it: {}; and {more} more, in the long report.",
            lacking[..named].join("; ")
        ),
    };
    let fits = |named: &usize| wrapped("", &told(*named), WIDTH).len() <= lines;
    told((0..=lacking.len()).rev().find(fits).unwrap_or(0))
}
