//! What every line of a journal says of its place, whatever version of the format it has.

use crate::store::line::{HASH_LEN, HASH_MARK, LINE_END, PREV_MARK, prev_mark};

/// What every line says of its place in its journal, whatever version wrote it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct LineEnvelope<'a> {
    /// The number of its fact.
    pub seq: u64,
    /// The hash of the line before, in hexadecimal.
    pub prev: &'a str,
    /// Its own, which its bytes give.
    pub hash: &'a str,
}

/// Reads the envelope of a line, without its line feed, and makes sure that its bytes are those
/// written; what it says need not be understood.
pub(crate) fn envelope(line: &[u8]) -> Option<LineEnvelope<'_>> {
    let tail = HASH_MARK.len() + HASH_LEN + LINE_END.len();
    let (body, tail) = line.split_at_checked(line.len().checked_sub(tail)?)?;
    let hash = tail.strip_prefix(HASH_MARK)?.strip_suffix(LINE_END)?;
    let hash = std::str::from_utf8(hash).ok()?;
    if blake3::hash(body).to_hex().as_str() != hash {
        return None;
    }
    let begins = std::str::from_utf8(body).ok()?.strip_prefix("{\"v\":")?;
    let seq = begins.trim_start_matches(|c: char| c.is_ascii_digit());
    let seq = seq.strip_prefix(",\"seq\":")?.split(',').next()?;
    let at = prev_mark(body)? + PREV_MARK.len();
    let prev = std::str::from_utf8(body.get(at..at + HASH_LEN)?).ok()?;
    Some(LineEnvelope {
        seq: seq.parse().ok()?,
        prev,
        hash,
    })
}
