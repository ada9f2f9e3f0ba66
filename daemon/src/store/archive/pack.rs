//! Packs a job's folder, as it stands, into one file.

use std::path::Path;

use tar::{Builder, EntryType, Header};

use crate::store::anchor::{ANCHOR, Anchor};
use crate::store::archive::fault::ArchiveFault;
use crate::store::archive::manifest::{
    ALONE, ArchiveManifest, FORMAT, MANIFEST, PackedFile, PackedStreams, is_torn, stream_of,
};
use crate::store::error::StoreError;
use crate::store::job::{ENGINE, STREAMS};
use crate::store::job_stations::card_of;
use crate::store::journal::{JOURNAL, JournalError};
use crate::store::other_journals::{self, ENGINE_BASE, STATIONS, name_of};
use crate::store::reader::Reader;
use crate::store::scan::scan;
use benchhand_files::{FileError, Files};

/// A job as one file.
#[derive(Debug)]
pub(crate) struct PackedJob {
    /// The file.
    pub bytes: Vec<u8>,
    /// What it says of itself.
    pub manifest: ArchiveManifest,
    /// How many recorded streams were left out.
    pub streams_left_out: usize,
    /// What lies in the job's folder and is none of the job's files; it was left out.
    pub foreign: Vec<String>,
}

/// What lies in a job's folder beside its journal.
#[derive(Debug, Default)]
pub(crate) struct Beside {
    pub(crate) names: Vec<String>,
    pub(crate) streams: Vec<String>,
    foreign: Vec<String>,
}

impl Reader {
    /// Packs a job. The journal ends with the line `upto` where that is given, as who writes knows
    /// it, and otherwise with its last whole line. The archive may have `most` bytes.
    ///
    /// # Errors
    /// When there is no such job, its record is damaged, it is too large, or the disk refuses.
    pub(crate) fn pack(
        &self,
        job: &str,
        upto: Option<&Anchor>,
        streams: PackedStreams,
        most: u64,
    ) -> Result<PackedJob, StoreError> {
        let (dir, files) = (self.job_dir(job)?, &**self.files());
        let others = other_journals::read_all(files, &dir)?;
        let card = card_of(files, &dir)?.filter(|_| !others.is_empty());
        let record = match (record(files, &dir, upto), &card) {
            (Ok(record), _) => Some(record),
            // This station has said nothing of the job.
            (Err(StoreError::Files(error)), Some(_)) if error.is_missing() => None,
            (Err(error), _) => return Err(error),
        };
        let mut beside = beside(files, &dir)?;
        let mut streams_left_out = 0;
        match streams {
            PackedStreams::Packed => beside.names.append(&mut beside.streams),
            PackedStreams::LeftOut => streams_left_out = beside.streams.len(),
        }
        let others = others.into_iter().filter(|_| card.is_some());
        let others = others.map(|(station, bytes)| (name_of(&station), bytes));
        let mut contents: Vec<(String, Vec<u8>)> = others.collect();
        let end = match record {
            Some((journal, end)) => {
                contents.push((ANCHOR.to_owned(), end.text().into_bytes()));
                contents.push((JOURNAL.to_owned(), journal));
                end
            }
            None => Anchor::of_nothing(),
        };
        let mut bytes: u64 = contents.iter().map(|(_, bytes)| bytes.len() as u64).sum();
        for name in &beside.names {
            bytes += files.len(&dir.join(name))?;
        }
        if bytes > most {
            return Err(ArchiveFault::TooLarge { bytes, most }.into());
        }
        for name in beside.names {
            let bytes = files.read(&dir.join(&name))?;
            contents.push((name, bytes));
        }
        contents.sort();
        let listed = contents.iter().map(|(name, b)| PackedFile::of(name, b));
        let manifest = ArchiveManifest {
            format: if card.is_some() { FORMAT } else { ALONE },
            program: concat!("benchhand ", env!("CARGO_PKG_VERSION")).to_owned(),
            job: job.to_owned(),
            end,
            station: card.map(|card| card.station),
            streams,
            files: listed.collect(),
        };
        let bytes = written(&manifest, &contents);
        Ok(PackedJob {
            bytes: bytes.map_err(|error| FileError::new("pack", &dir, error))?,
            manifest,
            streams_left_out,
            foreign: beside.foreign,
        })
    }
}

