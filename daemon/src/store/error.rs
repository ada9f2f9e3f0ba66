//! Why a store did not do what was asked.

use std::path::PathBuf;

use crate::store::archive::fault::ArchiveFault;
use crate::store::job::JobError;
use crate::store::journal::JournalError;
use crate::store::lock::LockError;
use crate::store::name::BadName;
use benchhand_files::FileError;

/// The store did not do what was asked.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// Another process writes.
    #[error(transparent)]
    Lock(#[from] LockError),
    /// A name that cannot be one.
    #[error(transparent)]
    Name(#[from] BadName),
    /// No such job.
    #[error("there is no job {name:?} in {}; {}", .jobs.display(), known_jobs(.known))]
    NoJob {
        /// The name.
        name: String,
        /// Where the jobs lie.
        jobs: PathBuf,
        /// The jobs there are.
        known: Vec<String>,
    },
    /// A job of that name is there.
    #[error("a job {existing:?} is there already; choose another name than {name:?}")]
    JobExists {
        /// The name that was wanted.
        name: String,
        /// The name in use: some systems do not tell capital letters apart.
        existing: String,
    },
    /// A folder that is to be made holds something.
    #[error("{} holds something already; it was left as it is", .0.display())]
    NotEmpty(PathBuf),
    /// The store was opened for reading.
    #[error("the store was opened for reading, and this would write")]
    ReadOnly,
    /// The engine file of a new job cannot be used.
    #[error("the engine file cannot be used: {0}")]
    Engine(String),
    /// An archive was not made or not taken.
    #[error(transparent)]
    Archive(#[from] ArchiveFault),
    /// The job would not.
    #[error(transparent)]
    Job(#[from] JobError),
    /// The disk refused.
    #[error(transparent)]
    Files(#[from] FileError),
}

impl From<JournalError> for StoreError {
    fn from(error: JournalError) -> Self {
        StoreError::Job(error.into())
    }
}

fn known_jobs(known: &[String]) -> String {
    if known.is_empty() {
        "there is none yet: create one from an engine file".to_owned()
    } else {
        format!("there are {}", known.join(", "))
    }
}
