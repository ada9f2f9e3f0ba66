//! A job as one file: packed here, unpacked there.

use serde::{Deserialize, Serialize};

use crate::job::{CopyOf, JobSummary};
use crate::{Ask, Carry};

/// The most bytes that a job's archive may have where a request or an answer carries it: in base64 it
/// still fits one.
pub const LARGEST_ARCHIVE: u64 = 700 << 20;

/// Asks for a job as one file.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct PackJob {
    /// The job's name.
    pub job: String,
    /// Whether the recorded streams are left out.
    #[serde(default)]
    pub without_streams: bool,
    /// An empty file that is there, by its whole path on the daemon's machine: the archive is written
    /// into it, and the answer carries none. Without it the answer carries the archive.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub path: Option<String>,
    /// A name of the asker's own, by which `work/how-far` tells how far it is; at most 64 letters.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub work: Option<String>,
}

/// A job as one file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct JobPacked {
    /// The file, in base64 (RFC 4648, with padding); absent where it was written to a path.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub archive: Option<String>,
    /// The number of bytes of the file itself.
    pub bytes: u64,
    /// How many of the job's files are in it.
    pub files: u64,
    /// The number of the last fact in it.
    pub seq: u64,
    /// The hash of the journal's last line in it, in hexadecimal.
    pub head: String,
    /// How many recorded streams were left out.
    pub streams_left_out: u64,
    /// What lies in the job's folder and is none of the job's files; it is not in the archive.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub foreign: Vec<String>,
}

impl Ask for PackJob {
    const PATH: &'static str = "jobs/pack";
    const CARRY: Carry = Carry::Inquiry;
    type Answer = JobPacked;
}

/// Takes a job from a file into the data folder, whole or not at all.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct UnpackJob {
    /// The file, in base64 (RFC 4648, with padding).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub archive: Option<String>,
    /// Where the file lies on the daemon's machine, by its whole path, in place of `archive`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub path: Option<String>,
    /// The file's name, for messages.
    pub file: String,
    /// The name of a copy with an identity of its own; where absent the job keeps its name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// A name of the asker's own, by which `work/how-far` tells how far it is; at most 64 letters.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub work: Option<String>,
}

/// A job that was unpacked.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct JobUnpacked {
    /// The job as it is here.
    pub summary: JobSummary,
    /// How many files it has.
    pub files: u64,
    /// Whether the recorded streams had been left out.
    pub without_streams: bool,
    /// The job of which it is a copy.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub copy_of: Option<CopyOf>,
}

impl Ask for UnpackJob {
    const PATH: &'static str = "jobs/unpack";
    const CARRY: Carry = Carry::Change;
    type Answer = JobUnpacked;
}

/// An archive of a job that a command wrote.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ArchiveWritten {
    /// The file.
    pub out: String,
    /// The job.
    pub job: String,
    /// How many bytes the file has.
    pub bytes: u64,
    /// How many files are in it.
    pub files: u64,
    /// The number of the last fact in it.
    pub seq: u64,
    /// The hash of that fact's line, in hexadecimal.
    pub head: String,
    /// How many recorded streams were left out.
    pub streams_left_out: u64,
    /// What lies in the job's folder and is none of the job's files; it was left out.
    pub foreign: Vec<String>,
}
