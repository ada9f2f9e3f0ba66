//! The report of one stage.

use askama::Template;
use benchhand_blueprint::decide::VerdictAnswer;
use benchhand_words::ShortReport;
use benchhand_words::chart::Chart;
use benchhand_words::short::{CylinderColumn, CylinderRow, DoneAt, JudgedAverage, NextStep};

use crate::{Page, PageFrame, address};

#[derive(Template)]
#[template(path = "report.html")]
struct ReportPage<'a> {
    frame: &'a PageFrame,
    job: &'a str,
    short: &'a ShortReport,
    stage: &'a str,
    stages: &'a [String],
    charts: &'a [Chart],
}

/// The report that is read in ten seconds, with its charts. `stage` is the one that is reported, of
/// `stages`.
///
/// # Errors
/// A fault of the template.
pub fn report(
    frame: &PageFrame,
    short: &ShortReport,
    (stage, stages): (&str, &[String]),
    charts: &[Chart],
) -> Page {
    ReportPage {
        frame,
        job: frame.job.as_deref().unwrap_or_default(),
        short,
        stage,
        stages,
        charts,
    }
    .render()
}

impl ReportPage<'_> {
    /// The report of another stage.
    fn of_stage(&self, stage: &str) -> String {
        address::with(&address::of_job(self.job, "report"), &[("stage", stage)])
    }

    /// The build sheet of this stage.
    fn sheet(&self) -> String {
        address::with(&address::sheet(self.job, "build"), &[("stage", self.stage)])
    }

    /// The readings of a family; all of them where a figure rests on several.
    fn family(&self, family: &str) -> String {
        address::readings(self.job, family)
    }

    /// The readings that a cylinder's figure rests on.
    fn cell(&self, column: &CylinderColumn, row: &CylinderRow) -> String {
        let cylinder = row.cylinder;
        match column.family {
            "" => address::with(
                &address::of_job(self.job, "readings"),
                &[("cylinder", &cylinder.to_string())],
            ),
            family => address::readings(self.job, &format!("{family}/{cylinder}")),
        }
    }

    /// Where a step is done, and what its button says.
    fn way(&self, step: &NextStep) -> Option<(String, &'static str)> {
        Some(match step.place.as_ref()? {
            DoneAt::Board => (address::measure(self.job), "Answer it at the board"),
            DoneAt::Route {
                route,
                cylinders,
                rounds,
                afresh,
            } => {
                let cylinders: Vec<String> = cylinders.iter().map(u32::to_string).collect();
                let (cylinders, rounds) = (cylinders.join(" "), rounds.map(|one| one.to_string()));
                let mut filled = Vec::new();
                if !cylinders.is_empty() {
                    filled.push(("cylinders", cylinders.as_str()));
                }
                filled.extend(rounds.as_deref().map(|rounds| ("rounds", rounds)));
                filled.extend(afresh.then_some(("afresh", "yes")));
                (address::begin(self.job, route, &filled), "Measure it now")
            }
            DoneAt::Readings(spot) => (self.family(spot), "See its readings"),
            DoneAt::Engine => (address::of_job(self.job, "engine"), "See what is stated"),
            DoneAt::Decide(question, filled) => (
                address::with(&address::decision(self.job, question), filled),
                "Work it out",
            ),
        })
    }
}

/// The mark before a verdict: it is told without colour.
fn verdict(judged: &JudgedAverage) -> (&'static str, &'static str) {
    match judged.answer {
        VerdictAnswer::Within => ("good", "✓"),
        VerdictAnswer::Outside => ("bad", "✕"),
        VerdictAnswer::CannotTell => ("unsure", "?"),
    }
}
