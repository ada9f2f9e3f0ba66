//! Splits text into records by line ends, or by the bytes around a frame.

use crate::heard::HeardBytes;
use crate::seven::share;

/// How bytes are split into records.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum RecordCut {
    /// Lines that end with CR, LF or both; these are the bytes.
    Line(Vec<u8>),
    /// Frames between a start and an end, with this many bytes behind the end.
    Framed {
        start: Vec<u8>,
        end: Vec<u8>,
        trailer: usize,
    },
}

/// A record, and the time at which its last byte was read.
#[derive(Debug, Clone)]
pub(crate) struct Record {
    pub(crate) at_us: u64,
    pub(crate) text: Vec<u8>,
    /// Bytes behind the end byte.
    pub(crate) trailer: Vec<u8>,
}

#[derive(Debug, Clone)]
pub(crate) struct Records {
    pub(crate) cut: RecordCut,
    /// The whole records. The first and the last are left out, because they may be incomplete.
    pub(crate) all: Vec<Record>,
}

/// Splits the heard bytes into records. `mask` removes the parity bit of 7-bit bytes.
pub(crate) fn cut(heard: &HeardBytes, mask: u8) -> Option<Records> {
    let mut timed: Vec<(u64, u8)> = Vec::new();
    for (at_us, bytes) in &heard.reads {
        timed.extend(bytes.iter().map(|byte| (*at_us, byte & mask)));
    }
    framed(&timed).or_else(|| lines(&timed, heard.asked.is_some()))
}

fn framed(timed: &[(u64, u8)]) -> Option<Records> {
    let count = |wanted: u8| timed.iter().filter(|(_, byte)| *byte == wanted).count();
    let (starts, ends) = (count(2), count(3));
    if starts < 3 || ends < 3 || starts.abs_diff(ends) > 1 + starts / 20 {
        return None;
    }
    let mut ends_at: Vec<(usize, usize)> = Vec::new();
    let mut gaps: Vec<usize> = Vec::new();
    let mut from = None;
    for (at, (_, byte)) in timed.iter().enumerate() {
        match (byte, from) {
            (2, _) => {
                if let Some((_, end)) = ends_at.last() {
                    gaps.push(at - end - 1);
                }
                from = Some(at + 1);
            }
            (3, Some(begun)) => {
                ends_at.push((begun, at));
                from = None;
            }
            _ => {}
        }
    }
    // The usual gap is used, because a check byte may look like a start.
    gaps.sort_unstable();
    let trailer = *gaps.get(gaps.len() / 2)?;
    let bytes = |from: usize, to: usize| timed[from..to].iter().map(|(_, byte)| *byte).collect();
    let all = ends_at
        .iter()
        .filter(|(_, end)| end + trailer < timed.len())
        .map(|(from, end)| Record {
            at_us: timed[end + trailer].0,
            text: bytes(*from, *end),
            trailer: bytes(end + 1, end + 1 + trailer),
        })
        .collect();
    Some(Records {
        cut: RecordCut::Framed {
            start: vec![2],
            end: vec![3],
            trailer,
        },
        all,
    })
}

fn lines(timed: &[(u64, u8)], asked: bool) -> Option<Records> {
    let count = |wanted: u8| timed.iter().filter(|(_, byte)| *byte == wanted).count();
    let (returns, feeds) = (count(b'\r'), count(b'\n'));
    let end = match (returns, feeds) {
        (0, 0) => vec![unusual_end(timed)?],
        (_, 0) => b"\r".to_vec(),
        (0, _) => b"\n".to_vec(),
        _ => {
            let pairs = timed
                .windows(2)
                .filter(|w| w[0].1 == b'\r' && w[1].1 == b'\n')
                .count();
            if share(pairs, returns.max(feeds)) > 0.8 {
                b"\r\n".to_vec()
            } else {
                b"\r".to_vec()
            }
        }
    };
    let is_end = |byte: u8| {
        if matches!(end[0], b'\r' | b'\n') {
            matches!(byte, b'\r' | b'\n')
        } else {
            byte == end[0]
        }
    };
    let mut all = Vec::new();
    let mut text = Vec::new();
    for (at_us, byte) in timed {
        if !is_end(*byte) {
            text.push(*byte);
        } else if !text.is_empty() {
            let text = std::mem::take(&mut text);
            all.push(Record {
                at_us: *at_us,
                text,
                trailer: Vec::new(),
            });
        }
    }
    // The first line of a gauge that sends by itself may have lost its front.
    if !asked && !all.is_empty() {
        all.remove(0);
    }
    Some(Records {
        cut: RecordCut::Line(end),
        all,
    })
}

/// Lines that all begin with the same control bytes become frames with these bytes as their start.
pub(crate) fn behind_control(mut records: Records) -> Records {
    let Some(first) = records.all.first() else {
        return records;
    };
    let control = |byte: &u8| *byte < 0x20 && *byte != b'\t';
    let start: Vec<u8> = first.text.iter().copied().take_while(control).collect();
    let same = |record: &Record| {
        record.text.starts_with(&start) && !record.text.get(start.len()).is_some_and(control)
    };
    let RecordCut::Line(end) = &records.cut else {
        return records;
    };
    if start.is_empty() || !records.all.iter().all(same) {
        return records;
    }
    records.cut = RecordCut::Framed {
        start: start.clone(),
        end: end.clone(),
        trailer: 0,
    };
    for record in &mut records.all {
        record.text.drain(..start.len());
    }
    records
}

/// A character that is not part of numbers and splits the bytes into pieces of nearly equal
/// length.
fn unusual_end(timed: &[(u64, u8)]) -> Option<u8> {
    let mut best: Option<(u8, usize)> = None;
    for end in [b';', b'#', b'!', b'$', b'*', 0, 4, 3, b'\t', b'/', b'|'] {
        let places: Vec<usize> = (0..timed.len()).filter(|at| timed[*at].1 == end).collect();
        if places.len() < 4 {
            continue;
        }
        let gaps: Vec<usize> = places.windows(2).map(|pair| pair[1] - pair[0]).collect();
        let (least, most) = (gaps.iter().min()?, gaps.iter().max()?);
        if *least >= 3 && most - least <= 6 && best.is_none_or(|(_, count)| places.len() < count) {
            best = Some((end, places.len()));
        }
    }
    best.map(|(end, _)| end)
}
