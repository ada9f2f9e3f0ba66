//! What a comma in a number means, decided here for everything that a person types or a file holds.
//!
//! A comma between digits is a decimal one where it can be nothing else. Where it could part thousands,
//! or two values of a list, nobody guesses: the text is refused, with how to write what was meant.

use std::borrow::Cow;

use super::Unit;

/// Why nobody can tell what a comma means.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CommaDoubt {
    /// Three digits stand behind it: it may part thousands.
    #[error(
        "found {found:?}, whose comma could part thousands; write it with a decimal point, {decimal}, or without a comma, {whole}"
    )]
    Thousands {
        /// The number as it was written.
        found: String,
        /// What it is if the comma is a decimal one.
        decimal: String,
        /// What it is if the comma parts thousands.
        whole: String,
    },
    /// One number has several commas, or a point as well.
    #[error(
        "found {found:?}, which has more than one comma or point; write it with one decimal point and nothing between thousands, such as 1234.5"
    )]
    Several {
        /// The number as it was written.
        found: String,
    },
    /// The text may be a list or a number.
    #[error(
        "found {found:?}, which could be a list or a decimal number; write {decimal} for the number, {list} for the list"
    )]
    List {
        /// The text as it was written.
        found: String,
        /// What it is if the comma is a decimal one.
        decimal: String,
        /// What it is if the comma parts two values.
        list: String,
    },
}

impl CommaDoubt {
    /// The same of a number with its unit.
    pub(super) fn with_unit(mut self, unit: &str) -> CommaDoubt {
        let texts: &mut [&mut String] = match &mut self {
            CommaDoubt::Thousands {
                found,
                decimal,
                whole,
            } => &mut [found, decimal, whole],
            CommaDoubt::Several { found } | CommaDoubt::List { found, .. } => &mut [found],
        };
        for text in texts.iter_mut().filter(|_| !unit.is_empty()) {
            text.push(' ');
            text.push_str(unit);
        }
        self
    }
}

/// What parts the fields of a table: a semicolon where its first line has semicolons and no comma, as
/// programs write it that give numbers decimal commas; else a comma.
pub(crate) fn delimiter(text: &str) -> u8 {
    let mut lines = text.lines().map(str::trim);
    let first = lines.find(|line| !line.is_empty() && !line.starts_with('#'));
    match first {
        Some(line) if line.contains(';') && !line.contains(',') => b';',
        _ => b',',
    }
}

/// A number without its unit, a decimal comma made a point. What is no number stays as it is.
///
/// # Errors
/// Where what a comma means is open.
pub(crate) fn pointed(number: &str) -> Result<Cow<'_, str>, CommaDoubt> {
    let Some((whole, rest)) = number.split_once(',') else {
        return Ok(Cow::Borrowed(number));
    };
    let found = || number.to_owned();
    if rest.contains([',', '.']) || whole.contains('.') {
        return Err(CommaDoubt::Several { found: found() });
    }
    let digits = whole.trim_start_matches(['+', '-']);
    let behind = rest.bytes().take_while(u8::is_ascii_digit).count();
    if behind == 3 && (1..=3).contains(&digits.len()) && !digits.starts_with('0') {
        return Err(CommaDoubt::Thousands {
            found: found(),
            decimal: format!("{whole}.{rest}"),
            whole: format!("{whole}{rest}"),
        });
    }
    Ok(Cow::Owned(format!("{whole}.{rest}")))
}

/// The signs between a value and its uncertainty.
const BETWEEN: [&str; 3] = ["+-", "+/-", "±"];

/// A value with its unit, and with its uncertainty where it has one, whose decimal commas are made
/// points: `94,3 mm ± 0,01 mm` becomes `94.3 mm ± 0.01 mm`. A text that is anything else, and a
/// number whose comma could mean something else, stays as it is.
#[must_use]
pub fn with_decimal_points(text: &str) -> String {
    let sign = BETWEEN.iter().find(|sign| text.contains(**sign));
    let parts: Vec<&str> = match sign {
        Some(sign) => text.split(sign).collect(),
        None => vec![text],
    };
    let told: Option<Vec<String>> = parts.into_iter().map(one).collect();
    match told {
        Some(parts) => parts.join(sign.copied().unwrap_or_default()),
        None => text.to_owned(),
    }
}

