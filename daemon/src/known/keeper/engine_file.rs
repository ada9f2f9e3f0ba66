//! A job's engine file, as the keeper finds it in the job's folder.

use benchhand_wire::Refusal;

use super::{Held, Keeper};
use crate::known::inputs::usable;
use crate::known::refusals::{of_job, of_store};
use crate::store::job::EngineFile;
use crate::store::job_engine::EngineOnDisk;

impl Keeper {
    /// Looks at a job's engine file again: a person may have edited it since the job was opened.
    ///
    /// # Errors
    /// Where the job is not there, or the disk refuses.
    pub fn engine_anew(&self, name: &str) -> Result<EngineFile, Refusal> {
        self.with_job(name, |job| job.load_engine(&usable).map_err(|e| of_job(&e)))
    }

    /// A job's engine file as it stands in the folder.
    ///
    /// # Errors
    /// Where the job is not there, or the disk refuses.
    pub fn engine_on_disk(&self, name: &str) -> Result<EngineOnDisk, Refusal> {
        // Opening the job would load an edit, which this only looks at.
        let open = |held: &Held| held.jobs.if_open(name, |job| job.engine_on_disk());
        if let Some(found) = self.held.as_ref().and_then(open) {
            return found.map_err(|e| of_job(&e));
        }
        self.with_store(|store| {
            let found = store.reader().engine_on_disk(name);
            found.map_err(|e| of_store(&e))
        })
    }
}
