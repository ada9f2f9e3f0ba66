//! One place that answers every request, over HTTP or inside one process.

use std::path::Path;

use benchhand_wire::Refusal;
use serde_json::Value;

/// Answers requests on one data folder.
#[derive(Debug)]
pub struct Desk {}

impl Desk {
    /// Opens the data folder without live gauges, making it where it is not there yet.
    ///
    /// # Errors
    /// Where the folder cannot be read or made.
    pub fn open(data: &Path) -> Result<Desk, Refusal> {
        let _ = data;
        Ok(Desk {})
    }

    /// Answers the request at `path` (an [`Ask::PATH`](benchhand_wire::Ask::PATH)) with the
    /// JSON of its answer. `key` makes a repeated change count once. Blocks on the disk.
    ///
    /// # Errors
    /// The refusal, as it goes over the wire.
    pub fn dispatch(&self, path: &str, body: Value, key: Option<&str>) -> Result<Value, Refusal> {
        let _ = (body, key);
        Err(Refusal::new(
            benchhand_wire::Reason::NotFound,
            format!("no request is called {path:?}"),
        ))
    }
}