/// One value; `None` where it is none, or where what its comma means is open.
fn one(text: &str) -> Option<String> {
    let Some((whole, rest)) = text.split_once(',') else {
        return Some(text.to_owned());
    };
    let signed = whole.trim_start();
    let digits = signed.strip_prefix(['+', '-', '−']).unwrap_or(signed);
    let plain = digits.bytes().all(|b| b.is_ascii_digit());
    let unit = rest.trim_start_matches(|c: char| c.is_ascii_digit());
    let decimals = rest.strip_suffix(unit).unwrap_or_default();
    // What stands behind the digits is a unit: no further number, comma or point.
    let unit = unit.trim();
    let alone = !unit.contains([',', '.']) && unit.split_whitespace().count() < 2;
    let sure = pointed(&format!("{digits},{decimals}")).is_ok();
    (plain && !decimals.is_empty() && alone && sure).then(|| format!("{whole}.{rest}"))
}

/// The values of a list that a person types: parted by semicolons, by commas, or by blanks between
/// numbers; `0.1,0.2`, `2, 4`, `0,1; 0,2`, `front,rear`.
/// A unit that stands apart is put behind its number.
///
/// Whole numbers are a list's values, since one was asked for: `2,4`.
///
/// # Errors
/// Where a comma could part two values as well as be a decimal one, as in `0,1`.
pub fn listed(text: &str) -> Result<Vec<String>, CommaDoubt> {
    let whole = |part: &str| {
        let digits = part.bytes().all(|byte| byte.is_ascii_digit());
        digits && !part.is_empty() && !part.starts_with('0')
    };
    if text.trim().split(',').all(whole) {
        return Ok(text.trim().split(',').map(str::to_owned).collect());
    }
    let mut all: Vec<String> = Vec::new();
    for part in parted(text)? {
        let mut begins = true;
        for word in part.split_whitespace() {
            // A unit that stands apart belongs to the number before it.
            let unit = word.parse::<Unit>().is_ok();
            let number = |last: &&mut String| last.ends_with(|c: char| c.is_ascii_digit());
            match all
                .last_mut()
                .filter(|last| unit && !begins && number(last))
            {
                Some(last) => {
                    last.push_str(word);
                }
                None => all.push(word.to_owned()),
            }
            begins = false;
        }
    }
    Ok(all.iter().map(|one| with_decimal_points(one)).collect())
}

/// The parts of a text that stand between semicolons, or between commas that are no decimal ones.
///
/// # Errors
/// As [`listed`].
pub fn parted(text: &str) -> Result<Vec<&str>, CommaDoubt> {
    let text = text.trim().trim_end_matches([',', ' ']);
    if text.contains(';') {
        return Ok(filled(text.split(';')));
    }
    let (blank, letter) = (at_commas(text, true), at_commas(text, false));
    // Of `2in,4,6in` nobody knows how many values it has.
    let alike = letter.iter().all(|part| part.contains(','))
        || letter.iter().all(|part| !part.contains(','));
    match () {
        () if !text.contains(',') => Ok(filled(std::iter::once(text))),
        () if blank.len() > 1 => Ok(filled(blank.into_iter())),
        () if letter.len() > 1 && alike => Ok(filled(letter.into_iter())),
        () if letter.len() > 1 => Err(doubt(text, &letter)),
        () if text.contains('.') => Ok(filled(text.split(','))),
        () if numbers_in(text) > 1 => Ok(vec![text]),
        () => whole_numbers(text),
    }
}

/// Blanks part these numbers: `0,1 0,2`, `25,0 to 45,8`.
fn numbers_in(text: &str) -> usize {
    let words = text.split_whitespace();
    let number = |word: &&str| word.starts_with(|c: char| c.is_ascii_digit());
    words.filter(number).count()
}

fn filled<'a>(parts: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
    let parts = parts.map(str::trim);
    parts.filter(|part| !part.is_empty()).collect()
}

/// The parts between commas that are surely no decimal ones: those before a blank, or those beside
/// anything but digits.
fn at_commas(text: &str, blank: bool) -> Vec<&str> {
    let digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
    let (mut parts, mut begin, mut before) = (Vec::new(), 0, None);
    let mut letters = text.char_indices().peekable();
    while let Some((at, letter)) = letters.next() {
        let behind = letters.peek().map(|(_, c)| *c);
        let sure = match blank {
            true => behind.is_some_and(char::is_whitespace),
            false => !(digit(before) && digit(behind)),
        };
        if letter == ',' && sure {
            parts.extend(text.get(begin..at));
            begin = at.saturating_add(1);
        }
        before = Some(letter);
    }
    parts.extend(text.get(begin..));
    parts
}

