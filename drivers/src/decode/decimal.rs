//! Decimal numbers in text: sign, digits and mark anywhere, exactly.
//!
//! A number is read as an integer mantissa and a count of decimals. It is divided once, so the
//! result is the double nearest to what the gauge sent. This module knows nothing of units or
//! labels.

use winnow::combinator::opt;
use winnow::prelude::*;
use winnow::token::{one_of, take_while};

use crate::profile::number::{DecimalMark, DecimalRules, ScaleFactor};

/// A decimal number before division.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Decimal {
    /// Whether the number is below zero.
    pub negative: bool,
    /// The digits as a whole number.
    pub mantissa: u64,
    /// Number of decimals among the digits. An exponent can make it negative.
    pub decimals: i32,
    /// Whether a sign stood before the digits.
    pub signed: bool,
}

/// A double holds this many significant digits exactly. A number with more is refused, not
/// rounded.
const MOST_DIGITS: usize = 15;

impl Decimal {
    /// The count as an integer, sign included.
    pub(crate) fn count(&self) -> i64 {
        let magnitude = i64::try_from(self.mantissa).unwrap_or(i64::MAX);
        if self.negative {
            magnitude.saturating_neg()
        } else {
            magnitude
        }
    }

    /// The value and the size of one count after scaling.
    #[must_use]
    pub fn scaled(&self, scale: ScaleFactor) -> Option<(f64, f64)> {
        let decimals = self.decimals.checked_add(i32::from(scale.decimals))?;
        let count = self.mantissa.checked_mul(u64::from(scale.mantissa))?;
        if count >= 1 << f64::MANTISSA_DIGITS {
            return None;
        }
        #[expect(clippy::cast_precision_loss, reason = "below 2^53, hence exact")]
        let value = powered(count as f64, decimals)?;
        let resolution = powered(f64::from(scale.mantissa), decimals)?;
        Some((if self.negative { -value } else { value }, resolution))
    }
}

/// `count / 10^decimals`, by one exact power and one correctly rounded operation.
pub(crate) fn powered(count: f64, decimals: i32) -> Option<f64> {
    let power = POWERS.get(usize::try_from(decimals.unsigned_abs()).ok()?)?;
    Some(if decimals >= 0 {
        count / power
    } else {
        count * power
    })
}

/// Larger powers of ten are not exact as doubles.
const POWERS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
    1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
];

/// Reads the number at the start of `text` and moves `text` behind it.
///
/// `None` if `text` begins with no number, or with one that breaks the rules.
pub fn read(text: &mut &[u8], rules: DecimalRules) -> Option<Decimal> {
    let mut rest = *text;
    let number = number(&mut rest, rules)?;
    *text = rest;
    Some(number)
}

/// Reads a text that holds a number and nothing else except blanks around it. A sign may also
/// stand last.
pub(crate) fn read_whole(text: &[u8], rules: DecimalRules) -> Option<Decimal> {
    let text = text.trim_ascii();
    let (body, last) = match text {
        [body @ .., sign @ (b'+' | b'-')] if !body.is_empty() => {
            (body.trim_ascii_end(), Some(*sign))
        }
        _ => (text, None),
    };
    let mut rest = body;
    let mut found = number(&mut rest, rules)?;
    match last {
        Some(_) if found.signed => return None,
        Some(sign) => found.negative = sign == b'-',
        None => {}
    }
    rest.is_empty().then_some(found)
}

fn number(rest: &mut &[u8], rules: DecimalRules) -> Option<Decimal> {
    let sign = sign(rest).ok()?;
    let (whole, decimals) = digits(rest, rules)?;
    let significant = whole.significant;
    if significant > MOST_DIGITS || whole.count == 0 {
        return None;
    }
    if rules
        .digits
        .is_some_and(|wanted| usize::from(wanted) != whole.count)
    {
        return None;
    }
    let mut decimals = match (decimals, rules.decimals, rules.implied) {
        (None, None | Some(0), implied) => implied.map_or(0, i32::from),
        (Some(found), None, None) => found,
        (Some(found), Some(wanted), None) if found == i32::from(wanted) => found,
        // A missing or misplaced mark shows that digits were lost.
        _ => return None,
    };
    if rules.exponent {
        decimals = decimals.checked_sub(exponent(rest)?)?;
    }
    Some(Decimal {
        negative: sign == Some(b'-'),
        mantissa: whole.mantissa,
        decimals,
        signed: sign.is_some(),
    })
}

