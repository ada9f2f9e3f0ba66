//! Several facts that are kept together or not at all.

use benchhand_wire::Refusal;

use super::keeper::Keeper;
use super::refusals::of_job;
use crate::store::fact::{Fact, ReadingId};
use crate::store::job::{Ack, Job};

impl Keeper {
    /// Keeps the facts that `make` makes of the job as it stands: all of them, or none.
    ///
    /// # Errors
    /// As for [`Keeper::append_with`].
    pub fn append_together(
        &self,
        name: &str,
        key: Option<&str>,
        make: impl FnOnce(&Job) -> Result<Vec<Fact>, Refusal>,
    ) -> Result<Vec<Ack>, Refusal> {
        let acks = self.with_job(name, |job| {
            let facts = make(job)?;
            job.append_together(facts, key).map_err(|e| of_job(&e))
        })?;
        let touched: Vec<ReadingId> = acks.iter().flat_map(|ack| ack.touched.clone()).collect();
        self.tell_lists(name, &touched);
        Ok(acks)
    }
}
