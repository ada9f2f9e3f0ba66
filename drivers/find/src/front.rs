//! Finds the front of the sound bytes. A port that is opened in the middle of a frame hears
//! nonsense until the line is idle for the first time. Judges also whether the sound bytes are
//! text.

use crate::heard::HeardBytes;
use crate::seven::{format, is_idle, is_symbol, is_text, share};

/// Fewest bytes that tell anything.
const FEW: usize = 8;

/// The heard bytes without the nonsense at the front.
pub(crate) fn trimmed(heard: &HeardBytes) -> HeardBytes {
    let bytes = heard.bytes();
    let from = if heard.asked.is_some() {
        0
    } else if whole(&bytes) {
        // Every byte is sound, so nothing is removed.
        0
    } else {
        starts(heard, &bytes)
            .into_iter()
            .find(|from| bytes.len() - from >= FEW && whole(&bytes[*from..]))
            .or_else(|| after_pause(heard).filter(|from| bytes.len() - from > bytes.len() / 2))
            .unwrap_or(0)
    };
    let mut left = from;
    let mut reads = Vec::new();
    for (at_us, read) in &heard.reads {
        let cut = left.min(read.len());
        left -= cut;
        if cut < read.len() {
            reads.push((*at_us, read[cut..].to_vec()));
        }
    }
    HeardBytes {
        reads,
        ..heard.clone()
    }
}

/// Whether the bytes are text with hardly a fault.
fn whole(bytes: &[u8]) -> bool {
    texts(bytes) > 0.985
}

/// Offsets at which the sound part may begin: after the first idle time of the line, or after the
/// last odd byte of the first half.
fn starts(heard: &HeardBytes, bytes: &[u8]) -> Vec<usize> {
    let seven = format(&bytes[bytes.len() / 2..]).is_some();
    let odd = |byte: u8| !is_text(if seven { byte & 0x7F } else { byte }) && !is_idle(byte);
    let half = &bytes[..bytes.len() / 2];
    let behind_odd = half.iter().rposition(|byte| odd(*byte)).map(|at| at + 1);
    after_pause(heard).into_iter().chain(behind_odd).collect()
}

/// Number of bytes before the first idle time of the line.
pub(crate) fn after_pause(heard: &HeardBytes) -> Option<usize> {
    let byte_us = 10_000_000 / u64::from(heard.line.baud.max(1));
    let rest = (4 * byte_us).max(15_000);
    let mut count = 0;
    for pair in heard.reads.windows(2) {
        count += pair[0].1.len();
        if pair[1].0 - pair[0].0 > rest + byte_us * pair[1].1.len() as u64 {
            return Some(count);
        }
    }
    None
}

/// Number of bytes after the first idle time of the line.
pub(crate) fn behind_a_rest(heard: &HeardBytes) -> usize {
    after_pause(heard).map_or(0, |from| heard.bytes().len() - from)
}

/// Whether the heard bytes are text, apart from nonsense at the front.
pub(crate) fn text_was_heard(heard: &HeardBytes) -> bool {
    let bytes = heard.bytes();
    reads_as_text(&bytes)
        || starts(heard, &bytes)
            .into_iter()
            .any(|from| bytes.len() - from >= 12 && reads_as_text(&bytes[from..]))
}

/// The share of the heard bytes that could be text. 0 if none was heard.
pub(crate) fn hope(heard: &HeardBytes) -> f64 {
    let bytes = heard.bytes();
    let from = after_pause(heard).unwrap_or(0);
    texts(&bytes).max(if bytes.len() - from >= FEW {
        texts(&bytes[from..])
    } else {
        0.0
    })
}

/// The share of bytes that can stand in a text.
pub(crate) fn texts(bytes: &[u8]) -> f64 {
    let seven = format(bytes).is_some();
    let idle = bytes.iter().filter(|byte| is_idle(**byte)).count();
    // Bytes that fill pauses are left out. They are not text by themselves.
    if share(idle, bytes.len()) > 0.4 {
        return 0.0;
    }
    let of = |fits: &dyn Fn(u8) -> bool| {
        let fitting = bytes.iter().filter(|byte| !is_idle(**byte) && fits(**byte));
        share(fitting.count(), bytes.len() - idle)
    };
    let plain = of(&|byte| is_text(if seven { byte & 0x7F } else { byte }));
    if !seven && plain > 0.8 {
        // Unit symbols beyond ASCII are allowed, because at a wrong speed many other bytes would
        // not be text.
        of(&|byte| is_text(byte) || is_symbol(byte))
    } else {
        plain
    }
}

/// Whether bytes are mostly printable, with digits among them.
pub(crate) fn reads_as_text(bytes: &[u8]) -> bool {
    let digits = bytes
        .iter()
        .filter(|byte| (**byte & 0x7F).is_ascii_digit())
        .count();
    let (texts, digits) = (texts(bytes), share(digits, bytes.len()));
    texts > 0.93 && digits > 0.15 || texts > 0.985 && digits > 0.05
}
