//! The ways to write a number in bytes, and its value then.
//!
//! The words are those of a profile (`docs/profile.md`).

use benchhand_drivers::decode::cells;
use benchhand_drivers::profile::ByteOrder;

/// How a number is written in bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum NumberType {
    /// IEEE 754, of 4 or 8 bytes.
    Float(usize),
    /// One decimal digit in each byte; the number of bytes.
    Digits(usize),
    /// Two decimal digits in each byte; the number of bytes.
    Bcd(usize),
    /// Two's complement; the number of bytes.
    Signed(usize),
    /// Two bytes whose top bit is the sign.
    SignMagnitude,
}

/// The sorts of number. The sort whose form proves most comes first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum NumberSort {
    Float,
    Digits,
    /// Every half byte is always a digit.
    Bcd,
    Whole,
}

impl NumberSort {
    pub(crate) const ALL: [NumberSort; 4] = [
        NumberSort::Float,
        NumberSort::Digits,
        NumberSort::Bcd,
        NumberSort::Whole,
    ];
}

impl NumberType {
    /// Number of bytes that the number takes.
    pub(crate) fn bytes(self) -> usize {
        match self {
            Self::Float(bytes) | Self::Digits(bytes) | Self::Bcd(bytes) | Self::Signed(bytes) => {
                bytes
            }
            Self::SignMagnitude => 2,
        }
    }

    /// The profile's word for this type.
    pub(crate) fn word(self) -> String {
        match self {
            Self::Float(bytes) => format!("f{}", 8 * bytes),
            Self::Digits(_) => "digits".to_owned(),
            Self::Bcd(_) => "bcd".to_owned(),
            Self::Signed(bytes) => format!("i{}", 8 * bytes),
            Self::SignMagnitude => "sm16".to_owned(),
        }
    }

    pub(crate) fn sort(self) -> NumberSort {
        match self {
            Self::Float(_) => NumberSort::Float,
            Self::Digits(_) => NumberSort::Digits,
            Self::Bcd(_) => NumberSort::Bcd,
            Self::Signed(_) | Self::SignMagnitude => NumberSort::Whole,
        }
    }

    /// Whether every byte must hold decimal digits.
    pub(crate) fn is_of_digits(self) -> bool {
        matches!(self, Self::Digits(_) | Self::Bcd(_))
    }

    /// The number in these bytes, if they are valid for this type.
    pub(crate) fn read(self, bytes: &[u8], order: ByteOrder) -> Option<f64> {
        let count = match self {
            Self::Float(_) => return cells::float(bytes, order),
            Self::Bcd(_) => cells::bcd(bytes, order)?,
            Self::Digits(_) => cells::digits(bytes).filter(|_| order == ByteOrder::BIG)?,
            Self::SignMagnitude => cells::sign_magnitude(bytes, order)?,
            Self::Signed(_) => cells::signed(bytes, order)?,
        };
        #[expect(clippy::cast_precision_loss, reason = "at most 32 bits")]
        Some(count.0 as f64)
    }
}
