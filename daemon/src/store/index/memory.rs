//! An index in memory: for one command's needs, and where the one on disk cannot be used.

use std::collections::BTreeMap;

use super::rows::{Index, IndexError, Query, Row, in_order};
use crate::store::fact::ReadingId;
use crate::store::summary::JobSummary;

/// An index in memory.
#[derive(Debug, Default)]
pub struct MemoryIndex {
    jobs: BTreeMap<String, (JobSummary, BTreeMap<ReadingId, Row>)>,
}

impl MemoryIndex {
    /// Adds a job, or these rows of it.
    pub(crate) fn hold(&mut self, summary: &JobSummary, rows: &[Row]) {
        let known = self.jobs.entry(summary.name.clone());
        let (line, known) = known.or_insert_with(|| (summary.clone(), BTreeMap::new()));
        line.clone_from(summary);
        known.extend(rows.iter().map(|row| (row.id, row.clone())));
    }

    /// What a query asks for.
    pub(crate) fn find(&self, query: &Query) -> Vec<Row> {
        let rows = self.jobs.values().flat_map(|(_, rows)| rows.values());
        in_order(rows.filter(|row| query.matches(row)).cloned().collect())
    }
}

impl Index for MemoryIndex {
    fn put(&mut self, summary: &JobSummary, rows: &[Row]) -> Result<(), IndexError> {
        self.jobs.remove(&summary.name);
        self.hold(summary, rows);
        Ok(())
    }

    fn update(&mut self, summary: &JobSummary, rows: &[Row]) -> Result<(), IndexError> {
        self.hold(summary, rows);
        Ok(())
    }

    fn forget(&mut self, job: &str) -> Result<(), IndexError> {
        self.jobs.remove(job);
        Ok(())
    }

    fn jobs(&self) -> Result<Vec<JobSummary>, IndexError> {
        Ok(self
            .jobs
            .values()
            .map(|(summary, _)| summary.clone())
            .collect())
    }

    fn search(&self, query: &Query) -> Result<Vec<Row>, IndexError> {
        Ok(self.find(query))
    }
}