/// A sign with blanks behind it.
fn sign(rest: &mut &[u8]) -> winnow::ModalResult<Option<u8>> {
    let found = opt(one_of([b'+', b'-'])).parse_next(rest)?;
    if found.is_some() {
        take_while(0.., [b' ', b'\t']).parse_next(rest)?;
    }
    Ok(found)
}

#[derive(Default)]
struct Digits {
    mantissa: u64,
    /// Number of digits.
    count: usize,
    /// Number of digits behind the leading zeros.
    significant: usize,
}

/// Reads digits with at most one mark among them. Gives also the number of digits behind the mark.
fn digits(rest: &mut &[u8], rules: DecimalRules) -> Option<(Digits, Option<i32>)> {
    let mut found = Digits::default();
    let mut decimals = None;
    loop {
        match rest {
            [digit @ b'0'..=b'9', tail @ ..] => {
                found.mantissa = found
                    .mantissa
                    .checked_mul(10)?
                    .checked_add(value_of(*digit)?)?;
                found.count = found.count.saturating_add(1);
                let significant = usize::from(found.mantissa > 0);
                found.significant = found.significant.saturating_add(significant);
                decimals = decimals.map(|n: i32| n.saturating_add(1));
                *rest = tail;
            }
            [mark @ (b'.' | b','), tail @ ..]
                if decimals.is_none() && rules.mark.is(*mark) && continues(found.count, tail) =>
            {
                decimals = Some(0);
                *rest = tail;
            }
            [group, tail @ ..]
                if rules.grouping == Some(*group)
                    && decimals.is_none()
                    && found.count > 0
                    && is_group(tail) =>
            {
                *rest = tail;
            }
            [b' ', tail @ ..]
                if rules.blanks && tail.trim_ascii_start().first().is_some_and(digit_or_mark) =>
            {
                *rest = tail;
            }
            _ => return Some((found, decimals)),
        }
    }
}

/// The value of a digit in text.
fn value_of(digit: u8) -> Option<u64> {
    char::from(digit).to_digit(10).map(u64::from)
}

/// Whether a group of exactly three digits comes first.
fn is_group(text: &[u8]) -> bool {
    let digits = text.iter().take(4).take_while(|byte| byte.is_ascii_digit());
    digits.count() == 3
}

/// Whether a mark belongs to the number: it has digits before it or behind it.
fn continues(before: usize, tail: &[u8]) -> bool {
    before > 0 || tail.first().is_some_and(u8::is_ascii_digit)
}

fn digit_or_mark(byte: &u8) -> bool {
    matches!(byte, b'0'..=b'9' | b'.' | b',')
}

/// Reads an exponent. 0 if there is none, `None` if it is broken.
fn exponent(rest: &mut &[u8]) -> Option<i32> {
    let [b'e' | b'E', tail @ ..] = *rest else {
        return Some(0);
    };
    let (negative, tail) = match tail {
        [b'-', tail @ ..] => (true, tail),
        [b'+', tail @ ..] => (false, tail),
        _ => (false, tail),
    };
    let length = tail.iter().take_while(|byte| byte.is_ascii_digit()).count();
    if length == 0 || length > 3 {
        return None;
    }
    let (size, tail) = tail.split_at_checked(length)?;
    let size = size.iter().try_fold(0u64, |n, digit| {
        n.checked_mul(10)?.checked_add(value_of(*digit)?)
    })?;
    let size = i32::try_from(size).ok()?;
    *rest = tail;
    if negative {
        size.checked_neg()
    } else {
        Some(size)
    }
}

