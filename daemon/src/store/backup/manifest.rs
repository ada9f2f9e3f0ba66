//! What a backup says of itself, behind its files.

use serde::{Deserialize, Serialize};

use crate::store::anchor::Anchor;
use crate::store::archive::fault::ArchiveFault;
use crate::store::archive::manifest::{PackedFile, is_of_job};
use crate::store::name::check_name;
use crate::store::other_journals::{ENGINE_BASE, station_of};
use crate::store::station::STATION;

/// The name of the last entry but one.
pub(super) const MANIFEST: &str = "backup.json";
/// The name of the last entry: the hash of the one before, in hexadecimal.
pub(super) const MANIFEST_HASH: &str = "backup.blake3";
/// The version of the format that this program writes, and the newest it reads.
pub(super) const FORMAT: u64 = 1;
/// The shop's own file.
pub(super) const SHOP: &str = "shop.toml";
/// The folder of the jobs, as names in a backup begin.
pub(super) const JOBS: &str = "jobs/";
/// The folders of text files that people edit.
pub(super) const FOLDERS: [&str; 3] = ["gauges", "profiles", "routes"];

/// What a backup says of itself.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct BackupManifest {
    /// The version of the format.
    pub format: u64,
    /// The program that wrote it, with its version.
    pub program: String,
    /// When it was begun, RFC 3339.
    pub made: String,
    /// The jobs, in the order of their names.
    pub jobs: Vec<BackedUpJob>,
    /// Every file, in the order in which they stand in the backup.
    pub files: Vec<PackedFile>,
}

/// A job in a backup.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct BackedUpJob {
    /// Its name.
    pub job: String,
    /// The last line of its journal.
    pub end: Anchor,
    /// What is wrong with its record, which is in the backup as it was found.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub damage: Option<String>,
}

/// The job and the file in its folder that a name in a backup is about.
pub(super) fn of_job(name: &str) -> Option<(&str, &str)> {
    name.strip_prefix(JOBS)?.split_once('/')
}

/// Whether a backup may hold a file of this name.
pub(super) fn is_of_backup(name: &str) -> bool {
    if let Some((job, file)) = of_job(name) {
        let named = is_of_job(file) || file == ENGINE_BASE || station_of(file).is_some();
        return check_name("job", job).is_ok() && named;
    }
    match name.split_once('/') {
        Some((folder, file)) => FOLDERS.contains(&folder) && is_plain(file),
        None => name == SHOP || name == STATION || is_mark(name),
    }
}

/// Whether it is the name of a file that lies in its folder itself, and of none that is hidden.
fn is_plain(name: &str) -> bool {
    let letters = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.' | ' ');
    name.ends_with(".toml")
        && !name.starts_with('.')
        && name.len() <= 100
        && name.chars().all(letters)
}

/// Whether it may be the name of the picture beside the shop's file.
pub(super) fn is_mark(name: &str) -> bool {
    let ending = name
        .rsplit_once('.')
        .map(|(_, ending)| ending.to_ascii_lowercase());
    let picture = ending.is_some_and(|ending| ending == "svg" || ending == "png");
    let odd = |c: char| c.is_control() || matches!(c, '/' | '\\' | ':');
    picture && !name.starts_with('.') && name.len() <= 100 && !name.chars().any(odd)
}

impl BackupManifest {
    /// Reads a manifest.
    ///
    /// # Errors
    /// Where it is of a newer version, or no manifest.
    pub(super) fn read(bytes: &[u8]) -> Result<Self, ArchiveFault> {
        #[derive(Deserialize)]
        struct Version {
            format: u64,
        }
        let strange = |error: serde_json::Error| {
            ArchiveFault::Strange(format!("{MANIFEST} cannot be read: {error}"))
        };
        let Version { format } = serde_json::from_slice(bytes).map_err(strange)?;
        match format {
            FORMAT => serde_json::from_slice(bytes).map_err(strange),
            newer if newer > FORMAT => Err(ArchiveFault::Newer {
                found: newer,
                most: FORMAT,
            }),
            _ => Err(ArchiveFault::Strange(format!(
                "there is no version {format}"
            ))),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_files_of_a_data_folder_have_names_that_are_taken() {
        for good in [
            "shop.toml",
            "mark.svg",
            "Our Mark.PNG",
            "gauges/dial-2.toml",
            "profiles/own.toml",
            "routes/long.toml",
            "jobs/v8/journal.ndjson",
            "jobs/v8/streams/dial-001.ndjson",
        ] {
            assert!(is_of_backup(good), "{good}");
        }
        for bad in [
            "",
            "lock",
            "daemon.json",
            "index/conf",
            "../shop.toml",
            "/shop.toml",
            "gauges/../lock.toml",
            "gauges/.hidden.toml",
            "gauges/a/b.toml",
            "jobs/../journal.ndjson",
            "jobs/v8/../../lock",
            "jobs/v8/notes.txt",
            "jobs/journal.ndjson",
            "a/mark.svg",
            "backup.json",
        ] {
            assert!(!is_of_backup(bad), "{bad}");
        }
    }
}
