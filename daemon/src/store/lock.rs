//! One writer at a time.
//!
//! The lock is the operating system's, on a file of ours, so it ends with its process however that
//! ends. The holder is written beside it for people to read; the lock itself tells whether it is
//! held.

use std::time::{Duration, Instant};

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use crate::store::layout::Layout;
use benchhand_files::{FileError, Files};

/// How often to look at the lock again.
const LOOK_AGAIN: Duration = Duration::from_millis(50);

/// Who writes to a data folder.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Holder {
    /// The process.
    pub pid: u32,
    /// What the process does, in a person's words: `serve`, `reading import`.
    pub what: String,
    /// Since when the process holds the lock.
    pub since: Timestamp,
}

/// The lock could not be taken.
#[derive(Debug, thiserror::Error)]
pub enum LockError {
    /// Another process has it.
    #[error(
        "{} is being written to by {}; waited {} s: let it finish, stop it, or use it instead",
        .root.display(), holder_text(.holder), .waited.as_secs()
    )]
    Held {
        /// The data folder.
        root: std::path::PathBuf,
        /// The process that has the lock, where that could be read.
        holder: Option<Holder>,
        /// How long was waited for the lock.
        waited: Duration,
    },
    /// The disk refused.
    #[error(transparent)]
    Files(#[from] FileError),
}

fn holder_text(holder: &Option<Holder>) -> String {
    match holder {
        Some(Holder { pid, what, since }) => {
            format!("process {pid} ({what}, since {since:.0})")
        }
        None => "another process".to_owned(),
    }
}

/// The right to write, until it is dropped.
pub(crate) struct Lock(#[expect(dead_code, reason = "held, not used")] Box<dyn Send + Sync>);

impl std::fmt::Debug for Lock {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Lock")
    }
}

/// Takes the lock on a data folder, waiting up to `wait` for another to let go of it.
pub(crate) fn take(
    files: &dyn Files,
    layout: &Layout,
    holder: &Holder,
    wait: Duration,
) -> Result<Lock, LockError> {
    let began = Instant::now();
    loop {
        if let Some(held) = files.try_lock(&layout.lock())? {
            let text = serde_json::to_vec(holder).unwrap_or_default();
            // It is for people to read; on a full disk the lock holds without it.
            if let Err(error) = files.replace(&layout.holder(), &text) {
                tracing::warn!(%error, "nobody can read who holds the lock");
            }
            return Ok(Lock(held));
        }
        let waited = began.elapsed();
        if waited >= wait {
            let (root, holder) = (layout.root().to_owned(), read_holder(files, layout));
            return Err(LockError::Held {
                root,
                holder,
                waited,
            });
        }
        std::thread::sleep(LOOK_AGAIN.min(wait - waited));
    }
}

/// Whether somebody holds the lock on a data folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum LockSeen {
    /// Nobody does.
    Free,
    /// This one does, where that could be read.
    Held(Option<Holder>),
}

/// Whether somebody holds the lock now. Where there is no lock yet, none is made.
///
/// # Errors
/// The disk refuses.
pub(crate) fn seen(files: &dyn Files, layout: &Layout) -> Result<LockSeen, FileError> {
    let there = layout.lock().exists();
    if !there || files.try_lock(&layout.lock())?.is_some() {
        return Ok(LockSeen::Free);
    }
    Ok(LockSeen::Held(read_holder(files, layout)))
}

fn read_holder(files: &dyn Files, layout: &Layout) -> Option<Holder> {
    serde_json::from_slice(&files.read(&layout.holder()).ok()?).ok()
}
