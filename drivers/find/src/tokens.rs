//! Finds numbers and words in a record, with their places.

use crate::seven::is_symbol;
use benchhand_drivers::decode::decimal;
use benchhand_drivers::profile::{DecimalMark, DecimalRules};

/// A number in a record.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct RecordNumber {
    pub(crate) at: usize,
    pub(crate) len: usize,
    pub(crate) value: f64,
    /// Number of decimals behind a mark. `None` if there is no mark.
    pub(crate) decimals: Option<u8>,
    pub(crate) digits: usize,
    pub(crate) signed: bool,
    pub(crate) exponent: bool,
    /// Whether the number begins with a zero that a plain number would not have.
    pub(crate) padded: bool,
    /// Whether a letter stands directly before the number, which may then be part of a name.
    pub(crate) glued: bool,
    /// Whether the number is part of a time or date.
    pub(crate) clock: bool,
}

impl RecordNumber {
    pub(crate) fn end(&self) -> usize {
        self.at + self.len
    }
}

/// Every number of a record, from left to right.
pub(crate) fn numbers(record: &[u8], mark: DecimalMark, grouping: Option<u8>) -> Vec<RecordNumber> {
    let rules = DecimalRules {
        mark,
        decimals: None,
        implied: None,
        digits: None,
        exponent: true,
        blanks: false,
        grouping,
    };
    let mut all: Vec<RecordNumber> = Vec::new();
    let mut at = 0;
    while at < record.len() {
        let begins = match record[at] {
            b'0'..=b'9' => true,
            b'.' => record.get(at + 1).is_some_and(u8::is_ascii_digit),
            // A sign between two digits is part of a date or a range.
            b'+' | b'-' => at == 0 || !record[at - 1].is_ascii_digit(),
            _ => false,
        };
        let mut rest = &record[at..];
        let found = begins.then(|| decimal::read(&mut rest, rules)).flatten();
        let Some(found) = found else {
            at += 1;
            continue;
        };
        let len = record.len() - at - rest.len();
        let mut number = number(record, at, len, found, grouping);
        // A sign may stand last.
        if let Some(sign @ (b'+' | b'-')) = record.get(at + len)
            && !number.signed
            && record
                .get(at + len + 1)
                .is_none_or(|b| matches!(b, b' ' | b',' | b';'))
        {
            number.signed = true;
            number.len += 1;
            if *sign == b'-' {
                number.value = -number.value + 0.0;
            }
        }
        at += number.len;
        all.push(number);
    }
    mark_clocks(record, &mut all);
    all
}

fn number(
    record: &[u8],
    at: usize,
    len: usize,
    found: decimal::Decimal,
    grouping: Option<u8>,
) -> RecordNumber {
    let text = &record[at..at + len];
    let mantissa = text.iter().take_while(|byte| !matches!(byte, b'e' | b'E'));
    let mark = mantissa
        .clone()
        .position(|byte| matches!(byte, b'.' | b',') && Some(*byte) != grouping);
    let mantissa_len = mantissa.clone().count();
    let first = text.iter().position(u8::is_ascii_digit).unwrap_or(0);
    let next = text.get(first + 1).copied();
    let value = found
        .scaled(benchhand_drivers::profile::ScaleFactor::ONE)
        .map_or(0.0, |(value, _)| value);
    RecordNumber {
        at,
        len,
        value,
        decimals: mark.map(|mark| u8::try_from(mantissa_len - mark - 1).unwrap_or(0)),
        digits: mantissa.filter(|byte| byte.is_ascii_digit()).count(),
        signed: found.signed,
        exponent: mantissa_len < len,
        padded: text.get(first) == Some(&b'0') && next.is_some_and(|byte| byte.is_ascii_digit()),
        glued: !found.signed && at > 0 && record[at - 1].is_ascii_alphabetic(),
        clock: false,
    }
}

/// Marks numbers of times (`12:34:56`) and dates (`2026-03-02`, `02/03/26`).
fn mark_clocks(record: &[u8], numbers: &mut [RecordNumber]) {
    for index in 1..numbers.len() {
        let (end, at) = (numbers[index - 1].end(), numbers[index].at);
        let between = &record[end.min(at)..at];
        let whole = numbers[index - 1].decimals.is_none();
        let joined = matches!(between, [b':'] | [b'/'])
            || (between == b"-" && record[at].is_ascii_digit())
            || (between == b"T" && numbers[index - 1].clock);
        if joined && whole {
            numbers[index - 1].clock = true;
            numbers[index].clock = true;
        }
    }
}

/// The text in which each byte is one character, as in profiles.
pub(crate) fn latin(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| char::from(*byte)).collect()
}

/// The bytes of a text in which each character is one byte.
pub(crate) fn bytes_of(text: &str) -> Vec<u8> {
    text.chars().filter_map(|c| u8::try_from(c).ok()).collect()
}

/// The word that begins at `at` behind blanks: letters, digits behind them, and unit symbols.
/// Empty if there is none. Symbols beyond ASCII are the bytes they consist of.
pub(crate) fn word_behind(record: &[u8], at: usize) -> &[u8] {
    let rest = record.get(at..).unwrap_or_default();
    let rest = rest.trim_ascii_start();
    let is_first =
        |byte: &u8| byte.is_ascii_alphabetic() || matches!(byte, b'"' | b'%') || is_symbol(*byte);
    if !rest.first().is_some_and(is_first) {
        return &[];
    }
    let end = rest
        .iter()
        .position(|byte| !(is_first(byte) || byte.is_ascii_digit() || matches!(byte, b'/' | b'^')))
        .unwrap_or(rest.len());
    &rest[..end]
}

/// The letters before `at`, without separators between.
pub(crate) fn word_before(record: &[u8], at: usize) -> &str {
    let rest = &record[..at.min(record.len())];
    let end = rest
        .iter()
        .rposition(|byte| !matches!(byte, b' ' | b':' | b'=' | b'+' | b'-'))
        .map_or(0, |at| at + 1);
    let start = rest[..end]
        .iter()
        .rposition(|byte| !(byte.is_ascii_alphanumeric() || *byte == b'_'))
        .map_or(0, |at| at + 1);
    std::str::from_utf8(&rest[start..end]).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn values(text: &str) -> Vec<f64> {
        numbers(text.as_bytes(), DecimalMark::Point, None)
            .iter()
            .filter(|number| !number.clock)
            .map(|number| number.value)
            .collect()
    }

    #[test]
    fn numbers_are_found_and_clocks_are_told_apart() {
        assert_eq!(values("ST,GS,+   62.31,g"), [62.31]);
        assert_eq!(values("2026-03-02T09:14:05 -1.25 mm"), [-1.25]);
        assert_eq!(values("12:30:05;0.5;23"), [0.5, 23.0]);
        assert_eq!(values("N+0012.34g"), [12.34]);
        assert_eq!(values("1.25E-01"), [0.125]);
        assert_eq!(values("12.5- mm"), [-12.5]);
        let grouped = numbers(b"1,129.92 g", DecimalMark::Point, Some(b','));
        assert_eq!((grouped.len(), grouped[0].value), (1, 1129.92));
        assert_eq!(grouped[0].decimals, Some(2));
    }

    #[test]
    fn words_beside_a_number() {
        assert_eq!(word_behind(b"12.5 mm x", 4), b"mm");
        assert_eq!(word_behind(b"12.5,mm", 4), b"");
        assert_eq!(word_behind(b"12.5 \xB5m", 4), b"\xB5m");
        assert_eq!(word_before(b"TEMP: 12", 6), "TEMP");
        assert_eq!(word_before(b"a;D=12", 4), "D");
    }
}
