//! The whole data folder in one file, while others write to it, and the folder made of it again.
//!
//! Needs no lock and no daemon: what is read is what the journals hold. A daemon on the same folder
//! may go on.

use std::fs::File;
use std::io::{BufReader, Write};
use std::path::Path;
use std::sync::Arc;

use benchhand_files::RealFiles;
use benchhand_wire::{BackupRestored, BackupWritten, Reason, Refusal};

use crate::clock::{Clock as _, SystemClock};
use crate::known::refusals::of_store;
use crate::store::backup::manifest::BackupManifest;
pub use crate::store::backup::progress::BackupProgress;
use crate::store::backup::restore::restore as restored;
use crate::store::backup::write::back_up as written;
use crate::store::layout::Layout;
use crate::store::reader::Reader;

/// Writes the data folder `data` to `out`, of which the answer tells as of the file `name`.
///
/// # Errors
/// Where there is no such folder, or the disk refuses. What was written then is no backup.
pub fn back_up(
    data: &Path,
    out: impl Write,
    name: &str,
    told: &mut dyn FnMut(BackupProgress<'_>),
) -> Result<BackupWritten, Refusal> {
    if !data.is_dir() {
        let found = format!("there is no data folder {}", data.display());
        return Err(Refusal::new(Reason::NotFound, found).todo("name one with --data DIR"));
    }
    let reader = Reader::new(Layout::new(data), Arc::new(RealFiles));
    let now = SystemClock::new().now_utc();
    let manifest = written(&reader, now, out, told).map_err(|error| of_store(&error))?;
    Ok(BackupWritten {
        out: name.to_owned(),
        bytes: manifest.files.iter().map(|file| file.length).sum(),
        jobs: manifest.jobs.len(),
        files: manifest.files.len(),
        damaged: damaged(&manifest),
        made: manifest.made,
    })
}

/// Makes the data folder `data` of the backup in `file`: whole or not at all, and over nothing.
///
/// # Errors
/// Where something is in `data`, the backup is not whole and sound, or the disk refuses.
pub fn restore(
    file: &Path,
    data: &Path,
    told: &mut dyn FnMut(BackupProgress<'_>),
) -> Result<BackupRestored, Refusal> {
    let unread = |error: std::io::Error| {
        let found = format!("{} cannot be read: {error}", file.display());
        Refusal::new(Reason::NotFound, found).todo("name a file that `benchhand backup` wrote")
    };
    let from = File::open(file).map_err(unread)?;
    let length = from.metadata().map_err(unread)?.len();
    let from = BufReader::new(from);
    let manifest = restored(&RealFiles, from, length, data, told);
    let manifest = manifest.map_err(|error| {
        let refusal = of_store(&error);
        match refusal.reason {
            Reason::Damaged | Reason::BadInput => Refusal {
                found: format!("{}: {}", file.display(), refusal.found),
                ..refusal
            }
            .todo("take another copy of the file"),
            _ => refusal,
        }
    })?;
    Ok(BackupRestored {
        data: data.display().to_string(),
        jobs: manifest.jobs.len(),
        files: manifest.files.len(),
        damaged: damaged(&manifest),
        made: manifest.made,
    })
}

/// The jobs whose record was damaged, each with what is wrong.
fn damaged(manifest: &BackupManifest) -> Vec<String> {
    let all = manifest.jobs.iter();
    let told = all.filter_map(|one| Some(format!("{}: {}", one.job, one.damage.as_ref()?)));
    told.collect()
}