/// The journal up to where it is packed, and how it ends there.
fn record(
    files: &dyn Files,
    dir: &Path,
    upto: Option<&Anchor>,
) -> Result<(Vec<u8>, Anchor), StoreError> {
    // The anchor first: it never knows more than the journal that is read after it.
    let anchor = Anchor::read(files, dir);
    let path = dir.join(JOURNAL);
    let mut journal = files.read(&path)?;
    if let Some(end) = upto.and_then(|upto| after_line(&journal, &upto.hash)) {
        journal.truncate(end);
    }
    let later = |anchor: &Anchor| upto.is_some_and(|upto| upto.seq < anchor.seq);
    let anchor = anchor.filter(|anchor| !later(anchor));
    let scan = scan(&path, &journal, anchor.as_ref(), |_| Ok(()));
    if let Some(fault) = scan.record {
        return Err(JournalError::from(fault).into());
    }
    if let Some(damage) = scan.damage.into_iter().next() {
        return Err(JournalError::Damaged(Box::new(damage)).into());
    }
    let whole = usize::try_from(scan.sound_len).unwrap_or(usize::MAX);
    journal.truncate(whole);
    let end = Anchor {
        seq: scan.next_seq - 1,
        hash: scan.last_hash,
    };
    Ok((journal, end))
}

/// Where the line with this hash ends.
fn after_line(journal: &[u8], hash: &str) -> Option<usize> {
    let ending = format!("{hash}\"}}\n");
    let mut end = journal.len();
    for line in journal.split_inclusive(|byte| *byte == b'\n').rev() {
        if line.ends_with(ending.as_bytes()) {
            return Some(end);
        }
        end -= line.len();
    }
    None
}

/// Looks at what lies in a job's folder.
pub(crate) fn beside(files: &dyn Files, dir: &Path) -> Result<Beside, StoreError> {
    let mut found = Beside::default();
    for listed in files.list(dir)? {
        match listed.name.as_str() {
            JOURNAL | ANCHOR => {}
            STREAMS | STATIONS if listed.is_dir => {}
            // Others load an engine from its text.
            ENGINE_BASE => {}
            name if !listed.is_dir && (name == ENGINE || is_torn(name)) => {
                found.names.push(listed.name);
            }
            _ => found.foreign.push(listed.name),
        }
    }
    let folder = match files.list(&dir.join(STREAMS)) {
        Err(error) if error.is_missing() => Vec::new(),
        other => other?,
    };
    for listed in folder {
        let name = format!("{STREAMS}/{}", listed.name);
        match stream_of(&name) {
            Some(_) if !listed.is_dir => found.streams.push(name),
            _ => found.foreign.push(name),
        }
    }
    Ok(found)
}

/// The archive's bytes. They say nothing of when and by whom: the same job gives the same file.
fn written(
    manifest: &ArchiveManifest,
    contents: &[(String, Vec<u8>)],
) -> Result<Vec<u8>, std::io::Error> {
    let mut archive = Builder::new(Vec::new());
    let mut text = serde_json::to_vec_pretty(manifest)?;
    text.push(b'\n');
    let first = (MANIFEST, text.as_slice());
    let rest = contents
        .iter()
        .map(|(name, b)| (name.as_str(), b.as_slice()));
    for (name, bytes) in std::iter::once(first).chain(rest) {
        let mut header = Header::new_ustar();
        header.set_entry_type(EntryType::Regular);
        header.set_path(name)?;
        header.set_size(bytes.len() as u64);
        header.set_mode(0o600);
        header.set_mtime(0);
        header.set_uid(0);
        header.set_gid(0);
        header.set_cksum();
        archive.append(&header, bytes)?;
    }
    archive.into_inner()
}
