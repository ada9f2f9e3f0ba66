//! A job's record: lines that are appended, synced, and never changed.
//!
//! A line is acknowledged only once it is on the disk. When an append fails, the journal goes back
//! to its last acknowledged line before anything else is written. So no half line stays, and no
//! unacknowledged line turns up beside its own repetition. What facts mean is not known here.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use jiff::Timestamp;

use crate::store::anchor::Anchor;
pub use crate::store::journal_error::{JournalError, LineDamage, RecordFault};
use crate::store::line::{self, BatchPlace, Beside, FactText, JournalEntry, LineFault, NO_LINE};
pub use crate::store::scan::Verified;
use crate::store::scan::{WHOLE_RECORD, scan};
use benchhand_files::{AppendFile, Files};

/// The journal's file name in a job's folder.
pub const JOURNAL: &str = "journal.ndjson";

/// A journal that is open for writing.
#[derive(Debug)]
pub struct Journal {
    files: Arc<dyn Files>,
    path: PathBuf,
    file: Box<dyn AppendFile>,
    acknowledged: u64,
    next_seq: u64,
    last_hash: String,
    state: JournalTail,
}

/// A fact that is to become a line.
#[derive(Debug)]
pub(crate) struct NewLine {
    /// When it was stated.
    pub at: Timestamp,
    /// What stands beside it in the journal of a station of several.
    pub beside: Beside,
    /// The key of its request.
    pub key: Option<String>,
    /// What is said.
    pub text: FactText,
    /// How many numbers it takes.
    pub numbers: u64,
}

/// What lies after the last acknowledged line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum JournalTail {
    /// Nothing.
    Sound,
    /// The remains of a failed write of our own, up to this length of the file.
    Failed { most: u64 },
    /// Something that is not ours to remove; nothing is written until the job is opened again.
    Foreign { found: u64, expected: u64 },
}

/// Whether a journal with damaged lines is opened for writing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Tolerance {
    /// The journal is not opened.
    None,
    /// The journal is opened, so that the damage can be accepted.
    Damage,
}

/// A journal and what was found in it when it was opened.
#[derive(Debug)]
pub(crate) struct Found {
    pub journal: Journal,
    pub torn: Option<Torn>,
    pub damage: Vec<LineDamage>,
    pub known_damage: Vec<LineDamage>,
    pub record: Option<RecordFault>,
}

/// The damage of a record that was accepted: the record goes on without what is missing.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct AcceptedDamage {
    /// The lines that cannot be read.
    pub lines: Vec<LineDamage>,
    /// What was wrong with the record as a whole.
    pub record: Option<RecordFault>,
}

impl AcceptedDamage {
    /// What each fact that accepts it names: the line, its hash, and the fault in words.
    pub(crate) fn named(&self) -> Vec<(u64, String, String)> {
        let lines = self.lines.iter().map(|damage| {
            let line = damage.line as u64;
            (line, damage.hash.clone(), damage.fault.to_string())
        });
        let record = self.record.iter().filter_map(|fault| {
            let hash = fault.accepted_by()?.to_owned();
            Some((WHOLE_RECORD, hash, fault.to_string()))
        });
        lines.chain(record).collect()
    }
}

