//! Requests answered inside this process, and what needs neither daemon nor store.

use std::path::{Path, PathBuf};

use benchhand_daemon::{Desk, demo as played, offline};
use benchhand_wire::{Carry, Played, Refusal, ReplayedStream};
use serde_json::Value;

use crate::client::Client;

/// The data folder without live gauges, answered here.
#[derive(Debug)]
pub(crate) struct Local {
    desk: Desk,
}

impl Local {
    /// Opens the data folder.
    ///
    /// # Errors
    /// Where it cannot be read or made.
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

/// Decodes the text of a recorded stream called `name`, with the profile `own` (its file's name
/// and its text) where one is given.
///
/// # Errors
/// Where the text is no recorded stream.
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
/// Where the text is no recorded stream.
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

/// What a demo left behind.
#[derive(Debug)]
pub(crate) struct DemoOutcome {
    /// The job that was measured.
    pub(crate) job: String,
    /// The folder in which everything is kept.
    pub(crate) data: PathBuf,
    /// What is worth saying about it.
    pub(crate) notes: Vec<String>,
}

/// Measures the invented engine with played gauges, keeping everything below `data`. Tells
/// `progress` how much is done, of how much, and what is being done.
///
/// # Errors
/// Where something that should not go wrong does.
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
