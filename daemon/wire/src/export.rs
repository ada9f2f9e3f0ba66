//! What the commands that write files of a job for other programs say afterwards.

use serde::{Deserialize, Serialize};

/// A workbook that a command wrote.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct WorkbookWritten {
    /// The file.
    pub out: String,
    /// The stage whose figures are in it.
    pub stage: String,
    /// How many readings are in it.
    pub readings: usize,
}

/// Tables that a command wrote.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct TablesWritten {
    /// The folder.
    pub out: String,
    /// The names of the files in it.
    pub files: Vec<String>,
}
