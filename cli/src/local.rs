//! Answers requests inside this process, with or without a store.

use std::path::{Path, PathBuf};

use benchhand_blueprint::Engine;
use benchhand_daemon::{Desk, backup, demo as played, offline};
use benchhand_wire::{BackupRestored, BackupWritten, Carry, Played, Refusal, ReplayedStream};
use serde_json::Value;

use crate::client::Client;

/// A client that answers from the data folder in this process, without live gauges.
#[derive(Debug)]
pub(crate) struct Local {
    desk: Desk,
}

impl Local {
    /// Opens the data folder.
    ///
    /// # Errors
    /// The folder cannot be read or made.
    pub(crate) fn open(data: &Path) -> Result<Self, Refusal> {
        Desk::open(data).map(|desk| Local { desk })
    }
}

impl Client for Local {
    fn call(
        &self,
        path: &str,
        body: Value,
        carry: Carry,
        key: Option<&str>,
    ) -> Result<Value, Refusal> {
        tracing::debug!(path, ?carry, "answering here");
        self.desk.dispatch(path, body, key)
    }
}

/// Decodes the text of a recorded stream called `name`. `own` is the user's profile, if there is
/// one: the name of its file, and its text.
///
/// # Errors
/// The text is not a recorded stream.
pub(crate) fn play(
    text: &str,
    name: &str,
    own: Option<&(String, String)>,
) -> Result<Played, Refusal> {
    offline::play(text, name, borrowed(own))
}

fn borrowed(own: Option<&(String, String)>) -> offline::OwnProfile<'_> {
    own.map(|(file, text)| (file.as_str(), text.as_str()))
}

/// Captures readings from the text of a recorded stream called `name`, by the rule of `mode`.
///
/// # Errors
/// The text is not a recorded stream.
pub(crate) fn replay(
    text: &str,
    name: &str,
    own: Option<&(String, String)>,
    mode: &str,
    turn: Option<&str>,
    count: Option<&str>,
) -> Result<ReplayedStream, Refusal> {
    offline::replay(text, name, borrowed(own), mode, turn, count)
}

/// What an import of these rows would ask about; nothing is kept.
pub(crate) fn row_doubts(engine: &Engine, csv: &str) -> Vec<String> {
    offline::row_doubts(engine, csv)
}

/// The result of a demo.
#[derive(Debug)]
pub(crate) struct DemoOutcome {
    /// The job that was measured.
    pub(crate) job: String,
    /// The folder in which everything is kept.
    pub(crate) data: PathBuf,
    /// Remarks for the person.
    pub(crate) notes: Vec<String>,
}

/// Measures the invented engine with played gauges and keeps everything below `data`. `progress`
/// gets the steps done, the number of steps, and the name of the step.
///
/// # Errors
/// An unexpected failure.
pub(crate) fn demo(
    data: &Path,
    progress: &mut dyn FnMut(u64, u64, &str),
) -> Result<DemoOutcome, Refusal> {
    let outcome = played::run(data, &mut |at| progress(at.done, at.total, &at.doing))?;
    Ok(DemoOutcome {
        job: outcome.job,
        data: outcome.data,
        notes: outcome.notes,
    })
}

/// Writes the whole data folder `data` to `out`, which is told as the file `name`. `progress` gets the
/// bytes done, those in all, and what is being done.
///
/// # Errors
/// The folder is not there, or the disk refuses.
pub(crate) fn back_up(
    data: &Path,
    out: impl std::io::Write,
    name: &str,
    progress: &mut dyn FnMut(u64, u64, &str),
) -> Result<BackupWritten, Refusal> {
    backup::back_up(data, out, name, &mut |at| {
        progress(at.done, at.total, at.doing);
    })
}

/// Makes the data folder `data` of a backup. `progress` as for [`back_up`].
///
/// # Errors
/// Something is in the folder, the file is not whole and sound, or the disk refuses.
pub(crate) fn restore(
    file: &Path,
    data: &Path,
    progress: &mut dyn FnMut(u64, u64, &str),
) -> Result<BackupRestored, Refusal> {
    backup::restore(file, data, &mut |at| {
        progress(at.done, at.total, at.doing);
    })
}
