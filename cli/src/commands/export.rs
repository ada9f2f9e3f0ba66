//! `export …`: a job for other programs.

use benchhand_blueprint::Report;
use benchhand_wire::{JobReport, Reason, Refusal, ShowJob};
use benchhand_workbook::{WorkbookContent, workbook};
use serde::Serialize;

use crate::args::{ExportCommand, WorkbookArgs};
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
    }
}

/// What was written.
#[derive(Serialize)]
struct WorkbookWritten {
    out: String,
    stage: String,
    readings: usize,
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
            "{}: {} as of {}, {} readings. Change a shaded cell of Compression and the ratio follows.\n",
            told.out, args.job, told.stage, told.readings
        )
    })?;
    Ok(Exit::Done)
}
