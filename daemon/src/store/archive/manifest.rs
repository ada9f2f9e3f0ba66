//! What an archive says of itself, in its first entry.

use serde::{Deserialize, Serialize};

use crate::store::anchor::{ANCHOR, Anchor};
use crate::store::archive::fault::ArchiveFault;
use crate::store::fact::content_hash;
use crate::store::job::{ENGINE, STREAMS};
use crate::store::journal::JOURNAL;
use crate::store::other_journals::station_of;
use crate::store::station::StationId;
use crate::store::streams::gauge_and_number;

/// The name of the archive's first entry.
pub(crate) const MANIFEST: &str = "manifest.json";

/// The version of the archive of a job that one station alone has a journal of.
pub(crate) const ALONE: u64 = 1;

/// The version of the archive of a job of several stations, and the newest that is read.
pub(crate) const FORMAT: u64 = 2;

/// What an archive says of itself.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct ArchiveManifest {
    /// The version of the format.
    pub format: u64,
    /// The program that packed the job, with its version.
    pub program: String,
    /// The job's name.
    pub job: String,
    /// The last line of the journal of who packed it.
    pub end: Anchor,
    /// The station that packed it, where several have journals of the job.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub station: Option<StationId>,
    /// Whether the recorded streams are in it.
    pub streams: PackedStreams,
    /// Every other entry, in the order in which they follow.
    pub files: Vec<PackedFile>,
}

/// What became of the recorded streams.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum PackedStreams {
    /// They are in the archive.
    Packed,
    /// They were left out.
    LeftOut,
}

/// A file in an archive.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct PackedFile {
    /// Its name in the job's folder, with slashes.
    pub name: String,
    /// How many bytes it has.
    pub length: u64,
    /// BLAKE3 of its bytes, in hexadecimal.
    pub blake3: String,
}

impl PackedFile {
    /// What the manifest says of a file with these bytes.
    pub(crate) fn of(name: &str, bytes: &[u8]) -> Self {
        Self {
            name: name.to_owned(),
            length: bytes.len() as u64,
            blake3: content_hash(bytes),
        }
    }
}

impl ArchiveManifest {
    /// Reads a manifest.
    ///
    /// # Errors
    /// Where it is of a newer version, or no manifest.
    pub(crate) fn read(bytes: &[u8]) -> Result<Self, ArchiveFault> {
        #[derive(Deserialize)]
        struct Version {
            format: u64,
        }
        let strange = |error: serde_json::Error| {
            ArchiveFault::Strange(format!("{MANIFEST} cannot be read: {error}"))
        };
        let Version { format } = serde_json::from_slice(bytes).map_err(strange)?;
        if !(ALONE..=FORMAT).contains(&format) {
            return Err(match format > FORMAT {
                true => ArchiveFault::Newer {
                    found: format,
                    most: FORMAT,
                },
                false => ArchiveFault::Strange(format!("there is no version {format}")),
            });
        }
        let read: Self = serde_json::from_slice(bytes).map_err(strange)?;
        match read.station.is_some() == (format == FORMAT) {
            true => Ok(read),
            false => Err(ArchiveFault::Strange(format!(
                "version {ALONE} is of one station and version {FORMAT} of several"
            ))),
        }
    }
}

/// Whether an archive may hold a file of this name: the job's own, and nothing outside its folder.
pub(crate) fn is_of_job(name: &str) -> bool {
    let own = [ENGINE, JOURNAL, ANCHOR].contains(&name) || is_torn(name);
    own || stream_of(name).is_some() || station_of(name).is_some()
}

/// The name of a recorded stream in its folder, where `name` is that of one.
pub(crate) fn stream_of(name: &str) -> Option<&str> {
    let file = name.strip_prefix(STREAMS)?.strip_prefix('/')?;
    gauge_and_number(file).map(|_| file)
}

/// Whether it is the name of what a write that never ended left.
pub(crate) fn is_torn(name: &str) -> bool {
    let counts = name
        .strip_prefix("torn-")
        .and_then(|rest| rest.strip_suffix(".txt"))
        .and_then(|counts| counts.split_once('-'));
    let digits =
        |text: &str| (1..=20).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_digit());
    counts.is_some_and(|(seq, count)| digits(seq) && digits(count))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_files_of_a_job_have_names_that_are_taken() {
        for good in [
            "engine.toml",
            "journal.ndjson",
            "journal.end",
            "torn-7-1.txt",
            "streams/depth-2-001.ndjson",
            "streams/b.1-1000.ndjson",
            "stations/0123456789abcdef0123456789abcdef.ndjson",
        ] {
            assert!(is_of_job(good), "{good}");
        }
        for bad in [
            "",
            "/engine.toml",
            "./engine.toml",
            "../engine.toml",
            "streams/../engine.toml",
            "streams/..-001.ndjson",
            "streams/a/b-001.ndjson",
            "streams\\b-001.ndjson",
            "streams/",
            "streams/notes.txt",
            "stations/0123456789abcdef0123456789abcdeg.ndjson",
            "stations/../0123456789abcdef0123456789abcdef.ndjson",
            "torn-7.txt",
            "torn-7-../x.txt",
            "manifest.json",
            "ENGINE.TOML",
        ] {
            assert!(!is_of_job(bad), "{bad}");
        }
    }
}
