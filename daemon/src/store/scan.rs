//! Reads a journal from its beginning, line by line, and checks each line against the one before.
//!
//! Reading goes on after a damaged line, so that every sound line is read; damage is noted. Nothing
//! is changed here.

use std::path::Path;

use crate::store::fact::{Fact, content_hash};
use crate::store::journal_error::{JournalError, LineDamage};
use crate::store::line::{self, JournalEntry, LineFault, NO_LINE};
use benchhand_files::{FileError, Files};

/// What reading a journal from its beginning gave.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Scan {
    /// How many whole lines there are, damaged ones included.
    pub lines: usize,
    /// How many bytes they have.
    pub sound_len: u64,
    /// The number that the next fact gets.
    pub next_seq: u64,
    /// The hash of the last line, in hexadecimal.
    pub last_hash: String,
    /// The bytes after the last whole line: a write that never ended and was never acknowledged.
    pub torn: Vec<u8>,
    /// Damaged lines that no later line accepts.
    pub damage: Vec<LineDamage>,
    /// Damaged lines that a later line accepts.
    pub known_damage: Vec<LineDamage>,
}

/// Reads a journal from its beginning. Each sound entry is handed to `take`, which may find a
/// contradiction with earlier facts; a damaged line is passed over and noted.
pub(crate) fn scan(
    path: &Path,
    bytes: &[u8],
    mut take: impl FnMut(JournalEntry) -> Result<(), LineFault>,
) -> Scan {
    let (whole, torn) = without_torn_end(bytes);
    let mut scan = Scan {
        lines: 0,
        sound_len: whole.len() as u64,
        next_seq: 1,
        last_hash: NO_LINE.to_owned(),
        torn: torn.to_vec(),
        damage: Vec::new(),
        known_damage: Vec::new(),
    };
    let mut accepted = Vec::new();
    // After an unreadable line nobody knows what the next line should continue.
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
            if let Fact::DamageKnown { line, hash, .. } = &entry.fact {
                accepted.push((*line, hash.clone()));
            }
            let taken = take(entry);
            follows.and(taken)
        });
        if let Err(fault) = read {
            let read = matches!(
                fault,
                LineFault::Unchained { .. } | LineFault::Contradicts(_)
            );
            if !read {
                // The damaged line had a number too, and no fact may get that number again.
                scan.next_seq = scan.next_seq.saturating_add(1);
                known = false;
            }
            let (path, hash) = (path.to_owned(), content_hash(text));
            scan.damage.push(LineDamage {
                path,
                line: scan.lines,
                fault,
                hash,
            });
        }
    }
    let known =
        |damage: &mut LineDamage| accepted.contains(&(damage.line as u64, damage.hash.clone()));
    scan.known_damage = scan.damage.extract_if(.., known).collect();
    scan
}

impl Scan {
    /// Whether the entry continues what was read. After an unreadable line it is enough that its
    /// number is a later one.
    fn follows(&self, entry: &JournalEntry, known: bool) -> Result<(), LineFault> {
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

/// Separates the bytes after the last whole line. A last line that contains zero bytes was being
/// written when the power went: some of its blocks did not reach the disk.
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

/// How much of a journal's end is read to find its last line; for a longer line the whole journal
/// is read.
const END: usize = 64 * 1024;

/// The number and the hash of a journal's last fact, from the journal's end alone; `None` where no
/// sound whole line is there.
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

/// The result of checking a whole journal.
#[derive(Debug, Clone, PartialEq)]
pub struct Verified {
    /// How many lines were checked.
    pub lines: usize,
    /// The number of the last fact, 0 in an empty journal.
    pub last_seq: u64,
    /// The hash of the last line, in hexadecimal.
    pub last_hash: String,
    /// How many bytes follow the last whole line.
    pub torn_bytes: usize,
    /// The damaged lines that were accepted.
    pub known_damage: Vec<LineDamage>,
}

/// Reads a whole journal, and checks every line and that each one continues the one before.
///
/// # Errors
/// Names the first damaged line.
pub(crate) fn verify(files: &dyn Files, path: &Path) -> Result<Verified, JournalError> {
    let scan = scan(path, &files.read(path)?, |_| Ok(()));
    match scan.damage.into_iter().next() {
        Some(damage) => Err(JournalError::Damaged(Box::new(damage))),
        None => Ok(Verified {
            lines: scan.lines,
            last_seq: scan.next_seq - 1,
            last_hash: scan.last_hash,
            torn_bytes: scan.torn.len(),
            known_damage: scan.known_damage,
        }),
    }
}
