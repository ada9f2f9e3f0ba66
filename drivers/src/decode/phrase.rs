//! A line of text that says one number: `[label] number [unit]`.
//!
//! A line that could mean two things is refused, never guessed.

use super::decimal::{self, Decimal};
use crate::profile::number::DecimalRules;

/// A line taken apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Phrase<'a> {
    /// The label without separators. Empty if there is none.
    pub(crate) label: &'a [u8],
    pub(crate) number: Decimal,
    /// The text behind the number. Empty if there is none.
    pub(crate) tail: &'a [u8],
}

/// Takes `text` apart.
pub(crate) fn read(text: &[u8], rules: DecimalRules) -> Option<Phrase<'_>> {
    let text = text.trim_ascii();
    let (label, rest) = split_label(text)?;
    let (number, tail) = number_and_tail(rest, rules)?;
    Some(Phrase {
        label,
        number,
        tail,
    })
}

/// The number at the start of `text`, and the text behind it. A trailing sign belongs to the
/// number.
pub(crate) fn number_and_tail(text: &[u8], rules: DecimalRules) -> Option<(Decimal, &[u8])> {
    let mut rest = text;
    let mut number = decimal::read(&mut rest, rules)?;
    if let [sign @ (b'+' | b'-'), tail @ ..] = rest {
        if number.signed {
            return None;
        }
        number.negative = *sign == b'-';
        rest = tail;
    }
    // A unit never begins with a digit or sign. "12.5 3" is two numbers; "1.2.3" and "12:30" are no
    // numbers.
    match rest.trim_ascii_start() {
        tail @ ([] | [b'a'..=b'z' | b'A'..=b'Z' | b'"' | b'%' | 0x80.., ..]) => {
            Some((number, tail))
        }
        _ => None,
    }
}

/// Splits off a label. A label begins with a letter. It ends with `:`, `=` or a blank, or before a
/// sign or digit that follows its letters directly.
fn split_label(text: &[u8]) -> Option<(&[u8], &[u8])> {
    if !text.first()?.is_ascii_alphabetic() {
        return Some((&[], text));
    }
    if let Some(at) = text.iter().rposition(|byte| matches!(byte, b':' | b'=')) {
        let (label, rest) = text.split_at_checked(at)?;
        let (_mark, rest) = rest.split_first()?;
        return Some((label.trim_ascii_end(), rest.trim_ascii_start()));
    }
    let mut words = text;
    loop {
        let word = words.split(u8::is_ascii_whitespace).next()?;
        let rest = words.strip_prefix(word)?.trim_ascii_start();
        match rest.first() {
            // A word before a number is the last word of the label.
            Some(byte) if starts_number(*byte) && is_label_word(word) => {
                return Some((before(rest, text)?, rest));
            }
            Some(byte) if byte.is_ascii_alphabetic() && is_label_word(word) => {
                words = rest;
            }
            // Only the last word can hold the number.
            _ => {
                let letters = word.iter().take_while(|b| b.is_ascii_alphabetic()).count();
                let digits = word
                    .iter()
                    .skip(letters)
                    .take_while(|b| b.is_ascii_digit())
                    .count();
                let numbered = letters.saturating_add(digits);
                let signed = word.get(numbered).is_some_and(|b| matches!(b, b'+' | b'-'));
                let label = if signed { numbered } else { letters };
                let (_, rest) = words.split_at_checked(label)?;
                return Some((before(rest, text)?, rest));
            }
        }
    }
}

/// What stands before the end of a text, without blanks behind it.
fn before<'a>(end: &[u8], text: &'a [u8]) -> Option<&'a [u8]> {
    let length = text.len().checked_sub(end.len())?;
    Some(text.get(..length)?.trim_ascii_end())
}

fn starts_number(byte: u8) -> bool {
    matches!(byte, b'0'..=b'9' | b'.' | b'+' | b'-')
}

/// Whether a word is letters with optional digits behind them: `D`, `depth`, `S1`.
fn is_label_word(word: &[u8]) -> bool {
    let letters = word
        .iter()
        .take_while(|b| b.is_ascii_alphabetic() || **b == b'_')
        .count();
    letters > 0 && word.iter().skip(letters).all(u8::is_ascii_digit)
}

/// Whether `word` is one of the words of `text`. Words are separated by blanks, `:` and `=`.
pub(crate) fn has_word(text: &[u8], word: &[u8]) -> bool {
    text.trim_ascii() == word
        || text
            .split(|byte| byte.is_ascii_whitespace() || matches!(byte, b':' | b'='))
            .any(|found| found == word)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::profile::number::{DecimalMark, ScaleFactor};

    const RULES: DecimalRules = DecimalRules {
        mark: DecimalMark::Point,
        decimals: None,
        implied: None,
        digits: None,
        exponent: false,
        blanks: false,
        grouping: None,
    };

    fn parts(text: &str) -> Option<(String, f64, String)> {
        let phrase = read(text.as_bytes(), RULES)?;
        Some((
            String::from_utf8_lossy(phrase.label).into_owned(),
            phrase.number.scaled(ScaleFactor::ONE)?.0,
            String::from_utf8_lossy(phrase.tail).into_owned(),
        ))
    }

    #[test]
    fn label_number_and_unit_are_told_apart() {
        for (text, label, value, tail) in [
            ("+0.1234 mm", "", 0.1234, "mm"),
            ("12.5", "", 12.5, ""),
            ("D: -1.25mm", "D", -1.25, "mm"),
            ("depth = 0.5 in", "depth", 0.5, "in"),
            ("H+0.123", "H", 0.123, ""),
            ("H0.123", "H", 0.123, ""),
            ("S1 +0.5", "S1", 0.5, ""),
            ("S1+0.5", "S1", 0.5, ""),
            ("net weight 12.50 g", "net weight", 12.5, "g"),
            ("CH1 0.5 mm", "CH1", 0.5, "mm"),
            ("mm 12.5", "mm", 12.5, ""),
            ("H0.123 mm", "H", 0.123, "mm"),
            ("12.50- g", "", -12.5, "g"),
            ("  -  3.3 psi ", "", -3.3, "psi"),
        ] {
            let expected = Some((label.to_owned(), value, tail.to_owned()));
            assert_eq!(parts(text), expected, "{text:?}");
        }
    }

    #[test]
    fn ambiguous_or_broken_lines_are_refused() {
        for text in [
            "",
            "mm",
            "1.2 3.4",
            "1.2.3",
            "--1",
            "+1-",
            "12:30",
            "1,5",
            "D:",
            "D=OL",
            "+ mm",
            "H0.5 3",
            "H0.5 -3 mm",
        ] {
            assert_eq!(parts(text), None, "{text:?}");
        }
    }

    proptest::proptest! {
        #[test]
        fn never_panics(bytes: Vec<u8>) {
            let _ = read(&bytes, RULES);
        }
    }
}
