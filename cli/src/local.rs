//! Requests answered inside this process, and what needs neither daemon nor store.

use std::path::Path;

use benchhand_daemon::Desk;
use benchhand_wire::{Carry, Refusal};
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
