//! What is known of one station's journal while several are put together.

use std::sync::Arc;

use jiff::Timestamp;

use crate::store::fact::{Fact, Reading};
use crate::store::line::{JournalEntry, NO_LINE};
use crate::store::merged::SaidFact;
use crate::store::naming::measures;
use crate::store::station::StationId;

/// A stamp so far ahead of this machine's clock does not advance its own stamps, microseconds.
const AHEAD_US: u64 = 60_000_000;

/// What is to be said of one station's journal of a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StationInJob {
    /// The station.
    pub station: StationId,
    /// Its letter, or where it has none some digits of its identity.
    pub label: String,
    /// Whether it is this one.
    pub own: bool,
    /// How many lines are held.
    pub lines: u64,
    /// How many of them a newer program wrote, so that this one does not understand them.
    pub not_understood: u64,
    /// How far its last stamp is ahead of this machine's clock where that is too far to follow,
    /// microseconds; 0 where it is not.
    pub ahead_us: u64,
}

/// What is known of one station's journal.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct HeldJournal {
    /// How many lines.
    pub(super) lines: u64,
    /// The hash of the last one, in hexadecimal.
    pub(super) hash: String,
    /// The number that the last one says.
    pub(super) seq: u64,
    /// The stamp of its last fact.
    pub(super) stamp: u64,
    pub(super) opens: bool,
    pub(super) letter: Option<String>,
    pub(super) measures: bool,
    /// Lines that a newer program wrote.
    pub(super) not_understood: u64,
    /// The beginning of lines that were written together, of which the rest has not come.
    pending: Vec<SaidFact>,
}

impl Default for HeldJournal {
    fn default() -> Self {
        Self {
            lines: 0,
            hash: NO_LINE.to_owned(),
            seq: 0,
            stamp: 0,
            opens: false,
            letter: None,
            measures: false,
            not_understood: 0,
            pending: Vec::new(),
        }
    }
}

/// The stamp of a line: its own, or for an older one its time; never less than the one before.
pub(crate) fn stamp_after(before: u64, stamp: Option<u64>, at: Timestamp) -> u64 {
    stamp.unwrap_or_else(|| micros(at)).max(before)
}

/// Whole microseconds since 1970.
pub(crate) fn micros(at: Timestamp) -> u64 {
    u64::try_from(at.as_microsecond()).unwrap_or(0)
}

/// Whether a stamp is too far ahead of a clock to advance it.
pub(crate) fn is_ahead(stamp: u64, now: Timestamp) -> bool {
    stamp > micros(now).saturating_add(AHEAD_US)
}

impl HeldJournal {
    /// Takes in a line that is understood; returns the facts that are whole with it.
    pub(super) fn take(&mut self, station: &StationId, entry: JournalEntry) -> Vec<SaidFact> {
        self.lines += 1;
        self.hash = entry.hash;
        self.seq = entry.seq;
        self.stamp = stamp_after(self.stamp, entry.beside.stamp, entry.at);
        self.note(&entry.fact);
        let said = SaidFact {
            stamp: self.stamp,
            station: station.clone(),
            seq: entry.seq,
            at: entry.at,
            on: entry.beside.on,
            of_station: entry.of_station,
            fact: Arc::new(entry.fact),
        };
        self.pending.push(said);
        match entry.batch {
            Some(batch) if batch.place < batch.of => Vec::new(),
            _ => std::mem::take(&mut self.pending),
        }
    }

    pub(super) fn note(&mut self, fact: &Fact) {
        match fact {
            Fact::Opened(_) => self.opens = true,
            Fact::Joined(joined) if joined.letter.is_some() => {
                self.letter.clone_from(&joined.letter);
            }
            _ => {}
        }
        self.measures |= measures(fact);
    }
}

/// Takes the samples out of the windows of readings, all but the first and the last: a view holds no
/// more of them than how long the window was, and the journal has them all.
pub(super) fn keep_ends_of_windows(fact: &mut Fact) {
    let shorten = |reading: &mut Reading| {
        if let [first, .., last] = reading.window.as_slice() {
            reading.window = vec![*first, *last];
        }
    };
    match fact {
        Fact::Held(reading)
        | Fact::Revised(reading)
        | Fact::Final(reading)
        | Fact::Asked(reading) => shorten(reading),
        Fact::Import(import) => import.rows.iter_mut().for_each(shorten),
        _ => {}
    }
}

/// The number and the hash of journals together, each by its station with its own.
pub(crate) fn head_of<'a>(
    ends: impl Iterator<Item = (&'a StationId, u64, &'a str)>,
) -> (u64, String) {
    let mut hasher = blake3::Hasher::new();
    let mut together = 0;
    for (station, seq, hash) in ends {
        hasher.update(station.0.as_bytes());
        hasher.update(hash.as_bytes());
        together += seq;
    }
    (together, hasher.finalize().to_hex().to_string())
}
