//! A job's record: lines that are appended, synced, and never changed.
//!
//! A line is acknowledged only once it is on the disk. When an append fails the journal goes
//! back to its last acknowledged line before anything else is written, so nothing half-written
//! stays and nothing unacknowledged turns up beside its own repetition. The journal does not
//! know what facts mean.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use jiff::Timestamp;

use crate::files::{AppendFile, FileError, Files};
use crate::store::fact::Fact;
use crate::store::fold::Stamp;
use crate::store::line::{self, Entry, LineFault, NO_LINE};

/// The journal's file name in a job's folder.
pub const JOURNAL: &str = "journal.ndjson";

/// Something is wrong with the record.
#[derive(Debug, thiserror::Error)]
pub enum JournalError {
    /// The fact was not kept.
    #[error("not kept: {0}")]
    NotKept(#[source] FileError),
    /// An earlier append failed and what it left could not be taken away again.
    #[error("not kept: the journal still ends in what an earlier failure left, and {0}")]
    Unsound(#[source] FileError),
    /// The journal's file has fewer bytes than were acknowledged.
    #[error(
        "{} has {found} bytes, but {acknowledged} were written and acknowledged: something \
         else shortened it; keep the file as it is and restore it from a copy",
        .path.display()
    )]
    Shortened {
        /// The journal.
        path: PathBuf,
        /// How long it is.
        found: u64,
        /// How long it was.
        acknowledged: u64,
    },
    /// The disk refused.
    #[error(transparent)]
    Files(#[from] FileError),
    /// A line is not what was once written.
    #[error("{0}; nothing is written to a damaged record: restore the file from a copy")]
    Damaged(Damage),
    /// The fact cannot be written as JSON.
    #[error("the fact cannot be written as JSON: {0}")]
    Unwritable(#[from] serde_json::Error),
}

/// A line that is not what was once written.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("line {line} of {} is damaged: {fault}", .path.display())]
pub struct Damage {
    /// The journal.
    pub path: PathBuf,
    /// The line, counted from 1.
    pub line: usize,
    /// What is wrong with it.
    pub fault: LineFault,
}

/// What reading a journal from its beginning gave.
#[derive(Debug, Clone, PartialEq)]
pub struct Scan {
    /// How many whole lines there are, damaged ones included.
    pub lines: usize,
    /// How many bytes they have.
    pub sound_len: u64,
    /// The number that the next fact gets.
    pub next_seq: u64,
    /// The hash of the last line, in hexadecimal.
    pub last_hash: String,
    /// What follows the last whole line: a write that never ended. It was never acknowledged.
    pub torn: Vec<u8>,
    /// The lines that are not what was once written.
    pub damage: Vec<Damage>,
}

/// Reads a journal from its beginning. Each entry that is sound is handed to `take`, which may
/// find that it contradicts what was said before; a damaged line is passed over and noted.
pub(crate) fn scan(
    path: &Path,
    bytes: &[u8],
    mut take: impl FnMut(Entry) -> Result<(), LineFault>,
) -> Scan {
    let (whole, torn) = without_torn_end(bytes);
    let mut scan = Scan {
        lines: 0,
        sound_len: whole.len() as u64,
        next_seq: 1,
        last_hash: NO_LINE.to_owned(),
        torn: torn.to_vec(),
        damage: Vec::new(),
    };
    // After a line that cannot be read nobody knows what the next should follow on.
    let mut known = true;
    for text in lines(whole) {
        scan.lines += 1;
        let read = line::decode(text).and_then(|entry| {
            let follows = scan.follows(&entry, known);
            known = true;
            if entry.seq < scan.next_seq {
                return follows;
            }
            scan.next_seq = entry.seq.saturating_add(entry.fact.numbers());
            scan.last_hash.clone_from(&entry.hash);
            let taken = take(entry);
            follows.and(taken)
        });
        if let Err(fault) = read {
            known &= matches!(
                fault,
                LineFault::Unchained { .. } | LineFault::Contradicts(_)
            );
            scan.damage.push(Damage {
                path: path.to_owned(),
                line: scan.lines,
                fault,
            });
        }
    }
    scan
}

impl Scan {
    /// Whether the entry follows on what was read; after a line that could not be read, only
    /// that its number is a later one.
    fn follows(&self, entry: &Entry, known: bool) -> Result<(), LineFault> {
        if entry.seq < self.next_seq || (known && entry.seq != self.next_seq) {
            let (expected, found) = (self.next_seq.to_string(), entry.seq.to_string());
            return Err(LineFault::Unchained { expected, found });
        }
        if known && entry.prev != self.last_hash {
            let (expected, found) = (self.last_hash.clone(), entry.prev.clone());
            return Err(LineFault::Unchained { expected, found });
        }
        Ok(())
    }
}

fn lines(whole: &[u8]) -> impl Iterator<Item = &[u8]> {
    whole
        .split_inclusive(|byte| *byte == b'\n')
        .map(|line| line.strip_suffix(b"\n").unwrap_or(line))
}

/// Parts what follows the last whole line from the rest. A last line in which bytes are zero
/// was being written when the power went: its blocks did not all reach the disk.
fn without_torn_end(bytes: &[u8]) -> (&[u8], &[u8]) {
    let line_end = |bytes: &[u8]| {
        bytes
            .iter()
            .rposition(|byte| *byte == b'\n')
            .map_or(0, |at| at + 1)
    };
    let whole = line_end(bytes);
    let before = line_end(&bytes[..whole.saturating_sub(1)]);
    let last = &bytes[before..whole];
    if bytes.len() == whole && last.contains(&0) {
        return bytes.split_at(before);
    }
    bytes.split_at(whole)
}

/// A journal that is open for writing.
#[derive(Debug)]
pub struct Journal {
    files: Arc<dyn Files>,
    path: PathBuf,
    file: Box<dyn AppendFile>,
    acknowledged: u64,
    next_seq: u64,
    last_hash: String,
    sound: bool,
}

/// A write that never ended, found when a journal was opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Torn {
    /// How many bytes there were.
    pub bytes: usize,
    /// The file in which they were set aside; `None` where the journal was opened for reading,
    /// which changes nothing.
    pub set_aside: Option<PathBuf>,
}

impl Journal {
    /// Begins a journal where there is none. Its name is not safe before its folder is synced.
    ///
    /// # Errors
    /// When the disk refuses.
    pub(crate) fn create(files: Arc<dyn Files>, path: &Path) -> Result<Self, JournalError> {
        let file = files.open_append(path)?;
        Ok(Self {
            files,
            path: path.to_owned(),
            file,
            acknowledged: 0,
            next_seq: 1,
            last_hash: NO_LINE.to_owned(),
            sound: true,
        })
    }

