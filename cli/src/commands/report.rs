//! `report`: about a job, or about an engine file and a CSV file alone.

use benchhand_blueprint::report::{Report, ReportError, report};
use benchhand_wire::{JobReport, Reason, Refusal};
use benchhand_words::{decide as decided, full, short_report};

use serde_json::Value;

use super::decide;
use crate::client::ask;
use crate::context::Context;
use crate::errors::{Exit, Failure};
use crate::files::Files;
use crate::{args, show};

/// Prints a report.
///
/// # Errors
/// Why there is no report.
pub(super) fn run(context: &mut Context, args: args::ReportArgs) -> Result<Exit, Failure> {
    let simulated = match args.simulate {
        Some(trials) => Some(decide::simulated(context, &args.of, trials, args.seed)?),
        None => None,
    };
    let document = if let (Some(engine), Some(readings)) = (&args.of.engine, &args.of.readings) {
        let files = Files::read(engine, readings, args.of.stage.clone())?;
        serde_json::to_value(of_files(&files)?).map_err(|error| not_understood(&error))?
    } else {
        let request = JobReport {
            job: args.of.job.clone().unwrap_or_default(),
            stage: args.of.stage.clone(),
        };
        ask(&*context.client()?, &request)?.document
    };
    let wanted = Wanted {
        job: args.of.job.clone().unwrap_or_default(),
        full: args.full || !args.only.is_empty(),
        only: &args.only,
        charts: args.charts,
    };
    told(context, document, simulated, &wanted)?;
    Ok(Exit::Done)
}

/// The parts of a report that are wanted.
#[derive(Default)]
struct Wanted<'a> {
    /// The job's name; empty for a report of files.
    job: String,
    /// The whole of it.
    full: bool,
    only: &'a [full::ReportSection],
    charts: bool,
}

/// Prints a report, as JSON or as text.
fn told(
    context: &mut Context,
    mut document: Value,
    simulated: Option<Value>,
    wanted: &Wanted<'_>,
) -> Result<(), Failure> {
    if context.json {
        // The document is passed on unchanged, because a newer daemon may say more than this
        // version knows.
        full::keep_only(&mut document, wanted.only);
        if let (Some(fields), Some(simulated)) = (document.as_object_mut(), simulated) {
            fields.insert("simulation".to_owned(), simulated["answer"].clone());
        }
        context.out.document(&document)?;
        return Ok(());
    }
    let report: Report =
        serde_json::from_value(document).map_err(|error| not_understood(&error))?;
    let mut text = match wanted.full {
        true => full::text(&full::sections(&report, wanted.only), show::told),
        false => short_report(&report, &wanted.job),
    };
    if wanted.charts {
        text += &show::charts::of_report(&report, wanted.only);
    }
    if let Some(simulated) = simulated {
        let answered = decide::understood(simulated)?;
        text += &format!("\n{}", show::told(&decided::answer_alone(&answered)));
    }
    context.out.text(&text)?;
    Ok(())
}

fn not_understood(error: &serde_json::Error) -> Refusal {
    Refusal::new(
        Reason::Unavailable,
        format!("the report is not understood: {error}"),
    )
    .todo("end the daemon with `benchhand stop` and try again; it may be of another version")
}

/// Makes the report from two text files, without daemon and store.
fn of_files(files: &Files) -> Result<Report, Refusal> {
    report(&files.inputs()).map_err(|error| {
        let words = error.to_string();
        match error {
            ReportError::Stage { .. } => {
                Refusal::new(Reason::NotFound, words).todo("name one of those with --stage")
            }
            _ => Refusal::new(Reason::BadInput, words),
        }
    })
}

/// Prints the report document of the demo's job: the same as `report` of that job.
///
/// # Errors
/// Why there is no report.
pub(super) fn of_demo(context: &mut Context, job: String) -> Result<(), Failure> {
    let request = JobReport {
        job: job.clone(),
        stage: None,
    };
    let document = ask(&*context.client()?, &request)?.document;
    let wanted = Wanted {
        job,
        ..Wanted::default()
    };
    told(context, document, None, &wanted)
}
