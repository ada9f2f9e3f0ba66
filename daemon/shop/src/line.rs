//! One line of a journal as text, held against its own hash and against the line before.
//!
//! This module reads two marks of a line's envelope. `docs/storage.md` freezes the envelope.

const SUM_MARK: &str = ",\"sum\":\"";
const PREV_MARK: &str = ",\"prev\":\"";
const LINE_END: &str = "\"}";
const DIGITS: usize = 64;

/// A line of a journal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JournalLine {
    /// Its place in its journal, counted from 1.
    pub number: u64,
    /// Its hash, in hexadecimal, as the line says it.
    pub hash: String,
    /// The line, without its line feed.
    pub text: String,
}

/// Why a line is not believed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum UnsoundLine {
    /// It does not end as a line does, or its hash differs from the hash in its row.
    #[error("it is not a whole line")]
    NotWhole,
    /// Its bytes give another hash than it carries.
    #[error("its bytes give another hash than it carries")]
    Changed,
    /// It does not continue the line before.
    #[error("it does not follow on the line before")]
    Unchained,
}

/// The hash before the first line of a journal.
pub(crate) fn before_the_first() -> String {
    "0".repeat(DIGITS)
}

impl JournalLine {
    /// A line as it stands in a journal; its hash is what it says of itself.
    ///
    /// # Errors
    /// Where it does not end as a line does.
    pub fn read(number: u64, text: String) -> Result<Self, UnsoundLine> {
        let (_, hash) = parted(&text).ok_or(UnsoundLine::NotWhole)?;
        let hash = hash.to_owned();
        Ok(Self { number, hash, text })
    }

    /// The hash of the line before, as this line says it; 64 zeros on the first.
    pub fn prev(&self) -> Option<&str> {
        // Inside a text of JSON a quotation mark is escaped: the first mark is the envelope's.
        let at = self.text.find(PREV_MARK)? + PREV_MARK.len();
        self.text.get(at..at + DIGITS)
    }

    /// Holds the line against its own hash and against the hash of the line before.
    ///
    /// # Errors
    /// Why it is not believed.
    pub fn check(&self, before: &str) -> Result<(), UnsoundLine> {
        let (body, hash) = parted(&self.text).ok_or(UnsoundLine::NotWhole)?;
        if hash != self.hash || blake3::hash(body.as_bytes()).to_hex().as_str() != hash {
            return Err(UnsoundLine::Changed);
        }
        match self.prev() {
            Some(prev) if prev == before => Ok(()),
            _ => Err(UnsoundLine::Unchained),
        }
    }
}

/// What is hashed, and the hash that a line carries.
fn parted(text: &str) -> Option<(&str, &str)> {
    let open = text.strip_suffix(LINE_END)?;
    let at = open.len().checked_sub(DIGITS)?;
    let body = open.get(..at)?.strip_suffix(SUM_MARK)?;
    Some((body, open.get(at..)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(number: u64, prev: &str, says: &str) -> JournalLine {
        let body = format!("{{\"v\":1,\"seq\":{number},\"prev\":\"{prev}\",\"fact\":\"{says}\"");
        let sum = blake3::hash(body.as_bytes()).to_hex();
        JournalLine::read(number, format!("{body},\"sum\":\"{sum}\"}}")).unwrap()
    }

    #[test]
    fn a_chain_holds_and_each_change_of_it_is_found() {
        let first = line(1, &before_the_first(), "one");
        let second = line(2, &first.hash, "two");
        first.check(&before_the_first()).unwrap();
        second.check(&first.hash).unwrap();
        assert_eq!(
            second.check(&before_the_first()),
            Err(UnsoundLine::Unchained)
        );
        let mut changed = second.clone();
        changed.text = changed.text.replace("two", "too");
        assert_eq!(changed.check(&first.hash), Err(UnsoundLine::Changed));
        let mut other = second.clone();
        other.hash.clone_from(&first.hash);
        assert_eq!(other.check(&first.hash), Err(UnsoundLine::Changed));
        let mut cut = second;
        cut.text.pop();
        assert_eq!(cut.check(&first.hash), Err(UnsoundLine::NotWhole));
        let short = JournalLine::read(1, "ä\"}".to_owned());
        assert_eq!(short, Err(UnsoundLine::NotWhole));
    }

    #[test]
    fn a_text_that_names_a_mark_is_not_taken_for_the_envelope() {
        let first = line(1, &before_the_first(), "x\\\",\\\"prev\\\":\\\"y");
        assert_eq!(first.prev(), Some(before_the_first().as_str()));
    }

    /// The journal that a test of the store opens and writes again byte for byte.
    #[test]
    fn the_frozen_journal_is_a_chain() {
        let frozen = include_str!("../../src/store/tests/fixtures/journal-v1-checks.ndjson");
        let mut before = before_the_first();
        for (place, text) in (1..).zip(frozen.lines()) {
            let line = JournalLine::read(place, text.to_owned()).unwrap();
            line.check(&before).unwrap();
            before = line.hash;
        }
        assert_ne!(before, before_the_first());
    }
}