    /// Opens a journal for writing and hands every entry to `take`. What a write that never
    /// ended left at the end is set aside in a file.
    ///
    /// # Errors
    /// When the disk refuses, or a line is damaged.
    pub(crate) fn open(
        files: Arc<dyn Files>,
        path: &Path,
        take: impl FnMut(Entry) -> Result<(), LineFault>,
    ) -> Result<(Self, Option<Torn>), JournalError> {
        let bytes = files.read(path)?;
        let file = files.open_append(path)?;
        let scan = scan(path, &bytes, take);
        if let Some(damage) = scan.damage.into_iter().next() {
            return Err(JournalError::Damaged(damage));
        }
        let mut journal = Self {
            files,
            path: path.to_owned(),
            file,
            acknowledged: scan.sound_len,
            next_seq: scan.next_seq,
            last_hash: scan.last_hash,
            sound: true,
        };
        let torn = journal.set_aside(&scan.torn)?;
        // A line may have been written whole and never synced; whoever reads it here will rely
        // on it, so it is made safe before anything follows.
        journal.file.sync_data()?;
        Ok((journal, torn))
    }

    fn set_aside(&mut self, torn: &[u8]) -> Result<Option<Torn>, JournalError> {
        if torn.is_empty() {
            return Ok(None);
        }
        let path = self.free_name()?;
        self.files.replace(&path, torn)?;
        self.sound = false;
        self.heal()?;
        Ok(Some(Torn {
            bytes: torn.len(),
            set_aside: Some(path),
        }))
    }

    fn free_name(&self) -> Result<PathBuf, JournalError> {
        let folder = self.path.parent().unwrap_or(Path::new(""));
        let taken = self.files.list(folder)?;
        let names = (1_u32..).map(|count| format!("torn-{}-{count}.txt", self.next_seq));
        let free = |name: &String| taken.iter().all(|there| there.name != *name);
        Ok(folder.join(names.into_iter().find(free).unwrap_or_default()))
    }

