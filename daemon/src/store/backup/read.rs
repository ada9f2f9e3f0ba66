//! Reads a backup to its end and believes nothing of it that does not fit.

use std::collections::BTreeMap;
use std::io::{Read, Seek};
use std::path::Path;

use tar::Entry;

use super::manifest::{BackupManifest, MANIFEST, MANIFEST_HASH, is_of_backup, of_job};
use super::progress::BackupProgress;
use crate::store::anchor::{ANCHOR, Anchor};
use crate::store::archive::entries::{cut_off, each_entry, in_pieces, only_zeros, whole};
use crate::store::archive::fault::ArchiveFault;
use crate::store::archive::manifest::PackedFile;
use crate::store::fact::content_hash;
use crate::store::job::fold;
use crate::store::journal::JOURNAL;
use crate::store::scan::scan;
use crate::store::view::JobView;

/// A backup whose every byte is what it says of itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct CheckedBackup {
    /// What it says of itself.
    pub manifest: BackupManifest,
}

/// What was read of one job.
#[derive(Debug, Default)]
struct ReadJob {
    anchor: Option<Anchor>,
    end: Option<Anchor>,
    wrong: Option<String>,
}

/// Reads a backup from its beginning to its end: every name, every hash, every line of every journal.
/// Of `from` nothing is kept; `length` is how many bytes it has.
///
/// # Errors
/// Where anything is not as it should be.
pub(crate) fn check(
    mut from: impl Read + Seek,
    length: u64,
    told: &mut dyn FnMut(BackupProgress<'_>),
) -> Result<CheckedBackup, ArchiveFault> {
    let (mut found, mut jobs) = (Vec::new(), BTreeMap::<String, ReadJob>::new());
    let (mut manifest, mut hash) = (None, None);
    let end = each_entry(&mut from, |name, entry, at| {
        told(BackupProgress {
            done: at,
            total: length,
            doing: name,
        });
        if hash.is_some() || manifest.is_some() && name != MANIFEST_HASH {
            return Err(ArchiveFault::entry(name, "it stands behind the manifest"));
        }
        match name {
            MANIFEST => manifest = Some(whole(name, entry)?),
            MANIFEST_HASH => hash = Some(whole(name, entry)?),
            name if !is_of_backup(name) => {
                return Err(ArchiveFault::entry(
                    name,
                    "no file of a data folder is called so",
                ));
            }
            name => found.push(looked_at(name, entry, &mut jobs)?),
        }
        Ok(())
    })?;
    let text = manifest.ok_or_else(cut_off)?;
    let said = hash.ok_or_else(cut_off)?;
    if said != content_hash(&text).as_bytes() {
        let why = format!("the bytes of {MANIFEST} give another hash than {MANIFEST_HASH} says");
        return Err(ArchiveFault::Damaged(why));
    }
    only_zeros(&mut from, end)?;
    let manifest = BackupManifest::read(&text)?;
    agrees(&manifest, &found, &jobs)?;
    Ok(CheckedBackup { manifest })
}

/// A file of the backup as it was found; a journal is read line by line.
fn looked_at(
    name: &str,
    entry: &mut Entry<'_, impl Read>,
    jobs: &mut BTreeMap<String, ReadJob>,
) -> Result<PackedFile, ArchiveFault> {
    let size = entry.size();
    if let Some((job, _)) = of_job(name) {
        jobs.entry(job.to_owned()).or_default();
    }
    if let Some((job, file)) = of_job(name)
        && (file == JOURNAL || file == ANCHOR)
    {
        let bytes = whole(name, entry)?;
        let read = jobs.entry(job.to_owned()).or_default();
        match file {
            ANCHOR => read.anchor = serde_json::from_slice(&bytes).ok(),
            _ => journal(job, &bytes, read),
        }
        return complete(PackedFile::of(name, &bytes), size);
    }
    let (length, blake3) = in_pieces(name, entry, |_| Ok(()))?;
    let file = PackedFile {
        name: name.to_owned(),
        length,
        blake3,
    };
    complete(file, size)
}

/// Refuses a file of which not all bytes are there.
fn complete(file: PackedFile, size: u64) -> Result<PackedFile, ArchiveFault> {
    match file.length == size {
        true => Ok(file),
        false => Err(cut_off()),
    }
}

/// Follows a job's record from its first line to its last.
fn journal(job: &str, bytes: &[u8], read: &mut ReadJob) {
    let mut view = JobView::default();
    let path = Path::new(job).join(JOURNAL);
    // Of several stations a journal says what does not fit by itself alone.
    let mut several = false;
    let scan = scan(&path, bytes, read.anchor.as_ref(), |entry| {
        several |= entry.beside.stamp.is_some();
        match several {
            true => Ok(()),
            false => fold(&mut view, entry),
        }
    });
    let other = || format!("its journal is that of {:?}", view.name());
    let wrong = scan.record.map(|fault| fault.to_string());
    let wrong = wrong.or_else(|| scan.damage.first().map(ToString::to_string));
    let named = view.name() == job || several && view.name().is_empty();
    let wrong = wrong.or_else(|| (!named).then(other));
    read.wrong = wrong
        .or_else(|| (!scan.torn.is_empty()).then(|| "its last line was never finished".to_owned()));
    read.end = Some(Anchor {
        seq: scan.next_seq.saturating_sub(1),
        hash: scan.last_hash,
    });
}

/// Whether what was found is what the manifest says, no more and no less.
fn agrees(
    manifest: &BackupManifest,
    found: &[PackedFile],
    jobs: &BTreeMap<String, ReadJob>,
) -> Result<(), ArchiveFault> {
    let damaged = |why: String| Err(ArchiveFault::Damaged(why));
    let mut folded = BTreeMap::new();
    for file in found {
        // Not every file system tells capital letters apart.
        if folded.insert(file.name.to_ascii_lowercase(), ()).is_some() {
            return Err(ArchiveFault::entry(&file.name, "it stands there twice"));
        }
    }
    let pairs = manifest.files.iter().zip(found);
    if let Some((said, _)) = pairs.clone().find(|(said, found)| said != found) {
        return damaged(format!("{} is not what the manifest says", said.name));
    }
    if manifest.files.len() != found.len() {
        return damaged("it has not as many files as its manifest says".to_owned());
    }
    if manifest.jobs.len() != jobs.len() {
        return damaged("it has not as many jobs as its manifest says".to_owned());
    }
    for said in &manifest.jobs {
        let Some(read) = jobs.get(&said.job) else {
            return damaged(format!("the job {:?} is missing", said.job));
        };
        // Of a job of which this station said nothing, other stations alone have journals.
        if said.end == Anchor::of_nothing() && read.end.is_none() && read.anchor.is_none() {
            continue;
        }
        if read.end.is_none() {
            return damaged(format!("the record of {:?} is missing", said.job));
        }
        // A record that was damaged before is there as it was found, by its hash.
        if said.damage.is_some() {
            continue;
        }
        if let Some(wrong) = &read.wrong {
            return damaged(format!("the record of {:?}: {wrong}", said.job));
        }
        if read.end.as_ref() != Some(&said.end) || read.anchor.as_ref() != Some(&said.end) {
            return damaged(format!(
                "the record of {:?} does not end as the manifest says",
                said.job
            ));
        }
    }
    Ok(())
}
