//! Readings from a file: all of them are kept, or none.

use benchhand_blueprint::Engine;
use benchhand_blueprint::readings as blueprint;
use benchhand_blueprint::readings::{CsvFault, CsvFaults, ReadingValue, from_csv};
use benchhand_wire::{ImportReadings, Imported, Reason, Refusal};

use super::{Answers, Desk};
use crate::known::doubted_rows;
use crate::known::initials::by;
use crate::known::inputs;
use crate::known::refusals::of_csv;
use crate::known::told;
use crate::store::fact::{ASKED, Fact, ImportedReadings, Reading, ReadingSource, content_hash};
use crate::store::view::JobView;

impl Answers<ImportReadings> for Desk {
    fn answer(&self, ask: ImportReadings, key: Option<&str>) -> Result<Imported, Refusal> {
        let by = by(&self.keeper, ask.by)?;
        let (view, _) = self.keeper.view(&ask.job)?;
        let engine = told::engine(&self.keeper, &view)?;
        let read = from_csv(&ask.csv, &engine).map_err(|e| of_csv(&e, &ask.file))?;
        let header = ask
            .csv
            .lines()
            .find(|line| !line.starts_with('#'))
            .unwrap_or_default();
        let stages_named = header
            .split([',', ';'])
            .any(|name| name.trim().eq_ignore_ascii_case("stage"));
        let mut rows: Vec<Reading> = read
            .iter()
            .filter_map(|reading| inputs::imported(reading, stages_named))
            .collect();
        rows.iter_mut().for_each(|row| row.by.clone_from(&by));
        let lines: Vec<u64> = read.iter().map(line_of).collect();
        let unfit = unfit_rows(&view, &read, stages_named);
        if !unfit.is_empty() {
            return Err(of_csv(&CsvFaults::new(unfit), &ask.file));
        }
        let before = self
            .keeper
            .with_job(&ask.job, |job| Ok(key.and_then(|key| job.kept_under(key))))?;
        match before {
            // A repeated request must give the same fact as before.
            Some(first) => {
                for (id, row) in (first..).zip(&mut rows) {
                    let asked = view.reading(id).and_then(|kept| kept.labels.get(ASKED));
                    let asked = asked.map(|asked| (ASKED.to_owned(), asked.clone()));
                    row.labels.extend(asked);
                }
            }
            None => {
                if !ask.sure {
                    were_imported(&view, &rows)?;
                }
                ask_about_rows(&engine, view.clone(), (&mut rows, &lines), ask.sure)?;
            }
        }
        let hash = content_hash(ask.csv.as_bytes());
        let readings = rows.len();
        let import = ImportedReadings {
            file: ask.file,
            hash,
            rows,
        };
        let parts = import.rows.iter().flat_map(|row| &row.parts);
        let of_parts = parts.filter_map(|part| part.gauge.as_deref());
        let named = import.rows.iter().filter_map(|row| row.gauge.as_deref());
        let remark = self.unknown_gauges(&engine, named.chain(of_parts))?;
        let gauges = import.rows.iter().filter_map(|row| row.gauge.as_deref());
        let ack =
            self.keep_with_gauges(&ask.job, gauges, key, |_| Ok(Fact::Import(import.clone())))?;
        let (view, _) = self.keeper.view(&ask.job)?;
        self.announce_readings(&ask.job, &view, ack.touched);
        Ok(Imported {
            id: ack.seq,
            readings,
            remark,
        })
    }
}

/// The line of the file at which a reading begins.
fn line_of(reading: &blueprint::Reading) -> u64 {
    let number = reading.id.strip_prefix("line ");
    number.and_then(|number| number.parse().ok()).unwrap_or(0)
}

/// What no row may be, for each row: a flow without its test pressure, a stage that the job has not.
fn unfit_rows(view: &JobView, read: &[blueprint::Reading], stages_named: bool) -> Vec<CsvFault> {
    let known: Vec<&str> = view
        .stages()
        .iter()
        .map(|stage| stage.name.as_str())
        .collect();
    let of = |reading: &blueprint::Reading| {
        let untested = matches!(&reading.value, ReadingValue::Flow(flow) if flow.test.is_none());
        let (field, message) = if untested {
            (
                "spot",
                format!("{} has no test pressure; add its row", reading.spot),
            )
        } else if stages_named && !known.contains(&reading.stage.as_str()) {
            let stages = known.join(", ");
            let message = format!(
                "there is no stage {:?}; the job's stages are {stages}",
                reading.stage
            );
            ("stage", message)
        } else {
            return None;
        };
        Some(CsvFault {
            line: line_of(reading),
            column: 1,
            field: field.to_owned(),
            message,
        })
    };
    read.iter().filter_map(of).collect()
}

/// Refuses rows that were all imported before: a second import of one notebook is no second round.
///
/// # Errors
/// [`Reason::Conflict`] where each row is there already, imported at the same spot and stage.
fn were_imported(view: &JobView, rows: &[Reading]) -> Result<(), Refusal> {
    let is_there = |row: &Reading| {
        let stage = row.stage.as_deref().unwrap_or_else(|| view.stage());
        view.newest_at(stage, &row.spot).any(|kept| {
            kept.source == ReadingSource::Imported
                && kept.value == row.value
                && kept.unit == row.unit
                && row.round.is_none_or(|round| kept.round == Some(round))
        })
    };
    if rows.is_empty() || !rows.iter().all(is_there) {
        return Ok(());
    }
    let found = format!("all {} rows were imported before", rows.len());
    Err(Refusal::new(Reason::Conflict, found).todo(
        "nothing was kept; if these are repeats that came out alike, import them once more with --sure",
    ))
}

/// How many doubtful rows are named.
const NAMED: usize = 20;

/// Compares each row with what the job and the rows before it lead to expect. Rows that a person is
/// sure of carry the question that was not asked.
///
/// # Errors
/// [`Reason::Conflict`] with the rows that lie far off.
fn ask_about_rows(
    engine: &Engine,
    mut view: JobView,
    (rows, lines): (&mut [Reading], &[u64]),
    sure: bool,
) -> Result<(), Refusal> {
    let mut doubts = Vec::new();
    for (at, doubt) in doubted_rows::doubts(engine, &mut view, rows)? {
        doubts.push(format!("line {}: {doubt}", lines[at]));
        rows[at].labels.insert(ASKED.to_owned(), doubt);
    }
    if doubts.is_empty() || sure {
        return Ok(());
    }
    let more = doubts.len().saturating_sub(NAMED);
    doubts.truncate(NAMED);
    let more = if more > 0 {
        format!("; and {more} rows more, told once these are mended")
    } else {
        String::new()
    };
    Err(
        Refusal::new(Reason::Conflict, format!("{}{more}", doubts.join("; ")))
            .todo("look again; if they are right, import once more with --sure. Nothing was kept"),
    )
}