/// A write that never ended, found when a journal was opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Torn {
    /// How many bytes there were.
    pub bytes: usize,
    /// The file in which the bytes were set aside; `None` where the journal was opened for reading,
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
            state: JournalTail::Sound,
        })
    }

    /// Opens a journal for writing and hands every entry to `take`. The remains of a write that
    /// never ended are set aside in a file.
    ///
    /// # Errors
    /// When the disk refuses, or a line is damaged.
    pub(crate) fn open(
        files: Arc<dyn Files>,
        path: &Path,
        tolerance: Tolerance,
        take: impl FnMut(JournalEntry) -> Result<(), LineFault>,
    ) -> Result<Found, JournalError> {
        let bytes = files.read(path)?;
        let anchor = path.parent().and_then(|dir| Anchor::read(&*files, dir));
        let mut scan = scan(path, &bytes, anchor.as_ref(), take);
        if let Some(fault) = &scan.record
            && (tolerance == Tolerance::None || fault.accepted_by().is_none())
        {
            return Err(fault.clone().into());
        }
        if tolerance == Tolerance::None && !scan.damage.is_empty() {
            return Err(JournalError::Damaged(Box::new(scan.damage.swap_remove(0))));
        }
        let file = files.open_append(path)?;
        let mut journal = Self {
            files,
            path: path.to_owned(),
            file,
            acknowledged: scan.sound_len,
            next_seq: scan.next_seq,
            last_hash: scan.last_hash,
            state: JournalTail::Sound,
        };
        let torn = journal.set_aside(&scan.torn)?;
        // The last line may have been written whole and never synced. Readers rely on it, so it is
        // synced before anything follows.
        journal.file.sync_data()?;
        Ok(Found {
            journal,
            torn,
            damage: scan.damage,
            known_damage: scan.known_damage,
            record: scan.record,
        })
    }

    fn set_aside(&mut self, torn: &[u8]) -> Result<Option<Torn>, JournalError> {
        if torn.is_empty() {
            return Ok(None);
        }
        let path = self.free_name()?;
        self.files.replace(&path, torn)?;
        self.state = JournalTail::Failed {
            most: self.acknowledged + torn.len() as u64,
        };
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

    /// Appends lines together and syncs them once. When this returns `Ok` they are kept for good.
    ///
    /// None of them is kept then, and none will turn up later. One exception: the disk took the
    /// bytes and does not even let them be removed; then the next append returns
    /// [`JournalError::Unsound`].
    pub(crate) fn append(&mut self, lines: &[NewLine]) -> Result<(), JournalError> {
        self.heal()?;
        self.expect_length(self.acknowledged)?;
        let of = lines.len() as u64;
        let (mut bytes, mut seq, mut hash) = (Vec::new(), self.next_seq, self.last_hash.clone());
        for (place, new) in (1..).zip(lines) {
            let batch = (of > 1).then_some(BatchPlace { place, of });
            let line = line::encode(
                (seq, new.at, &new.beside),
                new.key.as_deref(),
                batch,
                &hash,
                &new.text,
            )?;
            bytes.extend_from_slice(&line.bytes);
            seq += new.numbers;
            hash = line.hash;
        }
        let end = self.acknowledged + bytes.len() as u64;
        let written = self
            .file
            .append(&bytes)
            .and_then(|()| self.file.sync_data());
        if let Err(error) = written {
            self.state = JournalTail::Failed { most: end };
            // Healing now is better than before the next append; if it fails it is tried again
            // then.
            let _ = self.heal();
            return Err(JournalError::NotKept(error));
        }
        // If another file had the journal's name by now, the lines would be in a file that nobody
        // ever finds.
        self.expect_length(end)?;
        self.acknowledged = end;
        self.next_seq = seq;
        self.last_hash = hash;
        Ok(())
    }

    /// The number that the next fact gets.
    pub(crate) fn next_seq(&self) -> u64 {
        self.next_seq
    }

    /// Whether something else wrote to the file or put another in its place, so that nothing is
    /// written until it is opened again.
    pub(crate) fn is_foreign(&self) -> bool {
        matches!(self.state, JournalTail::Foreign { .. })
    }

    /// How many bytes are acknowledged.
    pub(crate) fn kept_len(&self) -> u64 {
        self.acknowledged
    }

    /// The acknowledged lines.
    ///
    /// # Errors
    /// When the disk refuses.
    pub(crate) fn kept_bytes(&self, files: &dyn Files) -> Result<Vec<u8>, JournalError> {
        let mut bytes = files.read(&self.path)?;
        bytes.truncate(usize::try_from(self.acknowledged).unwrap_or(usize::MAX));
        Ok(bytes)
    }

    /// The hash of the last acknowledged line, in hexadecimal.
    pub(crate) fn last_hash(&self) -> &str {
        &self.last_hash
    }

    /// Makes sure that the file with the journal's name is as long as it should be.
    fn expect_length(&mut self, expected: u64) -> Result<(), JournalError> {
        match self.files.len(&self.path) {
            Ok(found) if found == expected => Ok(()),
            Ok(found) => self.foreign(found, expected),
            Err(error) if error.is_missing() => self.foreign(0, expected),
            Err(error) => {
                self.state = JournalTail::Failed { most: expected };
                Err(JournalError::NotKept(error))
            }
        }
    }

    fn foreign(&mut self, found: u64, expected: u64) -> Result<(), JournalError> {
        self.state = JournalTail::Foreign { found, expected };
        let path = self.path.clone();
        if found < expected {
            return Err(JournalError::Shortened {
                path,
                found,
                acknowledged: expected,
            });
        }
        Err(JournalError::Foreign {
            path,
            found,
            expected,
        })
    }

    /// Goes back to the last acknowledged line after a failure, on a file opened afresh.
    fn heal(&mut self) -> Result<(), JournalError> {
        let most = match self.state {
            JournalTail::Sound => return Ok(()),
            JournalTail::Failed { most } => most,
            JournalTail::Foreign { found, expected } => return self.foreign(found, expected),
        };
        let found = self.files.len(&self.path).map_err(JournalError::Unsound)?;
        if !(self.acknowledged..=most).contains(&found) {
            return self.foreign(found, self.acknowledged);
        }
        let mut file = self
            .files
            .open_append(&self.path)
            .map_err(JournalError::Unsound)?;
        file.truncate(self.acknowledged)
            .map_err(JournalError::Unsound)?;
        file.sync_data().map_err(JournalError::Unsound)?;
        self.file = file;
        self.state = JournalTail::Sound;
        Ok(())
    }
}
