//! The settings of a serial line: speed, format and the two output lines.
//!
//! This module knows the words for settings. It opens nothing.

use std::fmt;
use std::str::FromStr;

/// The settings with which a line is opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
pub struct SerialSettings {
    /// Bits per second.
    pub baud: u32,
    /// Data bits, parity and stop bits.
    pub format: SerialFormat,
    /// State of "request to send" after opening. `None` leaves it alone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rts: Option<bool>,
    /// State of "data terminal ready" after opening. `None` leaves it alone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dtr: Option<bool>,
}

impl SerialSettings {
    /// Settings with this speed and format that leave the output lines alone.
    #[must_use]
    pub fn new(baud: u32, format: SerialFormat) -> Self {
        Self {
            baud,
            format,
            rts: None,
            dtr: None,
        }
    }

    /// Time that one byte takes on this line, in microseconds, rounded up.
    #[must_use]
    pub fn byte_us(&self) -> u64 {
        let start = 1;
        let parity = u8::from(self.format.parity != Parity::None);
        let bits = [start, self.format.data, parity, self.format.stop];
        let bits: u64 = bits.into_iter().map(u64::from).sum();
        bits.saturating_mul(1_000_000)
            .div_ceil(u64::from(self.baud.max(1)))
    }
}

impl fmt::Display for SerialSettings {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} baud, {}", self.baud, self.format)
    }
}

/// Data bits, parity and stop bits, written `8N1`, `7E1`, `8N2` and so on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct SerialFormat {
    /// 7 or 8.
    pub data: u8,
    /// The parity bit.
    pub parity: Parity,
    /// 1 or 2.
    pub stop: u8,
}

impl SerialFormat {
    /// Eight data bits, no parity, one stop bit.
    pub const N81: SerialFormat = SerialFormat {
        data: 8,
        parity: Parity::None,
        stop: 1,
    };
    /// Seven data bits, even parity, one stop bit.
    pub const E71: SerialFormat = SerialFormat {
        data: 7,
        parity: Parity::Even,
        stop: 1,
    };
    /// Seven data bits, odd parity, one stop bit.
    pub const O71: SerialFormat = SerialFormat {
        data: 7,
        parity: Parity::Odd,
        stop: 1,
    };
}

/// The parity bit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Parity {
    /// There is no parity bit.
    None,
    /// The number of ones, parity bit included, is even.
    Even,
    /// The number of ones, parity bit included, is odd.
    Odd,
}

impl fmt::Display for SerialFormat {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let parity = match self.parity {
            Parity::None => 'N',
            Parity::Even => 'E',
            Parity::Odd => 'O',
        };
        write!(f, "{}{parity}{}", self.data, self.stop)
    }
}

/// A text that is not a line format.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "{0:?} is not a line format; write data bits (7 or 8), parity (N, E or O) and stop bits (1 or 2), as in 8N1 or 7E1"
)]
pub struct UnknownSerialFormat(pub String);

impl FromStr for SerialFormat {
    type Err = UnknownSerialFormat;

    fn from_str(text: &str) -> Result<Self, UnknownSerialFormat> {
        let unknown = || UnknownSerialFormat(text.to_owned());
        let [data, parity, stop] = text.as_bytes() else {
            return Err(unknown());
        };
        let parity = match parity.to_ascii_uppercase() {
            b'N' => Parity::None,
            b'E' => Parity::Even,
            b'O' => Parity::Odd,
            _ => return Err(unknown()),
        };
        let data = match data {
            b'7' => 7,
            b'8' => 8,
            _ => return Err(unknown()),
        };
        let stop = match stop {
            b'1' => 1,
            b'2' => 2,
            _ => return Err(unknown()),
        };
        Ok(Self { data, parity, stop })
    }
}

impl serde::Serialize for SerialFormat {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> serde::Deserialize<'de> for SerialFormat {
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
            assert_eq!(text.parse::<SerialFormat>().unwrap().to_string(), text);
        }
        for text in ["", "9N1", "8X1", "8N3", "8N", "8N1 "] {
            assert!(text.parse::<SerialFormat>().is_err(), "{text:?} was taken");
        }
    }

    #[test]
    fn a_byte_takes_ten_bits_at_8n1_and_eleven_at_8e1() {
        assert_eq!(SerialSettings::new(9600, SerialFormat::N81).byte_us(), 1042);
        assert_eq!(
            SerialSettings::new(1000, "8E1".parse().unwrap()).byte_us(),
            11_000
        );
    }
}
