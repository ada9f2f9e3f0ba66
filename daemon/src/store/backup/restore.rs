//! Makes a data folder of a backup, whole or not at all.

use std::collections::BTreeMap;
use std::io::{Read, Seek};
use std::path::{Path, PathBuf};

use super::manifest::{BackupManifest, MANIFEST, MANIFEST_HASH};
use super::progress::BackupProgress;
use super::read::{CheckedBackup, check};
use crate::store::archive::entries::{each_entry, in_pieces};
use crate::store::archive::fault::ArchiveFault;
use crate::store::error::StoreError;
use benchhand_files::{FileError, Files};

/// Makes the data folder `to` of a backup. The whole backup is checked before the first byte is
/// written; the folder has another name until all of it is on the disk.
///
/// # Errors
/// Where something is in `to` already, the backup is not whole and sound, or the disk refuses. Then
/// nothing is under that name.
pub(crate) fn restore(
    files: &dyn Files,
    mut from: impl Read + Seek,
    length: u64,
    to: &Path,
    told: &mut dyn FnMut(BackupProgress<'_>),
) -> Result<BackupManifest, StoreError> {
    free(files, to)?;
    let CheckedBackup { manifest } = check(&mut from, length, told)?;
    let part = unfinished(to);
    let put = put(files, &mut from, &manifest, &part, length, told).and_then(|()| {
        free(files, to)?;
        // An empty folder holds the name.
        files.remove(to)?;
        files.rename(&part, to)?;
        Ok(())
    });
    if put.is_err() {
        // What cannot be removed now has a name that says what it is.
        let _ = files.remove(&part);
    }
    put.map(|()| manifest)
}

/// Refuses a folder that holds anything.
fn free(files: &dyn Files, to: &Path) -> Result<(), StoreError> {
    match files.list(to) {
        Err(error) if error.is_missing() => Ok(()),
        Ok(listed) if listed.is_empty() => Ok(()),
        Ok(_) => Err(StoreError::NotEmpty(to.to_owned())),
        Err(error) => Err(error.into()),
    }
}

/// The folder's name while it is being made.
fn unfinished(to: &Path) -> PathBuf {
    let mut name = std::ffi::OsString::from(".");
    name.push(to.file_name().unwrap_or_default());
    name.push(".restoring");
    to.with_file_name(name)
}

fn put(
    files: &dyn Files,
    from: &mut (impl Read + Seek),
    manifest: &BackupManifest,
    part: &Path,
    length: u64,
    told: &mut dyn FnMut(BackupProgress<'_>),
) -> Result<(), StoreError> {
    files.remove(part)?;
    files.create_dir(part)?;
    let said: BTreeMap<&str, &str> = manifest
        .files
        .iter()
        .map(|file| (file.name.as_str(), file.blake3.as_str()))
        .collect();
    let mut folders = vec![part.to_owned()];
    let mut refused: Option<FileError> = None;
    let read = each_entry(from, |name, entry, at| {
        told(BackupProgress {
            done: at,
            total: length,
            doing: name,
        });
        if name == MANIFEST || name == MANIFEST_HASH {
            return Ok(());
        }
        let path = part.join(name);
        let mut write = || -> Result<Result<String, ArchiveFault>, FileError> {
            if let Some(folder) = path.parent()
                && !folders.iter().any(|known| known == folder)
            {
                files.create_dir(folder)?;
                folders.push(folder.to_owned());
            }
            let mut file = files.open_append(&path)?;
            let mut stopped = None;
            let written = in_pieces(name, entry, |piece| {
                file.append(piece).map_err(|error| {
                    stopped = Some(error);
                    ArchiveFault::Damaged(String::new())
                })
            });
            match stopped {
                Some(error) => Err(error),
                None => {
                    file.sync_data()?;
                    Ok(written.map(|(_, hash)| hash))
                }
            }
        };
        match write() {
            Ok(Ok(hash)) if said.get(name) == Some(&hash.as_str()) => Ok(()),
            Ok(Ok(_)) => Err(ArchiveFault::Damaged(format!(
                "{name} is not what it was when the file was checked"
            ))),
            Ok(Err(fault)) => Err(fault),
            Err(error) => {
                refused = Some(error);
                Err(ArchiveFault::Damaged(String::new()))
            }
        }
    });
    if let Some(error) = refused {
        return Err(error.into());
    }
    read?;
    // A job without a recorded stream has the folder all the same, as a new one has.
    for job in &manifest.jobs {
        let streams = part.join("jobs").join(&job.job).join("streams");
        files.create_dir(&streams)?;
        folders.push(streams);
    }
    for folder in folders.iter().rev() {
        files.sync_dir(folder)?;
    }
    Ok(())
}
