//! How a number may be written in bytes, and what it is then.
//!
//! The words are those of a profile (`docs/profile.md`).

use benchhand_drivers::decode::cells;
use benchhand_drivers::profile::Order;

/// How a number is written in bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum NumberType {
    /// IEEE 754, of 4 or 8 bytes.
    Float(usize),
    /// One decimal digit a byte, of so many bytes.
    Digits(usize),
    /// Two decimal digits a byte, of so many bytes.
    Bcd(usize),
    /// Two's complement, of so many bytes.
    Signed(usize),
    /// Two bytes whose top bit is the sign.
    SignMagnitude,
}

/// The sorts of number, the one whose form proves most first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Sort {
    Float,
    Digits,
    /// Every half byte is a digit every time.
    Bcd,
    Whole,
}

impl Sort {
    pub(crate) const ALL: [Sort; 4] = [Sort::Float, Sort::Digits, Sort::Bcd, Sort::Whole];
}

impl NumberType {
    /// Bytes that it takes.
    pub(crate) fn bytes(self) -> usize {
        match self {
            Self::Float(bytes) | Self::Digits(bytes) | Self::Bcd(bytes) | Self::Signed(bytes) => {
                bytes
            }
            Self::SignMagnitude => 2,
        }
    }

    /// A profile's word for it.
    pub(crate) fn word(self) -> String {
        match self {
            Self::Float(bytes) => format!("f{}", 8 * bytes),
            Self::Digits(_) => "digits".to_owned(),
            Self::Bcd(_) => "bcd".to_owned(),
            Self::Signed(bytes) => format!("i{}", 8 * bytes),
            Self::SignMagnitude => "sm16".to_owned(),
        }
    }

    pub(crate) fn sort(self) -> Sort {
        match self {
            Self::Float(_) => Sort::Float,
            Self::Digits(_) => Sort::Digits,
            Self::Bcd(_) => Sort::Bcd,
            Self::Signed(_) | Self::SignMagnitude => Sort::Whole,
        }
    }

    /// Whether every byte must be of decimal digits.
    pub(crate) fn is_of_digits(self) -> bool {
        matches!(self, Self::Digits(_) | Self::Bcd(_))
    }

    /// The number in these bytes, where they can be one.
    pub(crate) fn read(self, bytes: &[u8], order: Order) -> Option<f64> {
        let count = match self {
            Self::Float(_) => return cells::float(bytes, order),
            Self::Bcd(_) => cells::bcd(bytes, order)?,
            Self::Digits(_) => cells::digits(bytes).filter(|_| order == Order::BIG)?,
            Self::SignMagnitude => cells::sign_magnitude(bytes, order)?,
            Self::Signed(_) => cells::signed(bytes, order)?,
        };
        #[expect(clippy::cast_precision_loss, reason = "at most 32 bits")]
        Some(count.0 as f64)
    }
}
