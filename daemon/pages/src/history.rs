//! The history of a job: its stages before and after, others like it, its gauges' checks.

use askama::Template;
use benchhand_wire::{GaugeHistoryAnswer, JobsLikeAnswer, StageInfo};
use benchhand_words::ShortReport;
use benchhand_words::chart::Chart;
use benchhand_words::digits::{rounded, rounded_like_u};
use benchhand_words::spot_said;

use crate::{Page, PageFrame, address};

/// What a job's history is made of.
#[derive(Debug, Clone, Default)]
pub struct JobHistory {
    /// The stages in their order, each with its short report where there is one.
    pub stages: Vec<(StageInfo, Option<ShortReport>)>,
    /// Flow before and after.
    pub flow: Option<Chart>,
    /// Jobs like this one, where its engine can be used.
    pub like: Option<JobsLikeAnswer>,
    /// What the jobs tell of each gauge of this one.
    pub gauges: Vec<GaugeHistoryAnswer>,
    /// The scatter of each gauge's repeats.
    pub scatters: Vec<Chart>,
}

#[derive(Template)]
#[template(path = "history.html")]
struct HistoryPage<'a> {
    frame: &'a PageFrame,
    job: &'a str,
    history: &'a JobHistory,
}

/// The history of a job.
///
/// # Errors
/// A fault of the template.
pub fn history(frame: &PageFrame, history: &JobHistory) -> Page {
    HistoryPage {
        frame,
        job: frame.job.as_deref().unwrap_or_default(),
        history,
    }
    .render()
}

impl HistoryPage<'_> {
    /// The flow at the highest lift of each port of a stage, in the units of the report's table:
    /// "cfm at 28 inH2O, lift in: intake 220.4 at 0.400".
    fn flow(&self, short: &ShortReport) -> String {
        let Some(flow) = &short.flow else {
            return String::new();
        };
        let lift = flow.lifts.last().map_or("", String::as_str);
        let ports = flow
            .ports
            .iter()
            .filter_map(|(port, cells)| Some(format!("{port} {} at {lift}", cells.last()?)));
        let ports: Vec<String> = ports.collect();
        match ports.is_empty() {
            true => String::new(),
            false => format!("{}, {}: {}", flow.name, flow.lift, ports.join(", ")),
        }
    }

    fn of_stage(&self, stage: &str) -> String {
        address::with(&address::of_job(self.job, "report"), &[("stage", stage)])
    }

    /// The difference between two stages, worked out.
    fn compared(&self, before: &str) -> String {
        let compare = address::of_job(self.job, "decide/compare");
        address::with(&compare, &[(crate::decide::AGAINST_STAGE, before)])
    }
}

/// A name as the report gives it, for people: `compression_mean` as "compression mean".
fn plain(name: &str) -> String {
    name.replace('_', " ")
}

/// A share in percent.
fn percent(share: &f64) -> String {
    format!("{} %", rounded(100.0 * share, 1))
}

/// A quantity as people say it.
fn said(quantity: &str) -> String {
    spot_said(quantity)
}

/// Half of the width that holds 95 % of the repeats of this standard deviation.
fn width(sd: &f64) -> String {
    if *sd > 0.0 {
        rounded_like_u(2.0 * sd)
    } else {
        "0".to_owned()
    }
}
