//! The files of a job that was unpacked come into the data folder.

use std::path::Path;

use crate::store::archive::manifest::{ArchiveManifest, stream_of};
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

/// Writes the files under another name first, so that the job exists whole or not at all.
pub(super) fn put<'a>(
    files: &dyn Files,
    part: &Path,
    dir: &Path,
    contents: impl Iterator<Item = (&'a str, &'a [u8])>,
) -> Result<(), FileError> {
    files.remove(part)?;
    let (streams, stations) = (part.join(STREAMS), part.join(STATIONS));
    files.create_dir(&streams)?;
    let mut several = false;
    for (name, bytes) in contents {
        let path = match stream_of(name) {
            Some(stream) => streams.join(stream),
            None => part.join(name),
        };
        if station_of(name).is_some() && !several {
            files.create_dir(&stations)?;
            several = true;
        }
        files.replace(&path, bytes)?;
    }
    if several {
        files.sync_dir(&stations)?;
    }
    files.sync_dir(&streams)?;
    files.sync_dir(part)?;
    files.rename(part, dir)
}
