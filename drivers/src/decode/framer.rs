//! Cuts a stream of bytes into frames.
//!
//! The framer knows where frames begin and end and whether their checksum fits. It does not know
//! what they mean. Its result depends on the bytes alone, never on how they were split into reads.
//! Its memory is bounded by the longest frame.

use crate::profile::model::{Checksum, Framing, Written};

use super::cells;
use super::scan::{Scan, counted, fixed, framed, line};

/// One finding in the bytes.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum Found<'a> {
    /// A whole frame. Its checksum fits, if it has one.
    Frame(&'a [u8]),
    /// Bytes that belong to no frame.
    Skipped(usize),
    /// A frame whose checksum does not fit.
    Mismatch { computed: u32, stated: Option<u32> },
}

/// Skipped bytes are reported at least this often, so that a flood is noticed.
const REPORT_SKIPPED: usize = 4096;

/// Cuts frames for one gauge.
#[derive(Debug)]
pub(crate) struct Framer {
    framing: Framing,
    checksum: Option<Checksum>,
    buffer: Vec<u8>,
    /// Index in `buffer` at which the next frame may begin.
    start: usize,
    skipped: usize,
    /// Bytes are skipped up to the end of the line, because the line grew too long or was damaged.
    discarding: bool,
    scratch: Vec<u8>,
}

impl Framer {
    pub(crate) fn new(framing: Framing, checksum: Option<Checksum>) -> Self {
        Self {
            framing,
            checksum,
            buffer: Vec::new(),
            start: 0,
            skipped: 0,
            discarding: false,
            scratch: Vec::new(),
        }
    }

    /// Forgets unfinished bytes.
    pub(crate) fn clear(&mut self) {
        self.buffer.clear();
        self.start = 0;
        self.skipped = 0;
        self.discarding = false;
    }

