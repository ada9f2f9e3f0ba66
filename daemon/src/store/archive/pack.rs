//! Packs a job's folder, as it stands, into one file.

use std::collections::BTreeMap;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use tar::Builder;

use crate::store::anchor::{ANCHOR, Anchor};
use crate::store::archive::entries::{BLOCK, END, FilePieces, header};
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

/// A job that was looked at, of which the file is still to be written. Its journals are held, as they
/// were looked at; all else is read again when it is written.
#[derive(Debug)]
pub(crate) struct Packing {
    /// What the file will say of itself.
    pub manifest: ArchiveManifest,
    /// How many recorded streams are left out.
    pub streams_left_out: usize,
    /// What lies in the job's folder and is none of the job's files; it is left out.
    pub foreign: Vec<String>,
    dir: PathBuf,
    text: Vec<u8>,
    record: BTreeMap<String, Vec<u8>>,
}

impl Packing {
    /// How many bytes the file will have.
    pub(crate) fn length(&self) -> u64 {
        let entry = |content: u64| BLOCK + content.next_multiple_of(BLOCK);
        let files = self.manifest.files.iter();
        let files: u64 = files.map(|file| entry(file.length)).sum();
        entry(self.text.len() as u64) + files + END
    }

    /// Refuses a job whose files have more than `most` bytes.
    ///
    /// # Errors
    /// Where it is too large.
    pub(crate) fn at_most(&self, most: u64) -> Result<(), ArchiveFault> {
        let bytes = self.manifest.files.iter().map(|file| file.length).sum();
        match bytes > most {
            true => Err(ArchiveFault::TooLarge { bytes, most }),
            false => Ok(()),
        }
    }

    /// Writes the file. It says nothing of when and by whom: the same job gives the same file.
    ///
    /// # Errors
    /// When the disk refuses, or a file is not as it was when it was looked at. What is in `out` then
    /// is no archive.
    pub(crate) fn write(&self, files: &dyn Files, out: impl Write) -> Result<(), StoreError> {
        let fault = |error: io::Error| FileError::new("pack", &self.dir, error);
        let mut archive = Builder::new(out);
        let first = header(MANIFEST, self.text.len() as u64).map_err(fault)?;
        archive.append(&first, &*self.text).map_err(fault)?;
        for file in &self.manifest.files {
            let header = header(&file.name, file.length).map_err(fault)?;
            if let Some(bytes) = self.record.get(&file.name) {
                archive.append(&header, &**bytes).map_err(fault)?;
                continue;
            }
            let path = self.dir.join(&file.name);
            let mut content = FilePieces::new(files, &path, file.length);
            archive.append(&header, &mut content).map_err(fault)?;
            if content.hash() != file.blake3 {
                let changed = io::Error::other("it changed while it was packed");
                return Err(FileError::new("pack", &path, changed).into());
            }
        }
        let mut out = archive.into_inner().map_err(fault)?;
        Ok(out.flush().map_err(fault)?)
    }
}

/// Takes bytes that were looked at, and keeps none.
struct LookedAt<'a>(&'a dyn Fn(u64));

impl Write for LookedAt<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        (self.0)(bytes.len() as u64);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// What lies in a job's folder beside its journal.
#[derive(Debug, Default)]
pub(crate) struct Beside {
    pub(crate) names: Vec<String>,
    pub(crate) streams: Vec<String>,
    foreign: Vec<String>,
}

impl Reader {
    /// Looks at a job that is to be packed. The journal ends with the line `upto` where that is given,
    /// as who writes knows it, and otherwise with its last whole line. Recorded streams that grow
    /// meanwhile are packed as long as they are now.
    ///
    /// `read` is told of the bytes of streams that were looked at, piece by piece.
    ///
    /// # Errors
    /// When there is no such job, its record is damaged, or the disk refuses.
    pub(crate) fn packing(
        &self,
        job: &str,
        upto: Option<&Anchor>,
        streams: PackedStreams,
        read: &dyn Fn(u64),
    ) -> Result<Packing, StoreError> {
        let (dir, files) = (self.job_dir(job)?, &**self.files());
        let others = other_journals::read_all(files, &dir)?;
        let card = card_of(files, &dir)?.filter(|_| !others.is_empty());
        let own = match (record(files, &dir, upto), &card) {
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
        let mut record: BTreeMap<String, Vec<u8>> = others.collect();
        let end = match own {
            Some((journal, end)) => {
                record.insert(ANCHOR.to_owned(), end.text().into_bytes());
                record.insert(JOURNAL.to_owned(), journal);
                end
            }
            None => Anchor::of_nothing(),
        };
        let held = record.iter();
        let mut listed: Vec<_> = held.map(|(name, b)| PackedFile::of(name, b)).collect();
        for name in beside.names {
            let path = dir.join(&name);
            let length = files.len(&path)?;
            let mut content = FilePieces::new(files, &path, length);
            io::copy(&mut content, &mut LookedAt(read))
                .map_err(|error| FileError::new("pack", &path, error))?;
            listed.push(PackedFile {
                name,
                length,
                blake3: content.hash(),
            });
        }
        listed.sort_by(|one, other| one.name.cmp(&other.name));
        let manifest = ArchiveManifest {
            format: if card.is_some() { FORMAT } else { ALONE },
            program: concat!("benchhand ", env!("CARGO_PKG_VERSION")).to_owned(),
            job: job.to_owned(),
            end,
            station: card.map(|card| card.station),
            streams,
            files: listed,
        };
        let text = serde_json::to_vec_pretty(&manifest);
        let mut text = text.map_err(|error| FileError::new("pack", &dir, error.into()))?;
        text.push(b'\n');
        Ok(Packing {
            manifest,
            streams_left_out,
            foreign: beside.foreign,
            dir,
            text,
            record,
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
