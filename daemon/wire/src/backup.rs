//! The whole data folder as one file. No request carries it: what is here is what commands print.

use serde::{Deserialize, Serialize};

/// A backup that was written.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BackupWritten {
    /// The file.
    pub out: String,
    /// How many bytes the files in it have.
    pub bytes: u64,
    /// How many jobs are in it.
    pub jobs: usize,
    /// How many files are in it, those of the jobs too.
    pub files: usize,
    /// When it was begun, RFC 3339.
    pub made: String,
    /// The jobs whose record is damaged, each with what is wrong; it is in the backup as it was found.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub damaged: Vec<String>,
}

/// A data folder that was made of a backup.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BackupRestored {
    /// The data folder.
    pub data: String,
    /// How many jobs it has.
    pub jobs: usize,
    /// How many files it has, those of the jobs too.
    pub files: usize,
    /// When the backup was begun, RFC 3339.
    pub made: String,
    /// The jobs whose record was damaged already when the backup was written.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub damaged: Vec<String>,
}
