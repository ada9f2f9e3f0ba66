//! What every index does.

use serde_json::Value;

use super::digest::{EngineRow, GaugeInJob, JobEntry};
use super::rows::{IndexError, ReadingQuery, ReadingRow};
use crate::store::fact::ReadingId;
use crate::store::summary::JobSummary;

/// Lists and searches over many jobs.
pub trait Index: Send {
    /// Replaces what the index knew of a job.
    ///
    /// # Errors
    /// When the index is of no use any more.
    fn put(&mut self, job: &JobEntry, rows: &[ReadingRow]) -> Result<(), IndexError>;

    /// Replaces a job's entry. Rows with new numbers are added; others replace the rows with the
    /// same number. `left` names the spots that rows were moved away from.
    ///
    /// # Errors
    /// When the index is of no use any more.
    fn update(
        &mut self,
        job: &JobEntry,
        rows: &[ReadingRow],
        left: &[(ReadingId, String)],
    ) -> Result<(), IndexError>;

    /// Forgets a job.
    ///
    /// # Errors
    /// When the index is of no use any more.
    fn forget(&mut self, job: &str) -> Result<(), IndexError>;

    /// Holds the figures of a job that were made when its journal ended with the line of this hash.
    /// They are shown until another line follows.
    ///
    /// # Errors
    /// When the index is of no use any more.
    fn hold_figures(&mut self, job: &str, hash: &str, figures: &Value) -> Result<(), IndexError>;

    /// Every job, in the order of the names.
    ///
    /// # Errors
    /// When the index is of no use any more.
    fn jobs(&self) -> Result<Vec<JobSummary>, IndexError>;

    /// Every job with its engine and figures, in the order of the names.
    ///
    /// # Errors
    /// When the index is of no use any more.
    fn engines(&self) -> Result<Vec<EngineRow>, IndexError>;

    /// What every gauge, or the one of this name, measured in each job, in the order of the jobs'
    /// and then the gauges' names.
    ///
    /// # Errors
    /// When the index is of no use any more.
    fn gauge_uses(&self, name: Option<&str>) -> Result<Vec<GaugeInJob>, IndexError>;

    /// The readings that a query asks for, in the order of their times, jobs and numbers.
    ///
    /// # Errors
    /// When the index is of no use any more.
    fn search(&self, query: &ReadingQuery) -> Result<Vec<ReadingRow>, IndexError>;
}
