//! An index in memory: for a single command, or where the one on disk cannot be used.

use std::collections::BTreeMap;

use serde_json::Value;

use super::contract::Index;
use super::digest::{EngineRow, GaugeInJob, JobEntry, gauges_of, with_checks};
use super::rows::{IndexError, ReadingQuery, ReadingRow, in_order};
use crate::store::fact::ReadingId;
use crate::store::summary::JobSummary;

/// An index in memory.
#[derive(Debug, Default)]
pub struct MemoryIndex {
    jobs: BTreeMap<String, Held>,
}

#[derive(Debug)]
struct Held {
    entry: JobEntry,
    rows: BTreeMap<ReadingId, ReadingRow>,
    /// The figures, with the hash of the last line behind them.
    figures: Option<(String, Value)>,
}

impl MemoryIndex {
    /// Adds a job, or these rows of it.
    pub(crate) fn hold(&mut self, entry: &JobEntry, rows: &[ReadingRow]) {
        let known = self.jobs.entry(entry.summary.name.clone());
        let held = known.or_insert_with(|| Held {
            entry: entry.clone(),
            rows: BTreeMap::new(),
            figures: None,
        });
        held.entry.clone_from(entry);
        held.rows
            .extend(rows.iter().map(|row| (row.id, row.clone())));
    }

    /// The readings that a query asks for.
    pub(crate) fn find(&self, query: &ReadingQuery) -> Vec<ReadingRow> {
        let rows = self.jobs.values().flat_map(|held| held.rows.values());
        in_order(rows.filter(|row| query.matches(row)).cloned().collect())
    }

    /// The jobs with their engines and figures.
    pub(crate) fn engine_rows(&self) -> Vec<EngineRow> {
        let row = |held: &Held| EngineRow {
            summary: held.entry.summary.clone(),
            engine: held.entry.engine.clone(),
            figures: match &held.figures {
                Some((hash, figures)) if *hash == held.entry.summary.hash => Some(figures.clone()),
                _ => None,
            },
        };
        self.jobs.values().map(row).collect()
    }

    /// What the gauges measured.
    pub(crate) fn uses_of(&self, name: Option<&str>) -> Vec<GaugeInJob> {
        let of = |(job, held): (&String, &Held)| {
            let gauges = gauges_of(job, held.rows.values());
            with_checks(job, gauges, &held.entry.checks, name)
        };
        self.jobs.iter().flat_map(of).collect()
    }
}

impl Index for MemoryIndex {
    fn put(&mut self, job: &JobEntry, rows: &[ReadingRow]) -> Result<(), IndexError> {
        self.jobs.remove(&job.summary.name);
        self.hold(job, rows);
        Ok(())
    }

    fn update(
        &mut self,
        job: &JobEntry,
        rows: &[ReadingRow],
        _: &[(ReadingId, String)],
    ) -> Result<(), IndexError> {
        self.hold(job, rows);
        Ok(())
    }

    fn forget(&mut self, job: &str) -> Result<(), IndexError> {
        self.jobs.remove(job);
        Ok(())
    }

    fn hold_figures(&mut self, job: &str, hash: &str, figures: &Value) -> Result<(), IndexError> {
        if let Some(held) = self.jobs.get_mut(job) {
            held.figures = Some((hash.to_owned(), figures.clone()));
        }
        Ok(())
    }

    fn jobs(&self) -> Result<Vec<JobSummary>, IndexError> {
        let summary = |held: &Held| held.entry.summary.clone();
        Ok(self.jobs.values().map(summary).collect())
    }

    fn engines(&self) -> Result<Vec<EngineRow>, IndexError> {
        Ok(self.engine_rows())
    }

    fn gauge_uses(&self, name: Option<&str>) -> Result<Vec<GaugeInJob>, IndexError> {
        Ok(self.uses_of(name))
    }

    fn search(&self, query: &ReadingQuery) -> Result<Vec<ReadingRow>, IndexError> {
        Ok(self.find(query))
    }
}