    /// Appends a fact and syncs it. When this returns `Ok` the fact is kept for good.
    ///
    /// # Errors
    /// The fact is not kept then, nor will it turn up later, unless the disk took it and could
    /// not even be made to give it up again: see [`JournalError::Unsound`] for the next append.
    pub(crate) fn append(
        &mut self,
        at: Timestamp,
        key: Option<&str>,
        fact: &Fact,
    ) -> Result<Stamp, JournalError> {
        self.heal()?;
        let line = line::encode(self.next_seq, at, key, &self.last_hash, fact)?;
        let written = self
            .file
            .append(&line.bytes)
            .and_then(|()| self.file.sync_data());
        if let Err(error) = written {
            self.sound = false;
            // Better now than before the next append; but if it fails it is tried then again.
            let _ = self.heal();
            return Err(JournalError::NotKept(error));
        }
        let stamp = Stamp {
            seq: self.next_seq,
            at,
            hash: line.hash.clone(),
        };
        self.acknowledged += line.bytes.len() as u64;
        self.next_seq += fact.numbers();
        self.last_hash = line.hash;
        Ok(stamp)
    }

    /// BLAKE3 of a fact as it would be written: equal for equal facts.
    pub(crate) fn print_of(fact: &Fact) -> Result<blake3::Hash, JournalError> {
        Ok(line::encode(0, Timestamp::UNIX_EPOCH, None, NO_LINE, fact)?.print)
    }

    /// Goes back to the last acknowledged line after a failure, on a file opened afresh.
    fn heal(&mut self) -> Result<(), JournalError> {
        if self.sound {
            return Ok(());
        }
        let mut file = self
            .files
            .open_append(&self.path)
            .map_err(JournalError::Unsound)?;
        let found = file.len().map_err(JournalError::Unsound)?;
        if found < self.acknowledged {
            let (path, acknowledged) = (self.path.clone(), self.acknowledged);
            return Err(JournalError::Shortened {
                path,
                found,
                acknowledged,
            });
        }
        file.truncate(self.acknowledged)
            .map_err(JournalError::Unsound)?;
        file.sync_data().map_err(JournalError::Unsound)?;
        self.file = file;
        self.sound = true;
        Ok(())
    }
}

/// How much of a journal's end is read to find its last line; longer lines take the whole.
const END: usize = 64 * 1024;

/// The number and the hash of a journal's last fact, from its end alone; `None` where it has no
/// whole line there that is sound.
///
/// # Errors
/// When the disk refuses.
pub(crate) fn end(files: &dyn Files, path: &Path) -> Result<Option<(u64, String)>, FileError> {
    let bytes = files.read_end(path, END)?;
    if let Some(end) = last_entry(&bytes) {
        return Ok(Some(end));
    }
    Ok(last_entry(&files.read(path)?))
}

fn last_entry(bytes: &[u8]) -> Option<(u64, String)> {
    let (whole, _) = without_torn_end(bytes);
    let entry = line::decode(lines(whole).last()?).ok()?;
    Some((entry.seq + entry.fact.numbers() - 1, entry.hash))
}

/// What a whole journal came to, line by line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verified {
    /// How many lines were checked.
    pub lines: usize,
    /// The number of the last fact, 0 in an empty journal.
    pub last_seq: u64,
    /// The hash of the last line, in hexadecimal.
    pub last_hash: String,
    /// How many bytes follow the last whole line.
    pub torn_bytes: usize,
}

/// Reads a whole journal and checks every line and that each follows on the one before.
///
/// # Errors
/// Names the first line that is not what was once written.
pub fn verify(files: &dyn Files, path: &Path) -> Result<Verified, JournalError> {
    let scan = scan(path, &files.read(path)?, |_| Ok(()));
    match scan.damage.into_iter().next() {
        Some(damage) => Err(JournalError::Damaged(damage)),
        None => Ok(Verified {
            lines: scan.lines,
            last_seq: scan.next_seq - 1,
            last_hash: scan.last_hash,
            torn_bytes: scan.torn.len(),
        }),
    }
}
