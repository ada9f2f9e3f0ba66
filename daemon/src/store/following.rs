//! Follows a job from its first fact to its last, with the view that each leads to: of all stations,
//! in the order that all of them compute alike.

use crate::store::error::StoreError;
use crate::store::followed::FollowedFact;
use crate::store::job::fold;
use crate::store::job_stations::JobStations;
use crate::store::journal::{JOURNAL, JournalError};
use crate::store::reader::Reader;
use crate::store::scan::scan;
use crate::store::view::JobView;

/// What refuses on the way: the store, or who follows.
#[derive(Debug)]
pub enum FollowError<E> {
    /// The store.
    Store(StoreError),
    /// Who follows.
    Follower(E),
}

impl Reader {
    /// Calls `each` with every fact of a job in the order of all stations, and with the job as it
    /// stands with it.
    ///
    /// # Errors
    /// When there is no such job, a line of its own journal is damaged, the disk refuses, or `each`
    /// refuses.
    pub fn follow<E>(
        &self,
        name: &str,
        mut each: impl FnMut(&JobView, FollowedFact<'_>) -> Result<(), E>,
    ) -> Result<(), FollowError<E>> {
        let store = FollowError::Store;
        let dir = self.job_dir(name).map_err(store)?;
        let files = &**self.files();
        let stations = JobStations::find_with_samples(files, &dir).map_err(|e| store(e.into()))?;
        let mut several = stations.filter(JobStations::has_others);
        let path = dir.join(JOURNAL);
        let bytes = match files.read(&path) {
            // This station has said nothing of a job that others measure.
            Err(error) if error.is_missing() && several.is_some() => Vec::new(),
            other => other.map_err(|e| store(e.into()))?,
        };
        let (mut view, mut refused) = (JobView::default(), None);
        let found = scan(&path, &bytes, None, |entry| {
            if let Some(several) = &mut several {
                several.take_own(entry);
                return Ok(());
            }
            let (id, fact) = (entry.seq, entry.fact.clone());
            fold(&mut view, entry)?;
            let (station, fact) = (None, &fact);
            if refused.is_none() {
                refused = each(&view, FollowedFact { id, station, fact }).err();
            }
            Ok(())
        });
        if let Some(refused) = refused {
            return Err(FollowError::Follower(refused));
        }
        if let Some(damage) = found.damage.into_iter().next() {
            return Err(store(JournalError::Damaged(Box::new(damage)).into()));
        }
        let Some(mut several) = several else {
            return Ok(());
        };
        several.fold().map_err(|e| store(e.into()))?;
        several.follow(each).map_err(FollowError::Follower)
    }
}