impl DecimalMark {
    /// Whether this byte is the decimal mark.
    #[must_use]
    pub fn is(self, byte: u8) -> bool {
        match self {
            DecimalMark::Point => byte == b'.',
            DecimalMark::Comma => byte == b',',
            DecimalMark::Either => true,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PLAIN: DecimalRules = DecimalRules {
        mark: DecimalMark::Point,
        decimals: None,
        implied: None,
        digits: None,
        exponent: false,
        blanks: false,
        grouping: None,
    };

    fn value(text: &str, rules: DecimalRules) -> Option<(f64, f64)> {
        read_whole(text.as_bytes(), rules)?.scaled(ScaleFactor::ONE)
    }

    #[test]
    fn sign_and_mark_may_stand_anywhere() {
        for (text, expected, count) in [
            ("+0.1234", 0.1234, 0.0001),
            ("-  12.50", -12.5, 0.01),
            ("12.50-", -12.5, 0.01),
            (".5", 0.5, 0.1),
            ("7.", 7.0, 1.0),
            ("-.05", -0.05, 0.01),
            ("000123", 123.0, 1.0),
            ("  3.30  ", 3.3, 0.01),
        ] {
            assert_eq!(value(text, PLAIN), Some((expected, count)), "{text:?}");
        }
    }

    #[test]
    fn what_is_no_number_is_none() {
        for text in [
            "",
            "+",
            "-",
            ".",
            "1.2.3",
            "+-1",
            "+1-",
            "1,5",
            "12 3",
            "1e3",
            "0x10",
            "--",
            "1234567890123456",
        ] {
            assert_eq!(value(text, PLAIN), None, "{text:?}");
        }
    }

    #[test]
    fn declared_decimals_are_exact_or_implied() {
        let rules = DecimalRules {
            decimals: Some(3),
            ..PLAIN
        };
        assert_eq!(value("1.234", rules), Some((1.234, 0.001)));
        assert_eq!(value("1.24", rules), None);
        assert_eq!(value("1234", rules), None);
        let rules = DecimalRules {
            implied: Some(3),
            ..PLAIN
        };
        assert_eq!(value("+001234", rules), Some((1.234, 0.001)));
        assert_eq!(value("1.234", rules), None);
        let rules = DecimalRules {
            digits: Some(5),
            ..PLAIN
        };
        assert_eq!(value("12.345", rules), Some((12.345, 0.001)));
        assert_eq!(value("2.345", rules), None);
    }

    #[test]
    fn comma_exponent_and_blanks_need_a_rule() {
        assert_eq!(
            value(
                "1,25",
                DecimalRules {
                    mark: DecimalMark::Comma,
                    ..PLAIN
                }
            ),
            Some((1.25, 0.01))
        );
        assert_eq!(
            value(
                "1.25",
                DecimalRules {
                    mark: DecimalMark::Comma,
                    ..PLAIN
                }
            ),
            None
        );
        let rules = DecimalRules {
            exponent: true,
            ..PLAIN
        };
        assert_eq!(value("-1.234E-02", rules), Some((-0.012_34, 0.000_01)));
        assert_eq!(value("1.5e2", rules), Some((150.0, 10.0)));
        assert_eq!(value("1.5e", rules), None);
        assert_eq!(value("1.5e99", rules), None);
        let rules = DecimalRules {
            grouping: Some(b','),
            ..PLAIN
        };
        assert_eq!(value("-1,129.92", rules), Some((-1129.92, 0.01)));
        assert_eq!(value("1,234,567.5", rules), Some((1_234_567.5, 0.1)));
        assert_eq!(value("999.92", rules), Some((999.92, 0.01)));
        for broken in ["1,29.92", "1,1299.2", ",129.92", "129.921,333"] {
            assert_eq!(value(broken, rules), None, "{broken}");
        }
        let rules = DecimalRules {
            blanks: true,
            ..PLAIN
        };
        assert_eq!(value("- 1 2.3 4", rules), Some((-12.34, 0.01)));
    }

    proptest::proptest! {
        /// The standard library's parser is the reference.
        #[test]
        fn agrees_with_the_standard_library(negative: bool, mantissa in 0u64..1_000_000_000_000_000, decimals in 0usize..15) {
            let digits = format!("{mantissa:0width$}", width = decimals + 1);
            let (whole, fraction) = digits.split_at(digits.len() - decimals);
            let text = format!("{}{whole}.{fraction}", if negative { "-" } else { "" });
            let expected: f64 = text.parse().unwrap();
            proptest::prop_assert_eq!(value(&text, PLAIN).unwrap().0, expected);
        }
    }
}
