//! `report`: about a job, or about an engine file and a CSV file alone.

use benchhand_blueprint::report::{Report, ReportError, report};
use benchhand_wire::{JobReport, Reason, Refusal};
use benchhand_words::{ShortReport, decide as decided, full};

use serde_json::Value;

use super::decide;
use crate::client::ask;
use crate::context::Context;
use crate::data::{read_text, shown};
use crate::errors::{Exit, Failure};
use crate::files::Files;
use crate::out::Out;
use crate::{args, local, show};

/// Prints a report.
///
/// # Errors
/// Why there is no report.
pub(super) fn run(context: &mut Context, args: args::ReportArgs) -> Result<Exit, Failure> {
    let simulated = match args.simulate {
        Some(trials) => Some(decide::simulated(context, &args.of, trials, args.seed)?),
        None => None,
    };
    let (document, kept) =
        if let (Some(engine), Some(readings)) = (&args.of.engine, &args.of.readings) {
            let files = Files::read(engine, readings, args.of.stage.clone())?;
            let report = of_files(&files)?;
            for doubt in local::row_doubts(files.engine(), &read_text(readings)?) {
                tracing::warn!("look at {} again, {doubt}", shown(readings));
            }
            let document = serde_json::to_value(report).map_err(|error| not_understood(&error))?;
            (document, None)
        } else {
            let request = JobReport {
                job: args.of.job.clone().unwrap_or_default(),
                stage: args.of.stage.clone(),
            };
            let answer = ask(&*context.client()?, &request)?;
            (answer.document, answer.kept)
        };
    let wanted = Wanted {
        kept,
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
    /// When the stage's last reading was kept, where that is known.
    kept: Option<String>,
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
        false => {
            let short = ShortReport::new(&report, &wanted.job, wanted.kept.as_deref());
            let text = short.text();
            // What to do now has scrolled away where the terminal is shorter than the report.
            let scrolls = |shown| text.lines().count() + 1 > shown;
            match Out::lines_shown().is_some_and(scrolls) {
                true => format!("{text}\n{}", short.first_step()),
                false => text,
            }
        }
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
    let answer = ask(&*context.client()?, &request)?;
    let document = answer.document;
    let wanted = Wanted {
        job,
        kept: answer.kept,
        ..Wanted::default()
    };
    told(context, document, None, &wanted)
}
