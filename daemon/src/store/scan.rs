//! Reads a journal from its beginning, line by line, and checks each line against the one before.
//!
//! Reading goes on after a damaged line, so that every sound line is read; damage is noted. Nothing
//! is changed here.

use std::path::Path;
use std::sync::mpsc::sync_channel;

use crate::store::anchor::Anchor;
use crate::store::fact::{Fact, content_hash};
use crate::store::journal_error::{JournalError, LineDamage, RecordFault};
use crate::store::line::{self, BatchPlace, JournalEntry, LineFault, NO_LINE};
use crate::store::line_envelope::envelope;
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
    /// What is wrong with the record as a whole, where no line accepts it.
    pub record: Option<RecordFault>,
}

/// The number of the line in a fact that accepts what is wrong with the record as a whole.
pub(crate) const WHOLE_RECORD: u64 = 0;

/// Reads a journal from its beginning. Each sound entry is handed to `take`, which may find a
/// contradiction with earlier facts; a damaged line is passed over and noted. `anchor` is the end
/// that the journal was known to have.
pub(crate) fn scan(
    path: &Path,
    bytes: &[u8],
    anchor: Option<&Anchor>,
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
        record: None,
    };
    let (mut opened, mut at_anchor) = (None, None);
    let mut accepted = Vec::new();
    // After an unreadable line nobody knows what the next line should continue.
    let mut known = true;
    each_line(whole, |text, read| {
        scan.lines += 1;
        let read = read.and_then(|entry| {
            let follows = scan.follows(&entry, known);
            known = true;
            if entry.seq < scan.next_seq {
                return follows;
            }
            scan.next_seq = entry.seq.saturating_add(entry.fact.numbers());
            scan.last_hash.clone_from(&entry.hash);
            if anchor.is_some_and(|anchor| anchor.seq.saturating_add(1) == scan.next_seq) {
                at_anchor = Some(entry.hash.clone());
            }
            if let Fact::Opened(fact) = &entry.fact {
                opened.get_or_insert_with(|| fact.job.clone());
            }
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
    });
    let known =
        |damage: &mut LineDamage| accepted.contains(&(damage.line as u64, damage.hash.clone()));
    scan.known_damage = scan.damage.extract_if(.., known).collect();
    let accepts = |fault: &RecordFault| {
        let by = fault.accepted_by().map(str::to_owned);
        by.is_some_and(|hash| accepted.contains(&(WHOLE_RECORD, hash)))
    };
    let fault = scan.fault(path, opened, anchor.map(|anchor| (anchor, at_anchor)));
    scan.record = fault.filter(|fault| !accepts(fault));
    scan
}

impl Scan {
    /// What is wrong with the record as a whole. `opened` is the job that its first line names;
    /// beside the anchor stands the hash that was found at its number.
    fn fault(
        &self,
        path: &Path,
        opened: Option<String>,
        anchor: Option<(&Anchor, Option<String>)>,
    ) -> Option<RecordFault> {
        let path = path.to_owned();
        if self.lines == 0 {
            return Some(RecordFault::Empty { path });
        }
        let folder = path.parent().and_then(Path::file_name);
        let folder = folder.map(|name| name.to_string_lossy().into_owned());
        if let (Some(found), Some(expected)) = (opened, folder)
            // Not every file system tells capital letters apart.
            && !found.eq_ignore_ascii_case(&expected)
        {
            return Some(RecordFault::OfAnother {
                path,
                found,
                expected,
            });
        }
        let (anchor, at_anchor) = anchor?;
        let (known, hash) = (anchor.seq, anchor.hash.clone());
        let found = self.next_seq - 1;
        // A last line that cannot be read may have had several numbers; it is told by itself.
        let last_unread = self
            .damage
            .last()
            .is_some_and(|last| last.line == self.lines);
        if found < known && !last_unread {
            return Some(RecordFault::CutShort {
                path,
                found,
                known,
                hash,
            });
        }
        // A damaged line at that number is told as such.
        let other = at_anchor.is_some_and(|found| found != hash);
        other.then_some(RecordFault::Replaced { path, known, hash })
    }

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

/// A journal of so many bytes is read by two threads. A shorter one is read before a thread begins.
const LONG: usize = 1 << 20;

/// How many lines one thread hands to the other at a time, and how many times it may be ahead, so that
/// memory does not grow with the journal.
const TOGETHER: usize = 64;
const AHEAD: usize = 8;

/// Decodes the lines of whole lines and hands each to `take`, in their order. What a line says, and
/// whether its hash is its own, does not depend on other lines: of a long journal a second thread
/// finds that out, ahead of what `take` makes of it.
fn each_line<'a>(whole: &'a [u8], mut take: impl FnMut(&'a [u8], Result<JournalEntry, LineFault>)) {
    if whole.len() < LONG {
        lines(whole).for_each(|text| take(text, line::decode(text)));
        return;
    }
    std::thread::scope(|scope| {
        let (send, decoded) = sync_channel(AHEAD);
        scope.spawn(move || {
            let mut lines = lines(whole).peekable();
            while lines.peek().is_some() {
                let some = lines.by_ref().take(TOGETHER);
                let some: Vec<_> = some.map(|text| (text, line::decode(text))).collect();
                if send.send(some).is_err() {
                    break;
                }
            }
        });
        for (text, read) in decoded.into_iter().flatten() {
            take(text, read);
        }
    });
}

/// The lines of whole lines, without their line feeds.
pub(crate) fn lines(whole: &[u8]) -> impl Iterator<Item = &[u8]> {
    whole
        .split_inclusive(|byte| *byte == b'\n')
        .map(|line| line.strip_suffix(b"\n").unwrap_or(line))
}

/// Separates what was being written when the process or the power went, and so was never
/// acknowledged: bytes after the last whole line; last lines that contain zero bytes, since some of
/// their blocks did not reach the disk; and the last lines that were written together where one of
/// them is such a line or is missing.
fn without_torn_end(bytes: &[u8]) -> (&[u8], &[u8]) {
    let mut torn = line_end(bytes);
    while let Some(last) = last_line(&bytes[..torn])
        && last.contains(&0)
    {
        torn -= last.len();
    }
    let batch = torn_batch(&bytes[..torn], torn < bytes.len());
    bytes.split_at(batch.unwrap_or(torn))
}

/// Where the lines begin that were written together last, if not all of them are there and whole.
/// `cut_off` where something torn follows them.
fn torn_batch(whole: &[u8], cut_off: bool) -> Option<usize> {
    let (mut begin, mut torn) = (whole.len(), false);
    let mut next: Option<BatchPlace> = None;
    while let Some(line) = last_line(&whole[..begin]) {
        let hole = line.contains(&0);
        let found = line::decode(line.strip_suffix(b"\n").unwrap_or(line));
        let found = found.ok().and_then(|entry| entry.batch);
        match (next, found) {
            // The last whole line: part of a batch whose end is missing, or the end of one. What
            // is torn after the end of a batch was written later, and the batch is sound.
            (None, Some(place)) if place.place < place.of => torn = true,
            (None, Some(place)) if place.place == place.of && !cut_off => {}
            (None, _) => return None,
            // A line before: the one that belongs there, or, after a hole, one of those.
            (Some(next), Some(place)) if belongs(place, next, torn) => {}
            (Some(_), None) if hole => torn = true,
            // Another line: of what was written together, the beginning is missing.
            (Some(_), _) => return torn.then_some(begin),
        }
        begin -= line.len();
        next = found.or(next);
        if next.is_some_and(|next| next.place <= 1) {
            break;
        }
    }
    torn.then_some(begin)
}

/// Whether a line stands before another of its batch: at once, or, where a part is torn, anywhere.
fn belongs(place: BatchPlace, next: BatchPlace, torn: bool) -> bool {
    let before = match torn {
        true => place.place < next.place,
        false => place.place + 1 == next.place,
    };
    place.of == next.of && before
}

fn line_end(bytes: &[u8]) -> usize {
    let last = bytes.iter().rposition(|byte| *byte == b'\n');
    last.map_or(0, |at| at + 1)
}

/// The last line of whole lines, with its line feed.
fn last_line(whole: &[u8]) -> Option<&[u8]> {
    let before = line_end(whole.split_last()?.1);
    whole.get(before..)
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

/// The number that a journal's last sound line says, and its hash.
///
/// # Errors
/// When the disk refuses.
pub(crate) fn last_envelope(
    files: &dyn Files,
    path: &Path,
) -> Result<Option<(u64, String)>, FileError> {
    let last = |bytes: &[u8]| {
        let (whole, _) = without_torn_end(bytes);
        let envelope = envelope(lines(whole).last()?)?;
        Some((envelope.seq, envelope.hash.to_owned()))
    };
    match last(&files.read_end(path, END)?) {
        Some(end) => Ok(Some(end)),
        None => Ok(last(&files.read(path)?)),
    }
}

fn last_entry(bytes: &[u8]) -> Option<(u64, String)> {
    let (whole, _) = without_torn_end(bytes);
    let entry = line::decode(lines(whole).last()?).ok()?;
    let last = entry
        .seq
        .saturating_add(entry.fact.numbers().saturating_sub(1));
    Some((last, entry.hash))
}

/// The result of checking a whole journal.
#[derive(Debug, Clone, PartialEq, Default)]
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
    let anchor = path.parent().and_then(|dir| Anchor::read(files, dir));
    let scan = scan(path, &files.read(path)?, anchor.as_ref(), |_| Ok(()));
    if let Some(fault) = scan.record {
        return Err(fault.into());
    }
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
