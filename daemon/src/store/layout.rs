//! Where everything lies under the data folder.

use std::path::{Path, PathBuf};

/// The data folder and the places in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Layout {
    root: PathBuf,
}

impl Layout {
    /// The places under this data folder.
    #[must_use]
    pub fn new(root: impl Into<PathBuf>) -> Self {
        Self { root: root.into() }
    }

    /// The data folder itself.
    #[must_use]
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// The folder of all jobs.
    #[must_use]
    pub fn jobs(&self) -> PathBuf {
        self.root.join("jobs")
    }

    /// A job's folder.
    #[must_use]
    pub fn job(&self, name: &str) -> PathBuf {
        self.jobs().join(name)
    }

    /// The folder of a job's recorded streams.
    #[must_use]
    pub fn streams(&self, job: &str) -> PathBuf {
        self.job(job).join("streams")
    }

    /// The folder of the index, which can be thrown away at any time.
    #[must_use]
    pub fn index(&self) -> PathBuf {
        self.root.join("index")
    }

    /// The shop's gauge register, one text file a gauge.
    #[must_use]
    pub fn gauges(&self) -> PathBuf {
        self.root.join("gauges")
    }

    /// The shop's own profiles.
    #[must_use]
    pub fn profiles(&self) -> PathBuf {
        self.root.join("profiles")
    }

    /// The shop's own routes.
    #[must_use]
    pub fn routes(&self) -> PathBuf {
        self.root.join("routes")
    }

    /// The file that is locked by whoever writes.
    #[must_use]
    pub fn lock(&self) -> PathBuf {
        self.root.join("lock")
    }

    /// Who holds the lock. It stands beside the locked file because some systems let nobody
    /// read a locked one.
    #[must_use]
    pub fn holder(&self) -> PathBuf {
        self.root.join("lock-holder.json")
    }

    /// Where a running daemon says how it is reached.
    #[must_use]
    pub fn endpoint(&self) -> PathBuf {
        self.root.join("daemon.json")
    }
}