    /// Gives up the frame that has begun, because one of its bytes was damaged.
    pub(crate) fn spoil(&mut self, found: &mut impl FnMut(Found<'_>)) {
        let rest = self.buffer.len().saturating_sub(self.start);
        self.buffer.clear();
        self.start = 0;
        self.skip(rest.saturating_add(1), found);
        if matches!(self.framing, Framing::Line { .. }) {
            self.discarding = true;
        }
    }

    /// Bytes held for an unfinished frame.
    #[cfg(test)]
    pub(crate) fn held(&self) -> usize {
        self.buffer.len()
    }

    /// Takes bytes and hands out every frame that they complete.
    pub(crate) fn push(&mut self, bytes: &[u8], found: &mut impl FnMut(Found<'_>)) {
        // A long read is taken in pieces, so the buffer stays small.
        for piece in bytes.chunks(1024) {
            self.buffer.extend_from_slice(piece);
            self.scan_all(found);
            self.buffer.drain(..self.start);
            self.start = 0;
        }
    }

    fn scan_all(&mut self, found: &mut impl FnMut(Found<'_>)) {
        loop {
            match self.scan() {
                Scan::NeedMore => return,
                Scan::Pass(bytes) => {
                    self.step(bytes);
                    self.skip(bytes, found);
                }
                Scan::Whole { taken, unescaped } => self.finish(taken, unescaped, found),
            }
        }
    }

    /// Steps over bytes. The next frame can begin no later than at the end.
    fn step(&mut self, bytes: usize) {
        self.start = self.start.saturating_add(bytes).min(self.buffer.len());
    }

    fn skip(&mut self, bytes: usize, found: &mut impl FnMut(Found<'_>)) {
        self.skipped = self.skipped.saturating_add(bytes);
        while let Some(rest) = self.skipped.checked_sub(REPORT_SKIPPED) {
            self.skipped = rest;
            found(Found::Skipped(REPORT_SKIPPED));
        }
    }

    /// Checks the checksum of a whole frame and hands it out, or steps over its first byte.
    fn finish(&mut self, taken: usize, unescaped: bool, found: &mut impl FnMut(Found<'_>)) {
        let terminator = if let Framing::Line { end, .. } = &self.framing {
            end.len()
        } else {
            0
        };
        if std::mem::take(&mut self.discarding) {
            self.step(taken);
            self.skip(taken, found);
            return;
        }
        let frame = if unescaped {
            &self.scratch[..]
        } else {
            let rest = left(&self.buffer, self.start);
            rest.get(..taken.saturating_sub(terminator)).unwrap_or(rest)
        };
        let blank_line = terminator > 0 && frame.is_empty();
        let verdict = if blank_line {
            Ok(())
        } else {
            judge(self.checksum.as_ref(), frame)
        };
        if self.skipped > 0 && !(blank_line || verdict.is_err()) {
            found(Found::Skipped(std::mem::take(&mut self.skipped)));
        }
        match verdict {
            Ok(()) => {
                if !blank_line {
                    found(Found::Frame(frame));
                }
                self.step(taken);
            }
            Err((computed, stated)) => {
                found(Found::Mismatch { computed, stated });
                // The end of a line is certain. Any other frame may have begun at the wrong byte.
                if terminator > 0 {
                    self.step(taken);
                } else {
                    self.step(1);
                    self.skip(1, found);
                }
            }
        }
    }

    fn scan(&mut self) -> Scan {
        let rest = left(&self.buffer, self.start);
        match &self.framing {
            Framing::Replies => Scan::Pass(rest.len().max(1)).only_if(!rest.is_empty()),
            Framing::Line { end, longest } => {
                let scan = line(rest, end);
                let most = longest.saturating_add(end.len());
                let too_long = match scan {
                    Scan::NeedMore => rest.len() >= most,
                    Scan::Whole { taken, .. } => taken > most,
                    Scan::Pass(_) => false,
                };
                if !too_long {
                    return scan;
                }
                self.discarding = true;
                match scan {
                    // All bytes except those that may be the first part of the terminator.
                    Scan::NeedMore => {
                        Scan::Pass(rest.len().saturating_sub(end.len().saturating_sub(1)))
                    }
                    whole => whole,
                }
            }
            Framing::Framed {
                start,
                end,
                escape,
                trailer,
                longest,
            } => {
                self.scratch.clear();
                framed(
                    rest,
                    (start, end),
                    *escape,
                    *trailer,
                    *longest,
                    &mut self.scratch,
                )
            }
            Framing::Fixed { length, sync } => fixed(rest, *length, sync),
            Framing::Counted {
                sync,
                count,
                longest,
            } => counted(rest, sync, *count, *longest),
        }
    }
}

/// The bytes that belong to no frame yet.
fn left(buffer: &[u8], start: usize) -> &[u8] {
    buffer.get(start..).unwrap_or_default()
}

/// Checks a frame's checksum. The error holds the computed and the stated checksum.
fn judge(checksum: Option<&Checksum>, frame: &[u8]) -> Result<(), (u32, Option<u32>)> {
    let Some(checksum) = checksum else {
        return Ok(());
    };
    let computed = checksum.over.of(frame).map(|bytes| checksum.sum.of(bytes));
    let at = usize::try_from(checksum.at)
        .ok()
        .or_else(|| frame.len().checked_sub(checksum.at.unsigned_abs() as usize));
    let stated = at
        .and_then(|at| frame.get(at..at.checked_add(checksum.len())?))
        .and_then(|field| stated(field, checksum.written));
    match (computed, stated) {
        (Some(computed), Some(stated)) if computed == stated => Ok(()),
        (computed, stated) => Err((computed.unwrap_or(0), stated)),
    }
}

fn stated(field: &[u8], written: Written) -> Option<u32> {
    match written {
        Written::Raw(order) => cells::unsigned(field, order),
        Written::Hex => cells::hex(field, false),
        Written::Decimal { .. } => field
            .iter()
            .all(u8::is_ascii_digit)
            .then(|| cells::digits(field))
            .flatten(),
    }
    .and_then(|count| u32::try_from(count.0).ok())
}

#[cfg(test)]
#[path = "framer_tests.rs"]
mod tests;
