//! A number with its unit, read from text.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::comma::{CommaDoubt, pointed};
use super::{QuantityKind, Unit, UnknownUnit};

/// A number with its unit, as written.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Quantity {
    /// The number, in `unit`.
    pub value: f64,
    /// The unit.
    pub unit: Unit,
}

/// What is wrong with a text that should be a number and a unit.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum QuantityError {
    /// The number cannot be read.
    #[error(
        "found {found:?} where a number was expected; write it with a decimal point, such as 4.030"
    )]
    Number {
        /// The text that was found.
        found: String,
    },
    /// Nobody can tell what a comma means.
    #[error(transparent)]
    Comma(#[from] CommaDoubt),
    /// There is a number but no unit.
    #[error(
        "found {found:?} without a unit; write the unit after the number, such as \"{found} {example}\""
    )]
    NoUnit {
        /// The text that was found.
        found: String,
        /// A unit that would be right.
        example: &'static str,
    },
    /// The unit is not known.
    #[error(transparent)]
    Unit(#[from] UnknownUnit),
    /// The unit measures something else.
    #[error("found {found}, which is {is}, where {expected} was expected")]
    QuantityKind {
        /// The unit that was found.
        found: Unit,
        /// What it measures.
        is: QuantityKind,
        /// What was expected.
        expected: QuantityKind,
    },
}

impl Quantity {
    /// The value in the base unit of its kind.
    pub fn base(self) -> f64 {
        self.unit.to_base(self.value)
    }

    /// The value in another unit of the same kind.
    pub fn to(self, unit: Unit) -> Result<f64, QuantityError> {
        self.expect(unit.kind())?;
        Ok(if unit == self.unit {
            self.value
        } else {
            unit.from_base(self.base())
        })
    }

    /// The same quantity, if it is of this kind.
    pub fn expect(self, expected: QuantityKind) -> Result<Self, QuantityError> {
        if self.unit.kind() == expected {
            Ok(self)
        } else {
            Err(QuantityError::QuantityKind {
                found: self.unit,
                is: self.unit.kind(),
                expected,
            })
        }
    }
}

impl FromStr for Quantity {
    type Err = QuantityError;

    fn from_str(text: &str) -> Result<Self, QuantityError> {
        let text = text.trim();
        let (number, unit) = split_number(text);
        let plain = pointed(number).map_err(|doubt| doubt.with_unit(unit))?;
        let value = parse_number(&plain).ok_or_else(|| QuantityError::Number {
            found: text.to_owned(),
        })?;
        if unit.is_empty() {
            return Err(QuantityError::NoUnit {
                found: number.to_owned(),
                example: "mm",
            });
        }
        Ok(Quantity {
            value,
            unit: unit.parse()?,
        })
    }
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.value, self.unit)
    }
}

/// Splits "4.030in" or "4.030 in" into its number and its unit, both trimmed.
pub(crate) fn split_number(text: &str) -> (&str, &str) {
    let mut before = None;
    let mut rest = text.as_bytes();
    while let [letter, behind @ ..] = rest {
        let belongs = match letter {
            b'0'..=b'9' | b'.' | b',' => true,
            b'+' | b'-' => matches!(before, None | Some(b'e' | b'E')),
            b'e' | b'E' => {
                before.is_some() && matches!(behind.first(), Some(b'0'..=b'9' | b'+' | b'-'))
            }
            _ => false,
        };
        if !belongs {
            break;
        }
        (before, rest) = (Some(*letter), behind);
    }
    let end = text.len().saturating_sub(rest.len());
    let (number, unit) = text.split_at_checked(end).unwrap_or((text, ""));
    (number.trim(), unit.trim())
}

/// A plain number that a person wrote, with a decimal point or a decimal comma.
///
/// # Errors
/// Where it is no finite number, or where what its comma means is open.
pub fn number(text: &str) -> Result<f64, QuantityError> {
    let text = text.trim();
    parse_number(&pointed(text)?).ok_or_else(|| QuantityError::Number {
        found: text.to_owned(),
    })
}

/// A finite number with a decimal point; `None` for anything else, including "nan" and "inf".
pub(crate) fn parse_number(text: &str) -> Option<f64> {
    let plain = text
        .bytes()
        .all(|b| b.is_ascii_digit() || b"+-.eE".contains(&b));
    text.parse::<f64>()
        .ok()
        .filter(|value| plain && value.is_finite())
}

/// The step of the last digit as written: 0.01 for "64.20". `None` if it has an exponent.
pub(crate) fn written_step(number: &str) -> Option<f64> {
    if number.contains(['e', 'E']) {
        return None;
    }
    let decimals = number
        .split_once(['.', ','])
        .map_or(0, |(_, digits)| digits.len());
    Some(10f64.powi(i32::try_from(decimals).ok()?.checked_neg()?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantities_read_with_and_without_a_blank() {
        let bore: Quantity = "4.030 in".parse().unwrap();
        assert_eq!(bore.to(Unit::Millimetre).unwrap(), 4.030 * 25.4);
        assert_eq!("4.030in".parse::<Quantity>().unwrap(), bore);
        assert_eq!("-5e-1 cc".parse::<Quantity>().unwrap().value, -0.5);
        assert_eq!(
            "28 inH2O".parse::<Quantity>().unwrap().base(),
            28.0 * 249.08891
        );
    }

    #[test]
    fn mistakes_say_what_was_found() {
        let error = "4,030 in".parse::<Quantity>().unwrap_err().to_string();
        assert!(
            error.contains("4,030 in") && error.contains("decimal point"),
            "{error}"
        );
        let error = "4.030".parse::<Quantity>().unwrap_err().to_string();
        assert!(error.contains("without a unit"), "{error}");
        let error = "4.030 furlong".parse::<Quantity>().unwrap_err().to_string();
        assert!(error.contains("\"furlong\""), "{error}");
        assert!("nan mm".parse::<Quantity>().is_err());
        let error = "3 cc"
            .parse::<Quantity>()
            .unwrap()
            .to(Unit::Inch)
            .unwrap_err()
            .to_string();
        assert!(
            error.contains("cc") && error.contains("a length"),
            "{error}"
        );
    }
}
