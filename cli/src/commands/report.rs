//! `report`: of a job, or of an engine file and a CSV file alone.

use std::path::Path;

use benchhand_blueprint::Engine;
use benchhand_blueprint::readings::from_csv;
use benchhand_blueprint::report::{Inputs, Report, ReportError, report};
use benchhand_wire::{JobReport, Place, Reason, Refusal};

use crate::bench::Bench;
use crate::client::ask;
use crate::data::{read_text, shown};
use crate::errors::{Exit, Failure};
use crate::{args, show};

/// Reports.
///
/// # Errors
/// Why there is no report.
pub(super) fn run(bench: &mut Bench, args: args::Report) -> Result<Exit, Failure> {
    let stage = args.stage;
    if let (Some(engine), Some(readings)) = (args.engine, args.readings) {
        let report = of_files(&engine, &readings, stage.as_deref())?;
        bench.answer(&report, show::report::whole)?;
    } else if let Some(job) = args.job {
        of_job(bench, JobReport { job, stage })?;
    }
    Ok(Exit::Done)
}

/// Prints the report of a job.
fn of_job(bench: &mut Bench, request: JobReport) -> Result<(), Failure> {
    let document = ask(&*bench.client()?, &request)?.document;
    if bench.json {
        // As it came: a newer daemon may say more than this version knows of.
        bench.out.document(&document)?;
    } else {
        let report: Report = serde_json::from_value(document).map_err(|error| {
            Refusal::new(
                Reason::Unavailable,
                format!("the report is not understood: {error}"),
            )
            .todo(
                "end the daemon with `benchhand stop` and try again; it may be of another version",
            )
        })?;
        bench.out.text(&show::report::whole(&report))?;
    }
    Ok(())
}

/// Makes the report from two text files, without daemon and store.
fn of_files(engine: &Path, readings: &Path, stage: Option<&str>) -> Result<Report, Refusal> {
    let engine_text = read_text(engine)?;
    let csv = read_text(readings)?;
    from_texts(
        (&engine_text, &shown(engine)),
        (&csv, &shown(readings)),
        stage,
    )
}

/// As [`of_files`], from each file's text and name.
fn from_texts(
    (engine_text, engine_name): (&str, &str),
    (csv, csv_name): (&str, &str),
    stage: Option<&str>,
) -> Result<Report, Refusal> {
    let engine = Engine::from_toml(engine_text).map_err(|faults| {
        let places = faults.faults.iter().map(|fault| {
            let about = if fault.key.is_empty() {
                String::new()
            } else {
                format!("{}: ", fault.key)
            };
            let help = if fault.help.is_empty() {
                String::new()
            } else {
                format!("; {}", fault.help)
            };
            (
                fault.line,
                fault.column,
                format!("{about}{}{help}", fault.message),
            )
        });
        refused("engine file", engine_name, places.collect())
            .todo("correct the engine file and report again")
    })?;
    let readings = from_csv(csv, &engine).map_err(|faults| {
        let places = faults.faults.iter().map(|fault| {
            let about = if fault.field.is_empty() {
                String::new()
            } else {
                format!("{}: ", fault.field)
            };
            let line = usize::try_from(fault.line).unwrap_or(usize::MAX);
            (line, fault.column, format!("{about}{}", fault.message))
        });
        refused("file of readings", csv_name, places.collect())
            .todo("correct the rows and report again; no row was used")
    })?;
    report(&Inputs {
        engine: &engine,
        readings: &readings,
        stages: &[],
        stage,
    })
    .map_err(|error| {
        let words = error.to_string();
        match error {
            ReportError::Stage { .. } => {
                Refusal::new(Reason::NotFound, words).todo("name one of those with --stage")
            }
            _ => Refusal::new(Reason::BadInput, words),
        }
    })
}

fn refused(what: &str, name: &str, places: Vec<(usize, usize, String)>) -> Refusal {
    let faults = show::count(places.len(), "fault", "faults");
    let found = format!("the {what} {name} cannot be used: {faults}");
    places
        .into_iter()
        .fold(Refusal::new(Reason::BadInput, found), |refusal, place| {
            let (line, column, text) = place;
            refusal.at(Place {
                file: name.to_owned(),
                line,
                column,
                text,
            })
        })
}

/// Prints the report document of the demo's job: the same as `report` of that job.
///
/// # Errors
/// Why there is no report.
pub(super) fn of_demo(bench: &mut Bench, job: String) -> Result<(), Failure> {
    of_job(bench, JobReport { job, stage: None })
}
