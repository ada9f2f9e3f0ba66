//! The jobs that changed since the index was last brought in step.
//!
//! Facts may come faster than the index takes them in. Those of one job are then taken in together,
//! from its latest view, so that nothing piles up.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;

use crate::store::fact::ReadingId;
use crate::store::index::{Index, IndexError, JobEntry, ReadingRow};
use crate::store::view::JobView;

/// So many engine files are known with their digests; a daemon that runs for a season sees more jobs.
const KNOWN_ENGINES: usize = 64;

/// The jobs that changed, each with its latest view and the readings that were touched.
#[derive(Default)]
pub(super) struct ChangedJobs {
    jobs: BTreeMap<String, (JobView, BTreeSet<ReadingId>)>,
    /// The digest of each job's engine file with the file's hash, so that a file is not read again
    /// for every fact.
    engines: BTreeMap<String, (String, Option<Value>)>,
}

impl ChangedJobs {
    /// Adds a change.
    pub(super) fn add(&mut self, view: JobView, touched: Vec<ReadingId>) {
        let name = view.name().to_owned();
        match self.jobs.get_mut(&name) {
            Some((latest, ids)) => {
                *latest = view;
                ids.extend(touched);
            }
            None => drop(
                self.jobs
                    .insert(name, (view, touched.into_iter().collect())),
            ),
        }
    }

    /// Puts the changes into the index, and has none then.
    ///
    /// # Errors
    /// As the index.
    pub(super) fn put_into(
        &mut self,
        index: &mut dyn Index,
        digest: fn(&str) -> Option<Value>,
    ) -> Result<(), IndexError> {
        for (name, (view, touched)) in std::mem::take(&mut self.jobs) {
            let engine = |text: &str| self.engine(&name, &view, text, digest);
            let entry = JobEntry::of(&view, engine);
            let touched = touched.iter().filter_map(|id| view.reading(*id));
            let (mut rows, mut left) = (Vec::new(), Vec::new());
            for reading in touched {
                let from = reading.moves.iter().map(|moved| &moved.from);
                let from = from.filter(|from| **from != reading.spot);
                left.extend(from.map(|from| (reading.id, from.clone())));
                rows.push(ReadingRow::of(&name, reading));
            }
            index.update(&entry, &rows, &left)?;
        }
        Ok(())
    }

    fn engine(
        &mut self,
        job: &str,
        view: &JobView,
        text: &str,
        digest: fn(&str) -> Option<Value>,
    ) -> Option<Value> {
        let hash = &view.engine()?.hash;
        if let Some((of, digest)) = self.engines.get(job)
            && of == hash
        {
            return digest.clone();
        }
        let digest = digest(text);
        let known = (hash.clone(), digest.clone());
        if self.engines.len() >= KNOWN_ENGINES {
            self.engines.clear();
        }
        self.engines.insert(job.to_owned(), known);
        digest
    }
}
