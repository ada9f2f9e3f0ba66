//! `export …`: a job for other programs.

mod tables;

use benchhand_blueprint::Report;
use benchhand_wire::{JobReport, Reason, Refusal, ShowJob, TablesWritten, WorkbookWritten};
use benchhand_workbook::{WorkbookContent, workbook};

use crate::args::{ExportCommand, TablesArgs, WorkbookArgs};
use crate::client::ask;
use crate::context::Context;
use crate::data::shown;
use crate::errors::{Exit, Failure};
use crate::written;

/// Exports a job.
///
/// # Errors
/// Why no file was written.
pub(super) fn run(context: &mut Context, args: ExportCommand) -> Result<Exit, Failure> {
    match args {
        ExportCommand::Workbook(args) => of_workbook(context, args),
        ExportCommand::Tables(args) => of_tables(context, args),
    }
}

fn of_workbook(context: &mut Context, args: WorkbookArgs) -> Result<Exit, Failure> {
    // Nothing is calculated for a file that may not be written.
    written::free(&args.out, args.force)?;
    let answer = ask(
        &*context.client()?,
        &JobReport {
            job: args.job.clone(),
            stage: args.stage,
        },
    )?;
    let report: Report = serde_json::from_value(answer.document).map_err(|error| {
        Refusal::new(
            Reason::Unavailable,
            format!("the report is not understood: {error}"),
        )
        .todo("end the daemon with `benchhand stop` and try again; it may be of another version")
    })?;
    let show = ShowJob {
        job: args.job.clone(),
    };
    let detail = ask(&*context.client()?, &show)?;
    let content = WorkbookContent {
        job: &args.job,
        report: &report,
        kept: answer.kept.as_deref(),
        readings: &detail.readings,
    };
    let bytes = workbook(&content).map_err(|error| {
        Refusal::new(
            Reason::BadInput,
            format!("no workbook can be made of this job: {error}"),
        )
    })?;
    written::whole(&args.out, &bytes, args.force)?;
    let told = WorkbookWritten {
        out: shown(&args.out),
        stage: report.stage.clone(),
        readings: detail.readings.len(),
    };
    context.answer(&told, |told| {
        format!(
            "{}: {} at stage \"{}\", {} readings. Change a shaded cell of Compression and the ratio follows.\n",
            told.out, args.job, told.stage, told.readings
        )
    })?;
    Ok(Exit::Done)
}

fn of_tables(context: &mut Context, args: TablesArgs) -> Result<Exit, Failure> {
    let client = context.client()?;
    let (job, stage) = (args.job, args.stage);
    let report = JobReport {
        job: job.clone(),
        stage,
    };
    let document = ask(&*client, &report)?.document;
    let readings = ask(&*client, &ShowJob { job })?.readings;
    let readings = serde_json::to_value(readings).map_err(not_told)?;
    let mut all = tables::of(&document);
    all.extend(tables::named("readings", &readings));
    let mut files = Vec::new();
    for (name, table) in all {
        files.push((format!("{name}.csv"), table.csv().map_err(not_told)?));
    }
    let each = files
        .iter()
        .map(|(name, csv)| (name.as_str(), csv.as_slice()));
    written::folder(&args.out, each)?;
    let told = TablesWritten {
        out: shown(&args.out),
        files: files.into_iter().map(|(name, _)| name).collect(),
    };
    context.answer(&told, |told| {
        format!("{}: {}\n", told.out, told.files.join(", "))
    })?;
    Ok(Exit::Done)
}

fn not_told(error: impl std::fmt::Display) -> Refusal {
    Refusal::new(Reason::BadInput, format!("no table can be made: {error}"))
}
