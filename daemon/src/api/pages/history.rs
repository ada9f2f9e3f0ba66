//! The page of a job's history, and the documents that it is made of.

use benchhand_pages::{JobHistory, Page, PageSection};
use benchhand_wire::{ChartJob, GaugeHistory, JobReport, JobsLike, Refusal, ShowJob, StageInfo};
use benchhand_words::ShortReport;
use benchhand_words::chart::{Chart, ChartKind};

use super::Visit;
use super::shown::report_in;

pub(super) fn history(visit: &Visit) -> Result<Page, Refusal> {
    let job = visit.part("job").to_owned();
    let detail = visit.desk.ask(ShowJob { job: job.clone() })?;
    let mut gauges: Vec<&str> = Vec::new();
    for gauge in detail
        .readings
        .iter()
        .filter_map(|one| one.gauge.as_deref())
    {
        if !gauges.contains(&gauge) {
            gauges.push(gauge);
        }
    }
    let gauges = gauges.into_iter().filter_map(|name| {
        // A gauge that was only typed beside a reading has no history of its own.
        let asked = GaugeHistory {
            name: name.to_owned(),
        };
        visit.desk.ask(asked).ok()
    });
    let shown = JobHistory {
        flow: flow(visit, &job),
        // An engine that cannot be used has none that are like it.
        like: visit.desk.ask(JobsLike { job: job.clone() }).ok(),
        gauges: gauges.collect(),
        scatters: visit.desk.scatters(&job)?,
        stages: detail
            .stages
            .into_iter()
            .map(|stage| (short(visit, &job, &stage), stage))
            .map(|(short, stage)| (stage, short))
            .collect(),
    };
    let frame = visit.frame(format!("History of {job}"), PageSection::History);
    Ok(benchhand_pages::history(&frame, &shown))
}

/// The short report of a stage; `None` before it was measured.
fn short(visit: &Visit, job: &str, stage: &StageInfo) -> Option<ShortReport> {
    let answer = visit.desk.ask(JobReport {
        job: job.to_owned(),
        stage: Some(stage.name.clone()),
    });
    let answer = answer.ok()?;
    let report = report_in(answer.document).ok()?;
    Some(ShortReport::new(&report, job, answer.kept.as_deref()))
}

fn flow(visit: &Visit, job: &str) -> Option<Chart> {
    let drawn = visit.desk.ask(ChartJob {
        job: job.to_owned(),
        chart: ChartKind::Flow.name().to_owned(),
        stage: None,
        gauge: None,
    });
    let drawn = drawn.ok()?;
    Some(Chart {
        kind: ChartKind::Flow,
        title: drawn.title,
        description: drawn.description,
        svg: drawn.svg,
    })
}
