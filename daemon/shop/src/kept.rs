//! What the station itself has kept, told by whoever keeps it and read by the transport.

use std::collections::BTreeMap;
use std::sync::{Mutex, MutexGuard, PoisonError};

use tokio::sync::Notify;

use crate::record::JobId;

/// How far this station's own journals go.
#[derive(Debug, Default)]
pub(crate) struct KeptLines {
    ends: Mutex<BTreeMap<JobId, u64>>,
    /// Woken when one goes further.
    pub woken: Notify,
}

impl KeptLines {
    fn ends(&self) -> MutexGuard<'_, BTreeMap<JobId, u64>> {
        self.ends.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The own journal of a job goes up to that line. A lower number than before changes nothing.
    pub fn reached(&self, job: &JobId, number: u64) {
        let mut ends = self.ends();
        match ends.get_mut(job) {
            Some(end) => *end = number.max(*end),
            None => drop(ends.insert(job.clone(), number)),
        }
        drop(ends);
        self.woken.notify_one();
    }

    /// Forgets all journals, as this station is another one now.
    pub fn forget(&self) {
        self.ends().clear();
    }

    /// Where a journal ends; 0 where there is none.
    pub fn end(&self, job: &JobId) -> u64 {
        self.ends().get(job).copied().unwrap_or_default()
    }

    /// The journals that go further than `sent` says, each with its end.
    pub fn beyond(&self, sent: &BTreeMap<JobId, u64>) -> Vec<(JobId, u64)> {
        let further = |(job, end): (&JobId, &u64)| {
            let sent = sent.get(job).copied().unwrap_or_default();
            (*end > sent).then(|| (job.clone(), *end))
        };
        self.ends().iter().filter_map(further).collect()
    }

    /// How many lines `sent` lacks.
    pub fn waiting(&self, sent: &BTreeMap<JobId, u64>) -> u64 {
        let lacks = |(job, end): (&JobId, &u64)| {
            end.saturating_sub(sent.get(job).copied().unwrap_or_default())
        };
        self.ends().iter().map(lacks).sum()
    }
}
