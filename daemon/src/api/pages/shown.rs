//! Each page, and the documents that it is made of.

use benchhand_blueprint::report::Report;
use benchhand_pages::{Page, PageSection};
use benchhand_wire::{
    JobReport, Jobs, Reason, RecomputeJob, Refusal, Routes, ShowJob, ShowShop, VerifyJob,
};

use benchhand_words::ShortReport;
use serde_json::Value;

use super::Visit;

pub(super) fn jobs(visit: &Visit) -> Result<Page, Refusal> {
    let list = visit.desk.ask(Jobs::default())?;
    let shop = visit.desk.ask(ShowShop {})?;
    Ok(benchhand_pages::jobs(
        &visit.frame("Jobs", PageSection::Jobs),
        &list,
        &shop,
    ))
}

/// The stations of the shop, and its jobs.
pub(super) fn shop(visit: &Visit) -> Result<Page, Refusal> {
    let shop = visit.desk.ask(ShowShop {})?;
    let list = visit.desk.ask(Jobs::default())?;
    let frame = visit.frame("The shop", PageSection::Jobs);
    Ok(benchhand_pages::shop(&frame, &shop, &list))
}

pub(super) fn job(visit: &Visit) -> Result<Page, Refusal> {
    let name = visit.part("job");
    let detail = visit.desk.ask(ShowJob {
        job: name.to_owned(),
    })?;
    let routes = visit.desk.ask(Routes {
        job: Some(name.to_owned()),
    })?;
    let frame = visit.frame(format!("Job {name}"), PageSection::Job);
    Ok(benchhand_pages::job(&frame, &detail, &routes.routes))
}

/// Whether the record is whole, and on request what the recorded streams give anew.
pub(super) fn record(visit: &Visit) -> Result<Page, Refusal> {
    let job = visit.part("job").to_owned();
    let found = visit.desk.ask(VerifyJob { job: job.clone() })?;
    let again = match visit.field("recompute") {
        Some(_) => Some(visit.desk.ask(RecomputeJob { job, work: None })?),
        None => None,
    };
    let frame = visit.frame("The record", PageSection::Job);
    Ok(benchhand_pages::record(&frame, &found, again.as_ref()))
}

pub(super) fn report(visit: &Visit) -> Result<Page, Refusal> {
    let job = visit.part("job").to_owned();
    let frame = visit.frame(format!("Report of {job}"), PageSection::Report);
    let stage = visit.field("stage").map(str::to_owned);
    let answer = visit.desk.ask(JobReport {
        job: job.clone(),
        stage,
    })?;
    let report = report_in(answer.document)?;
    let short = ShortReport::new(&report, &job, answer.kept.as_deref());
    let charts = visit.desk.charts(&job, &report)?;
    let stages = (report.stage.as_str(), report.stages.as_slice());
    Ok(benchhand_pages::report(&frame, &short, stages, &charts))
}

/// The report in an answer.
pub(super) fn report_in(document: Value) -> Result<Report, Refusal> {
    serde_json::from_value(document)
        .map_err(|e| Refusal::new(Reason::Unavailable, format!("the report: {e}")))
}
