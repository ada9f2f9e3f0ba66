//! Whether bytes begin a frame, and how long it is.
//!
//! The decision depends only on the front of the bytes, never on how they were split into reads.

use super::cells;
use crate::profile::model::{Escape, LengthField, LineEnd};

/// The result of looking for a frame at the front of the bytes.
pub(super) enum Scan {
    NeedMore,
    /// A frame of this many bytes in the buffer. `scratch` holds the frame if escapes were undone.
    Whole {
        taken: usize,
        unescaped: bool,
    },
    /// No frame begins in this many bytes.
    Pass(usize),
}

impl Scan {
    pub(super) fn only_if(self, condition: bool) -> Self {
        if condition { self } else { Scan::NeedMore }
    }
}

impl LineEnd {
    /// Number of bytes that end the line.
    pub(super) fn len(&self) -> usize {
        match self {
            LineEnd::Any => 1,
            LineEnd::Exactly(end) => end.len(),
        }
    }
}

pub(super) fn line(rest: &[u8], end: &LineEnd) -> Scan {
    let found = match end {
        LineEnd::Any => rest
            .iter()
            .position(|byte| matches!(byte, b'\r' | b'\n'))
            .map(|at| at + 1),
        LineEnd::Exactly(end) => rest
            .windows(end.len())
            .position(|window| window == end)
            .map(|at| at + end.len()),
    };
    match found {
        Some(taken) => Scan::Whole {
            taken,
            unescaped: false,
        },
        None => Scan::NeedMore,
    }
}

pub(super) fn framed(
    rest: &[u8],
    (start, end): (&[u8], &[u8]),
    escape: Option<Escape>,
    trailer: usize,
    longest: usize,
    content: &mut Vec<u8>,
) -> Scan {
    if rest.is_empty() {
        return Scan::NeedMore;
    }
    let shared = rest.len().min(start.len());
    if rest[..shared] != start[..shared] {
        return Scan::Pass(1);
    }
    if rest.len() < start.len() {
        return Scan::NeedMore;
    }
    content.extend_from_slice(start);
    let mut at = start.len();
    while at < rest.len() {
        if content.len() > longest + start.len() {
            return Scan::Pass(1);
        }
        let byte = rest[at];
        if rest[at..].starts_with(end) {
            // If start and end are the same bytes, two in a row are an end and a start.
            if start == end && at == start.len() {
                return Scan::Pass(at);
            }
            content.extend_from_slice(end);
            at += end.len();
            // The trailer is escaped like the content.
            for _ in 0..trailer {
                match (rest.get(at), escape) {
                    (Some(byte), Some(escape)) if *byte == escape.byte => {
                        let Some(next) = rest.get(at + 1) else {
                            return Scan::NeedMore;
                        };
                        content.push(next ^ escape.xor);
                        at += 2;
                    }
                    (Some(byte), _) => {
                        content.push(*byte);
                        at += 1;
                    }
                    (None, _) => return Scan::NeedMore,
                }
            }
            return Scan::Whole {
                taken: at,
                unescaped: true,
            };
        }
        if end.len() > 1 && end.starts_with(&rest[at..]) {
            return Scan::NeedMore;
        }
        // A new start inside the content shows that the frame before it was cut off.
        if rest[at..].starts_with(start) {
            return Scan::Pass(at);
        }
        if let Some(escape) = escape
            && byte == escape.byte
        {
            let Some(next) = rest.get(at + 1) else {
                return Scan::NeedMore;
            };
            content.push(next ^ escape.xor);
            at += 2;
            continue;
        }
        content.push(byte);
        at += 1;
    }
    Scan::NeedMore.unless_longer(rest.len(), longest + start.len() + end.len() + trailer)
}

impl Scan {
    /// Gives the frame up if it grew too long. Escapes can double its length.
    pub(super) fn unless_longer(self, length: usize, longest: usize) -> Self {
        if length > 2 * longest {
            Scan::Pass(1)
        } else {
            self
        }
    }
}

pub(super) fn in_step(rest: &[u8], sync: &[(usize, Vec<u8>)]) -> bool {
    sync.iter().all(|(at, bytes)| {
        let seen = rest.get(*at..).unwrap_or_default();
        let shared = seen.len().min(bytes.len());
        seen[..shared] == bytes[..shared]
    })
}

pub(super) fn fixed(rest: &[u8], length: usize, sync: &[(usize, Vec<u8>)]) -> Scan {
    if rest.is_empty() {
        Scan::NeedMore
    } else if !in_step(&rest[..rest.len().min(length)], sync) {
        Scan::Pass(1)
    } else if rest.len() < length {
        Scan::NeedMore
    } else {
        Scan::Whole {
            taken: length,
            unescaped: false,
        }
    }
}

pub(super) fn counted(
    rest: &[u8],
    sync: &[(usize, Vec<u8>)],
    count: LengthField,
    longest: usize,
) -> Scan {
    if rest.is_empty() {
        return Scan::NeedMore;
    }
    if !in_step(rest, sync) {
        return Scan::Pass(1);
    }
    let Some(stated) = rest.get(count.at..count.at + count.len) else {
        return Scan::NeedMore;
    };
    let total = cells::unsigned(stated, count.order)
        .and_then(|stated| usize::try_from(stated.0.checked_add(count.adds)?).ok())
        .filter(|total| *total >= count.at + count.len && *total <= longest);
    match total {
        None => Scan::Pass(1),
        Some(total) if rest.len() < total => Scan::NeedMore,
        Some(total) => Scan::Whole {
            taken: total,
            unescaped: false,
        },
    }
}
