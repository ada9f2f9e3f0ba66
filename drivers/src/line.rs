//! How a serial line is set: speed, word format and the two output lines.
//!
//! This module knows the words for settings; it opens nothing.

use std::fmt;
use std::str::FromStr;

/// How a line is set when it is opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
pub struct Line {
    /// Bits a second.
    pub baud: u32,
    /// Word format.
    pub format: Format,
    /// What to set "request to send" to after opening; `None` leaves it alone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rts: Option<bool>,
    /// What to set "data terminal ready" to after opening; `None` leaves it alone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dtr: Option<bool>,
}

impl Line {
    /// A line of this speed and format whose output lines are left alone.
    #[must_use]
    pub fn new(baud: u32, format: Format) -> Self {
        Self {
            baud,
            format,
            rts: None,
            dtr: None,
        }
    }

    /// Microseconds that one byte takes on this line, rounded up.
    #[must_use]
    pub fn byte_us(&self) -> u64 {
        let bits = 1
            + u64::from(self.format.data)
            + u64::from(self.format.parity != Parity::None)
            + u64::from(self.format.stop);
        (bits * 1_000_000).div_ceil(u64::from(self.baud.max(1)))
    }
}

impl fmt::Display for Line {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} baud, {}", self.baud, self.format)
    }
}

/// Data bits, parity and stop bits, written `8N1`, `7E1`, `8N2` and so on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Format {
    /// 7 or 8.
    pub data: u8,
    /// The parity bit.
    pub parity: Parity,
    /// 1 or 2.
    pub stop: u8,
}

impl Format {
    /// Eight data bits, no parity, one stop bit.
    pub const N81: Format = Format {
        data: 8,
        parity: Parity::None,
        stop: 1,
    };
    /// Seven data bits, even parity, one stop bit.
    pub const E71: Format = Format {
        data: 7,
        parity: Parity::Even,
        stop: 1,
    };
    /// Seven data bits, odd parity, one stop bit.
    pub const O71: Format = Format {
        data: 7,
        parity: Parity::Odd,
        stop: 1,
    };
}

/// What the parity bit says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Parity {
    /// There is none.
    None,
    /// The number of ones, parity bit included, is even.
    Even,
    /// The number of ones, parity bit included, is odd.
    Odd,
}

impl fmt::Display for Format {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let parity = match self.parity {
            Parity::None => 'N',
            Parity::Even => 'E',
            Parity::Odd => 'O',
        };
        write!(f, "{}{parity}{}", self.data, self.stop)
    }
}

/// A word format that is none.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "line format {0:?} is none; write data bits (7 or 8), parity (N, E or O) and stop bits (1 or 2), as in 8N1 or 7E1"
)]
pub struct UnknownFormat(pub String);

impl FromStr for Format {
    type Err = UnknownFormat;

    fn from_str(text: &str) -> Result<Self, UnknownFormat> {
        let unknown = || UnknownFormat(text.to_owned());
        let [data, parity, stop] = text.as_bytes() else {
            return Err(unknown());
        };
        let parity = match parity.to_ascii_uppercase() {
            b'N' => Parity::None,
            b'E' => Parity::Even,
            b'O' => Parity::Odd,
            _ => return Err(unknown()),
        };
        match (data, stop) {
            (b'7' | b'8', b'1' | b'2') => Ok(Self {
                data: data - b'0',
                parity,
                stop: stop - b'0',
            }),
            _ => Err(unknown()),
        }
    }
}

impl serde::Serialize for Format {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> serde::Deserialize<'de> for Format {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        text.parse().map_err(serde::de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formats_read_back_as_written() {
        for text in ["8N1", "7E1", "7O2", "8E1", "7N2"] {
            assert_eq!(text.parse::<Format>().unwrap().to_string(), text);
        }
        for text in ["", "9N1", "8X1", "8N3", "8N", "8N1 "] {
            assert!(text.parse::<Format>().is_err(), "{text:?} was taken");
        }
    }

    #[test]
    fn a_byte_takes_ten_bits_at_8n1_and_eleven_at_8e1() {
        assert_eq!(Line::new(9600, Format::N81).byte_us(), 1042);
        assert_eq!(Line::new(1000, "8E1".parse().unwrap()).byte_us(), 11_000);
    }
}
