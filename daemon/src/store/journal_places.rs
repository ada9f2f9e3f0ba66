//! Where the lines of each journal stand, so that one more line costs the same however many there
//! are: what was checked once is not read again.
//!
//! A journal only grows at its end. Before anything is taken from what is known of it, its last known
//! line is read again: a file that was cut or put in place of another is read anew from its
//! beginning.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

use benchhand_files::{FileError, Files};

use crate::store::job_stations::job_of;
use crate::store::line::NO_LINE;
use crate::store::line_envelope::{LineEnvelope, envelope};
use crate::store::other_journals::{JournalLine, sound_lines_behind};
use crate::store::station::JobId;

/// The place of every so manieth line is held.
const EVERY: u64 = 64;

/// How a journal ends, as far as its lines are sound.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct KnownEnd {
    /// How many lines.
    pub(crate) number: u64,
    /// The hash of the last one, in hexadecimal.
    pub(crate) hash: String,
    /// How many bytes they have.
    pub(crate) len: u64,
    /// The job that the first line names.
    pub(crate) job: Option<JobId>,
}

/// A line behind which reading can begin.
#[derive(Debug, Clone)]
struct LinePlace {
    number: u64,
    hash: String,
    /// Where the next line begins.
    behind: u64,
}

#[derive(Debug)]
struct KnownJournal {
    end: KnownEnd,
    /// Where the last line begins.
    last_at: u64,
    /// How long the file was when it was last made sure that it is on the disk.
    synced: u64,
    places: Vec<LinePlace>,
}

impl Default for KnownJournal {
    fn default() -> Self {
        Self {
            end: KnownEnd {
                number: 0,
                hash: NO_LINE.to_owned(),
                len: 0,
                job: None,
            },
            last_at: 0,
            synced: 0,
            places: Vec::new(),
        }
    }
}

/// What is known of journals, by their paths.
#[derive(Debug, Default)]
pub(crate) struct JournalPlaces {
    known: Mutex<BTreeMap<PathBuf, KnownJournal>>,
}

impl JournalPlaces {
    /// How a journal ends: nothing where there is none. `kept` is how many bytes of it are kept, where
    /// somebody writes to it; else its last line is synced first, as it may have been written whole
    /// and never synced.
    ///
    /// # Errors
    /// When the disk refuses.
    pub(crate) fn end(
        &self,
        files: &dyn Files,
        path: &Path,
        kept: Option<u64>,
    ) -> Result<KnownEnd, FileError> {
        self.with(files, path, kept, |known| Ok(known.end.clone()))
    }

    /// Lines of a journal behind a number, at most so many; `kept` as for [`JournalPlaces::end`].
    ///
    /// # Errors
    /// When the disk refuses.
    pub(crate) fn lines(
        &self,
        files: &dyn Files,
        path: &Path,
        kept: Option<u64>,
        (after, most): (u64, usize),
    ) -> Result<Vec<JournalLine>, FileError> {
        self.with(files, path, kept, |known| {
            if after >= known.end.number || most == 0 {
                return Ok(Vec::new());
            }
            let from = known.places.partition_point(|one| one.number <= after);
            let from = from.checked_sub(1).and_then(|at| known.places.get(at));
            let (number, hash, begin) = from.map_or((0, NO_LINE, 0), |one| {
                (one.number, one.hash.as_str(), one.behind)
            });
            let until = after.saturating_add(most as u64);
            let to = known.places.partition_point(|one| one.number < until);
            let to = known.places.get(to).map_or(known.end.len, |one| one.behind);
            let size = usize::try_from(to - begin).unwrap_or(usize::MAX);
            let bytes = files.read_part(path, begin, size)?;
            let numbered = (number + 1..).zip(sound_lines_behind(hash, &bytes));
            let wanted = numbered.filter(|(number, _)| *number > after).take(most);
            let line = |(number, (text, envelope)): (u64, (&[u8], LineEnvelope<'_>))| JournalLine {
                number,
                hash: envelope.hash.to_owned(),
                text: String::from_utf8_lossy(text).into_owned(),
            };
            Ok(wanted.map(line).collect())
        })
    }

    /// Calls `then` with what is known of a journal, after what is new of it has been read.
    fn with<T>(
        &self,
        files: &dyn Files,
        path: &Path,
        kept: Option<u64>,
        then: impl FnOnce(&KnownJournal) -> Result<T, FileError>,
    ) -> Result<T, FileError> {
        // Taken out meanwhile: nobody waits for the disk because of another journal.
        let known = self.known().remove(path);
        let len = match files.len(path) {
            Err(error) if error.is_missing() => return then(&KnownJournal::default()),
            other => other?,
        };
        let known = match known {
            Some(known) if known.holds(files, path, kept.unwrap_or(len).min(len))? => known,
            _ => KnownJournal::default(),
        };
        let known = known.grown(files, path, (len, kept))?;
        let done = then(&known)?;
        self.known().insert(path.to_owned(), known);
        Ok(done)
    }

    fn known(&self) -> MutexGuard<'_, BTreeMap<PathBuf, KnownJournal>> {
        self.known.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl KnownJournal {
    /// Whether the file still has what is known of it.
    fn holds(&self, files: &dyn Files, path: &Path, len: u64) -> Result<bool, FileError> {
        if self.end.len > len {
            return Ok(false);
        }
        let size = usize::try_from(self.end.len - self.last_at).unwrap_or(usize::MAX);
        let last = files.read_part(path, self.last_at, size)?;
        let hash = last.strip_suffix(b"\n").and_then(envelope);
        Ok(self.end.number == 0 || hash.is_some_and(|last| last.hash == self.end.hash))
    }

    /// Reads what the file has behind what is known, up to what is kept.
    fn grown(
        mut self,
        files: &dyn Files,
        path: &Path,
        (len, kept): (u64, Option<u64>),
    ) -> Result<Self, FileError> {
        if kept.is_none() && self.synced < len {
            files.open_append(path)?.sync_data()?;
            self.synced = len;
        }
        let until = kept.unwrap_or(len).min(len);
        if until <= self.end.len {
            return Ok(self);
        }
        let size = usize::try_from(until - self.end.len).unwrap_or(usize::MAX);
        let bytes = files.read_part(path, self.end.len, size)?;
        if self.end.len == 0 {
            self.end.job = job_of(&bytes);
        }
        let before = self.end.hash.clone();
        for (text, envelope) in sound_lines_behind(&before, &bytes) {
            let hash = envelope.hash;
            self.last_at = self.end.len;
            self.end.len += text.len() as u64 + 1;
            self.end.number += 1;
            hash.clone_into(&mut self.end.hash);
            if self.end.number.is_multiple_of(EVERY) {
                self.places.push(LinePlace {
                    number: self.end.number,
                    hash: hash.to_owned(),
                    behind: self.end.len,
                });
            }
        }
        Ok(self)
    }
}
