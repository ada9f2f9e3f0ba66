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

/// Where `wanted` stands first in a text. An empty one stands nowhere.
pub(super) fn find(text: &[u8], wanted: &[u8]) -> Option<usize> {
    if wanted.is_empty() {
        return None;
    }
    text.windows(wanted.len()).position(|seen| seen == wanted)
}

pub(super) fn line(rest: &[u8], end: &LineEnd) -> Scan {
    let found = match end {
        LineEnd::Any => rest.iter().position(|byte| matches!(byte, b'\r' | b'\n')),
        LineEnd::Exactly(end) => find(rest, end),
    };
    match found {
        Some(at) => Scan::Whole {
            taken: at.saturating_add(end.len()),
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
    let Some(mut left) = rest.strip_prefix(start) else {
        return if start.starts_with(rest) {
            Scan::NeedMore
        } else {
            Scan::Pass(1)
        };
    };
    let before = |left: &[u8]| rest.len().saturating_sub(left.len());
    let most = longest.saturating_add(start.len());
    content.extend_from_slice(start);
    while !left.is_empty() {
        if content.len() > most {
            return Scan::Pass(1);
        }
        if let Some(behind) = left.strip_prefix(end) {
            // If start and end are the same bytes, two in a row are an end and a start.
            if start == end && before(left) == start.len() {
                return Scan::Pass(before(left));
            }
            content.extend_from_slice(end);
            left = behind;
            // The trailer is escaped like the content.
            for _ in 0..trailer {
                let Some((byte, behind)) = unescaped(left, escape) else {
                    return Scan::NeedMore;
                };
                content.push(byte);
                left = behind;
            }
            return Scan::Whole {
                taken: before(left),
                unescaped: true,
            };
        }
        if end.len() > 1 && end.starts_with(left) {
            return Scan::NeedMore;
        }
        // A new start inside the content shows that the frame before it was cut off.
        if left.starts_with(start) {
            return Scan::Pass(before(left));
        }
        let Some((byte, behind)) = unescaped(left, escape) else {
            return Scan::NeedMore;
        };
        content.push(byte);
        left = behind;
    }
    let around = end.len().saturating_add(trailer);
    Scan::NeedMore.unless_longer(rest.len(), most.saturating_add(around))
}

/// The first byte with its escape undone, and the bytes behind it.
fn unescaped(bytes: &[u8], escape: Option<Escape>) -> Option<(u8, &[u8])> {
    let (first, behind) = bytes.split_first()?;
    match escape {
        Some(escape) if *first == escape.byte => {
            let (second, behind) = behind.split_first()?;
            Some((second ^ escape.xor, behind))
        }
        _ => Some((*first, behind)),
    }
}

impl Scan {
    /// Gives the frame up if it grew too long. Escapes can double its length.
    pub(super) fn unless_longer(self, length: usize, longest: usize) -> Self {
        if length > longest.saturating_mul(2) {
            Scan::Pass(1)
        } else {
            self
        }
    }
}

pub(super) fn in_step(rest: &[u8], sync: &[(usize, Vec<u8>)]) -> bool {
    sync.iter().all(|(at, bytes)| {
        let seen = rest.iter().skip(*at);
        seen.zip(bytes).all(|(seen, byte)| seen == byte)
    })
}

pub(super) fn fixed(rest: &[u8], length: usize, sync: &[(usize, Vec<u8>)]) -> Scan {
    if rest.is_empty() {
        Scan::NeedMore
    } else if !in_step(rest.get(..length).unwrap_or(rest), sync) {
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
    let header = count.at.saturating_add(count.len);
    let Some(stated) = rest.get(count.at..header) else {
        return Scan::NeedMore;
    };
    let total = cells::unsigned(stated, count.order)
        .and_then(|stated| usize::try_from(stated.0.checked_add(count.adds)?).ok())
        .filter(|total| *total >= header && *total <= longest);
    match total {
        None => Scan::Pass(1),
        Some(total) if rest.len() < total => Scan::NeedMore,
        Some(total) => Scan::Whole {
            taken: total,
            unescaped: false,
        },
    }
}
