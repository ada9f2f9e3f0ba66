//! The jobs whose record is known to be damaged, for lists that do not read the records.

use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};

use crate::store::summary::JobList;
use crate::store::watch::Finding;

/// The jobs whose record was looked at, with the damage in words; `None` where it is sound.
#[derive(Debug, Default)]
pub(super) struct DamagedJobs(Mutex<BTreeMap<String, Option<String>>>);

impl DamagedJobs {
    /// Notes that a record is damaged.
    pub(super) fn add(&self, job: &str, words: String) {
        let mut known = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        known.insert(job.to_owned(), Some(words));
    }

    /// Notes that a record is sound, or has been put right.
    pub(super) fn sound(&self, job: &str) {
        let mut known = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        known.insert(job.to_owned(), None);
    }

    /// Takes in what the slow check of the journals found.
    pub(super) fn take_in(&self, finding: &Finding) {
        match finding {
            Finding::Sound { job, .. } => self.sound(job),
            Finding::Wrong { job, error } => self.add(job, error.to_string()),
        }
    }

    /// Names the damage in a list of jobs.
    pub(super) fn name_in(&self, list: &mut JobList) {
        let known = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        for job in &mut list.jobs {
            if let Some(damage) = known.get(&job.name) {
                job.damage.clone_from(damage);
            }
        }
    }
}
