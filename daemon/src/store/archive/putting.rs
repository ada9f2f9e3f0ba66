//! The files of a job that was unpacked come into the data folder.

use std::io::{Read, Seek};
use std::path::Path;

use crate::store::archive::entries::{each_entry, in_pieces};
use crate::store::archive::fault::ArchiveFault;
use crate::store::archive::manifest::{ArchiveManifest, MANIFEST, stream_of};
use crate::store::archive::read::is_of_record;
use crate::store::error::StoreError;
use crate::store::job::STREAMS;
use crate::store::other_journals::{STATIONS, station_of};
use crate::store::view::JobView;
use benchhand_files::{FileError, Files};

/// A job that was unpacked.
#[derive(Debug)]
pub(crate) struct UnpackedJob {
    /// The job as it is here.
    pub view: JobView,
    /// What the archive said of itself.
    pub manifest: ArchiveManifest,
}

/// Writes the files under another name first, so that the job exists whole or not at all: those of
/// the record as they are given, all others from the archive, which was checked.
pub(super) fn put<'a>(
    files: &dyn Files,
    (part, dir): (&Path, &Path),
    record: impl Iterator<Item = (&'a str, &'a [u8])>,
    manifest: &ArchiveManifest,
    from: &mut (impl Read + Seek),
) -> Result<(), StoreError> {
    files.remove(part)?;
    let (streams, stations) = (part.join(STREAMS), part.join(STATIONS));
    files.create_dir(&streams)?;
    let mut several = false;
    for (name, bytes) in record {
        if station_of(name).is_some() && !several {
            files.create_dir(&stations)?;
            several = true;
        }
        files.replace(&part.join(name), bytes)?;
    }
    let mut refused: Option<FileError> = None;
    let mut copied_here = 0;
    let read = each_entry(from, |name, entry, _| {
        if name == MANIFEST || is_of_record(name) {
            return Ok(());
        }
        let path = match stream_of(name) {
            Some(stream) => streams.join(stream),
            None => part.join(name),
        };
        match copied(files, &path, name, entry) {
            Err(error) => {
                refused = Some(error);
                Err(changed(name))
            }
            Ok(hash) => {
                let hash = hash?;
                let mut said = manifest.files.iter();
                match said.any(|said| said.name == name && said.blake3 == hash) {
                    true => {
                        copied_here += 1;
                        Ok(())
                    }
                    false => Err(changed(name)),
                }
            }
        }
    });
    if let Some(error) = refused {
        return Err(error.into());
    }
    read?;
    let beside = manifest
        .files
        .iter()
        .filter(|file| !is_of_record(&file.name));
    if beside.count() != copied_here {
        return Err(changed("it").into());
    }
    if several {
        files.sync_dir(&stations)?;
    }
    files.sync_dir(&streams)?;
    files.sync_dir(part)?;
    Ok(files.rename(part, dir)?)
}

/// Copies an entry into a file, piece by piece. Returns the hash of what was copied, or what is wrong
/// with the entry.
fn copied(
    files: &dyn Files,
    path: &Path,
    name: &str,
    entry: &mut impl Read,
) -> Result<Result<String, ArchiveFault>, FileError> {
    let mut file = files.open_append(path)?;
    let mut refused = None;
    let read = in_pieces(name, entry, |piece| {
        file.append(piece).map_err(|error| {
            refused = Some(error);
            changed(name)
        })
    });
    match refused {
        Some(error) => Err(error),
        None => {
            file.sync_data()?;
            Ok(read.map(|(_, hash)| hash))
        }
    }
}

/// The archive is another one than when it was checked.
fn changed(name: &str) -> ArchiveFault {
    ArchiveFault::Damaged(format!(
        "{name} is not what it was when the file was checked"
    ))
}