/// Digits with commas between them alone. Two of them may be one number, and so may each two of
/// `0,1,0,2`.
fn whole_numbers(text: &str) -> Result<Vec<&str>, CommaDoubt> {
    let parts: Vec<&str> = text.split(',').collect();
    let pairs = parts.len().is_multiple_of(2);
    let zeros = parts.iter().step_by(2).any(|part| part.starts_with('0'));
    if !(pairs && (parts.len() == 2 || zeros)) {
        return Ok(filled(parts.into_iter()));
    }
    let pairs: Vec<String> = parts.chunks(2).map(|pair| pair.join(",")).collect();
    let pairs: Vec<&str> = pairs.iter().map(String::as_str).collect();
    Err(doubt(text, &pairs))
}

/// The doubt about a text that has these parts if the commas inside them are decimal ones.
fn doubt(text: &str, decimal: &[&str]) -> CommaDoubt {
    let list: Vec<String> = text.split(',').map(with_point).collect();
    CommaDoubt::List {
        found: text.to_owned(),
        decimal: decimal.join(";").replace(',', "."),
        list: list.join(","),
    }
}

/// `2` as `2.0`, and `4 mm` as `4.0 mm`: a whole number that nobody takes for half of another.
fn with_point(part: &str) -> String {
    let unit = part.trim_start_matches(|c: char| c.is_ascii_digit() || c == '-');
    let number = part.strip_suffix(unit).unwrap_or(part);
    format!("{number}.0{unit}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_decimal_comma_is_a_point_and_any_other_comma_stays() {
        for (typed, told) in [
            ("94,3 mm", "94.3 mm"),
            ("-0,010in", "-0.010in"),
            ("94,3 mm +- 0,01 mm", "94.3 mm +- 0.01 mm"),
            ("64 cc ± 0,1 cc", "64 cc ± 0.1 cc"),
            ("10,5", "10.5"),
            (",5 cc", ".5 cc"),
            ("0,5 in3", "0.5 in3"),
            ("0,125 in", "0.125 in"),
            ("1234,567 mm", "1234.567 mm"),
        ] {
            assert_eq!(with_decimal_points(typed), told, "{typed}");
        }
        for other in [
            "1,234 cc",
            "12,700 mm",
            "1,234.5 mm",
            "1,2,3",
            "0,010 in off both heads",
            "a, b",
            "3, 4",
            "64.2 cc",
            "",
        ] {
            assert_eq!(with_decimal_points(other), other);
        }
    }

    #[test]
    fn a_comma_that_could_part_thousands_is_told_both_ways() {
        let doubt = pointed("1,234").expect_err("a doubt").to_string();
        assert!(doubt.contains("decimal point, 1.234"), "{doubt}");
        assert!(doubt.contains("without a comma, 1234"), "{doubt}");
        for (typed, told) in [
            ("64,9", "64.9"),
            ("0,010", "0.010"),
            ("-12,7", "-12.7"),
            ("1,5e3", "1.5e3"),
        ] {
            assert_eq!(pointed(typed).as_deref(), Ok(told));
        }
        for several in ["1,234.5", "1.234,5", "1,2,3"] {
            assert!(
                matches!(pointed(several), Err(CommaDoubt::Several { .. })),
                "{several}"
            );
        }
    }

    #[test]
    fn a_list_is_parted_where_its_commas_are_no_decimal_ones() {
        for (typed, told) in [
            ("0.1,0.2", &["0.1", "0.2"][..]),
            ("2, 4", &["2", "4"]),
            ("0,1; 0,2", &["0.1", "0.2"]),
            ("0,1, 0,2", &["0.1", "0.2"]),
            ("0,1 0,2", &["0.1", "0.2"]),
            ("2mm,4mm", &["2mm", "4mm"]),
            ("0,100in,0,200in", &["0.100in", "0.200in"]),
            ("0.1 in 0.2 in", &["0.1in", "0.2in"]),
            ("2,4", &["2", "4"]),
            ("2,4,6", &["2", "4", "6"]),
            ("2,4,6,8", &["2", "4", "6", "8"]),
            ("front,rear", &["front", "rear"]),
            ("front rear", &["front", "rear"]),
            (
                "1013,2 hPa, 21,5 degC, 45 %RH",
                &["1013.2hPa", "21.5degC", "45%RH"],
            ),
            ("7.62", &["7.62"]),
        ] {
            assert_eq!(
                listed(typed).as_deref(),
                Ok(&told.iter().map(|one| (*one).to_owned()).collect::<Vec<_>>()[..]),
                "{typed}"
            );
        }
        for typed in ["0,1", "0,1,0,2", "2,4 mm", "2in,4,6in"] {
            let doubt = listed(typed).expect_err(typed).to_string();
            assert!(doubt.contains("a list or a decimal number"), "{doubt}");
        }
        let doubt = listed("0,1").expect_err("a doubt").to_string();
        assert!(
            doubt.contains("write 0.1 for the number, 0.0,1.0 for the list"),
            "{doubt}"
        );
    }
}
