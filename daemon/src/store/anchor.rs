//! The end of a journal as it was known last, in a small file beside it.
//!
//! A chain shows that no line is missing before its last one. That the last ones are there it
//! cannot show; the anchor does. It is written when a job is opened and closed for writing, after
//! the line that it names was synced, so it never knows more than was acknowledged. An anchor that
//! cannot be read says nothing.

use std::path::Path;

use benchhand_files::{FileError, Files};
use serde::{Deserialize, Serialize};

use crate::store::line::NO_LINE;

/// The anchor's file name in a job's folder.
pub const ANCHOR: &str = "journal.end";

/// The last line of a journal as it was known last.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Anchor {
    /// The number of the line's last fact.
    pub seq: u64,
    /// The line's hash, in hexadecimal.
    pub hash: String,
}

impl Anchor {
    /// The anchor in a job's folder.
    pub(crate) fn read(files: &dyn Files, dir: &Path) -> Option<Anchor> {
        let bytes = files.read(&dir.join(ANCHOR)).ok()?;
        serde_json::from_slice(&bytes).ok()
    }

    /// The end of a journal that has no line.
    pub(crate) fn of_nothing() -> Anchor {
        Anchor {
            seq: 0,
            hash: NO_LINE.to_owned(),
        }
    }

    /// Writes the anchor where it says something new.
    ///
    /// # Errors
    /// When the disk refuses. Then the one before is still there.
    pub(crate) fn write(&self, files: &dyn Files, dir: &Path) -> Result<(), FileError> {
        if Anchor::read(files, dir).as_ref() == Some(self) {
            return Ok(());
        }
        files.replace(&dir.join(ANCHOR), self.text().as_bytes())
    }

    /// The anchor as its file holds it.
    pub(crate) fn text(&self) -> String {
        serde_json::json!({ "seq": self.seq, "hash": self.hash }).to_string()
    }
}
