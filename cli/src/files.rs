//! Reads an engine file and a CSV of readings for the blueprint, without daemon and store.

use std::path::Path;

use benchhand_blueprint::readings::from_csv;
use benchhand_blueprint::report::ReportInputs;
use benchhand_blueprint::{Engine, Reading};
use benchhand_wire::{Place, Reason, Refusal};

use crate::data::{read_text, shown};
use crate::show;

/// An engine with its readings.
#[derive(Debug)]
pub(crate) struct Files {
    engine: Engine,
    readings: Vec<Reading>,
    stage: Option<String>,
}

impl Files {
    /// Reads both files.
    ///
    /// # Errors
    /// A file is missing or has mistakes. Each mistake is named at its line.
    pub(crate) fn read(
        engine: &Path,
        readings: &Path,
        stage: Option<String>,
    ) -> Result<Files, Refusal> {
        let (text, csv) = (read_text(engine)?, read_text(readings)?);
        let engine = engine_of(&text, &shown(engine))?;
        let readings = readings_of(&csv, &shown(readings), &engine)?;
        Ok(Files {
            engine,
            readings,
            stage,
        })
    }

    /// The engine.
    pub(crate) fn engine(&self) -> &Engine {
        &self.engine
    }

    /// The inputs of the blueprint.
    pub(crate) fn inputs(&self) -> ReportInputs<'_> {
        ReportInputs {
            engine: &self.engine,
            readings: &self.readings,
            stages: &[],
            stage: self.stage.as_deref(),
        }
    }
}

/// Reads an engine file's text.
///
/// # Errors
/// The mistakes, each at its line.
pub(crate) fn engine_of(text: &str, name: &str) -> Result<Engine, Refusal> {
    Engine::from_toml(text).map_err(|faults| {
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
        refused("engine file", name, faults.count(), places.collect())
            .todo("correct the engine file and ask again")
    })
}

fn readings_of(csv: &str, name: &str, engine: &Engine) -> Result<Vec<Reading>, Refusal> {
    from_csv(csv, engine).map_err(|faults| {
        csv_refused("file of readings", name, &faults)
            .todo("correct the rows and ask again; no row was used")
    })
}

/// The refusal of a CSV. It names each mistake at its line.
pub(crate) fn csv_refused(
    what: &str,
    name: &str,
    faults: &benchhand_blueprint::readings::CsvFaults,
) -> Refusal {
    let places = faults.faults.iter().map(|fault| {
        let about = if fault.field.is_empty() {
            String::new()
        } else {
            format!("{}: ", fault.field)
        };
        let line = usize::try_from(fault.line).unwrap_or(usize::MAX);
        (line, fault.column, format!("{about}{}", fault.message))
    });
    refused(what, name, faults.count(), places.collect())
}

/// The refusal of a file with so many faults in `all`, of which some are shown.
fn refused(what: &str, name: &str, all: usize, places: Vec<(usize, usize, String)>) -> Refusal {
    let mut faults = show::count(all, "fault", "faults");
    if places.len() < all {
        faults += &format!(", the first {} are shown", places.len());
    }
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
