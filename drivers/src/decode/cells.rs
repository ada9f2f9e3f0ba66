//! Numbers in bytes or nibbles: integers, floats, BCD, digits.
//!
//! A cell is a byte or, if the form says so, a nibble. This module knows nothing of units.

use super::decimal::powered;
use crate::profile::number::{ByteOrder, ScaleFactor};

/// A whole number before scaling.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RawCount(
    /// The number.
    pub i64,
);

impl RawCount {
    /// The scaled value, and the size of one count.
    pub(crate) fn scaled(self, scale: ScaleFactor, extra_decimals: i32) -> Option<(f64, f64)> {
        let decimals = i32::from(scale.decimals) + extra_decimals;
        let scaled = self.0.checked_mul(i64::from(scale.mantissa))?;
        if scaled.unsigned_abs() >= 1 << f64::MANTISSA_DIGITS {
            return None;
        }
        #[expect(clippy::cast_precision_loss, reason = "below 2^53, hence exact")]
        let value = powered(scaled as f64, decimals)?;
        Some((value, powered(f64::from(scale.mantissa), decimals)?))
    }
}

/// The cells as bytes with the highest first, and their number. `None` for more than eight.
fn highest_first(cells: &[u8], order: ByteOrder) -> Option<([u8; 8], usize)> {
    let length = cells.len();
    if length == 0 || length > 8 {
        return None;
    }
    let mut bytes = [0; 8];
    // The most usual order needs no ranking of each byte.
    if order == ByteOrder::BIG {
        bytes[..length].copy_from_slice(cells);
        return Some((bytes, length));
    }
    for (position, byte) in bytes[..length].iter_mut().enumerate() {
        *byte = cells[source(position, length, order)];
    }
    Some((bytes, length))
}

/// Index of the cell that holds the byte at `position`, counted from the highest.
fn source(position: usize, length: usize, order: ByteOrder) -> usize {
    if order == ByteOrder::BIG || (length % 2 == 1 && order.high_byte_first) {
        return position;
    }
    if order == ByteOrder::LITTLE || length % 2 == 1 {
        return length - 1 - position;
    }
    let (word, byte) = (position / 2, position % 2);
    let word = if order.high_word_first {
        word
    } else {
        length / 2 - 1 - word
    };
    word * 2
        + if order.high_byte_first {
            byte
        } else {
            1 - byte
        }
}

/// An unsigned integer of 1 to 8 bytes that fits into 63 bits.
pub(crate) fn unsigned(cells: &[u8], order: ByteOrder) -> Option<RawCount> {
    let (bytes, length) = highest_first(cells, order)?;
    let raw = bytes[..length]
        .iter()
        .fold(0u64, |n, byte| n << 8 | u64::from(*byte));
    Some(RawCount(i64::try_from(raw).ok()?))
}

/// A two's complement integer of 1 to 8 bytes.
#[must_use]
pub fn signed(cells: &[u8], order: ByteOrder) -> Option<RawCount> {
    let (bytes, length) = highest_first(cells, order)?;
    let raw = bytes[..length]
        .iter()
        .fold(0u64, |n, byte| n << 8 | u64::from(*byte));
    let unused = 64 - 8 * u32::try_from(length).ok()?;
    #[expect(
        clippy::cast_possible_wrap,
        reason = "the two's complement is what is wanted"
    )]
    Some(RawCount(((raw << unused) as i64) >> unused))
}

/// A magnitude whose top bit is its sign.
#[must_use]
pub fn sign_magnitude(cells: &[u8], order: ByteOrder) -> Option<RawCount> {
    let (mut bytes, length) = highest_first(cells, order)?;
    let negative = bytes[0] & 0x80 != 0;
    bytes[0] &= 0x7F;
    let magnitude = bytes[..length]
        .iter()
        .fold(0i64, |n, byte| n << 8 | i64::from(*byte));
    Some(RawCount(if negative { -magnitude } else { magnitude }))
}

/// A float of 4 or 8 bytes. Infinity and "not a number" are handed on unchanged.
#[must_use]
pub fn float(cells: &[u8], order: ByteOrder) -> Option<f64> {
    let (bytes, length) = highest_first(cells, order)?;
    match length {
        4 => Some(f64::from(f32::from_be_bytes([
            bytes[0], bytes[1], bytes[2], bytes[3],
        ]))),
        8 => Some(f64::from_be_bytes(bytes)),
        _ => None,
    }
}

/// One decimal digit in each cell, highest first. An ASCII digit counts as its digit.
#[must_use]
pub fn digits(cells: &[u8]) -> Option<RawCount> {
    if cells.len() > 15 {
        return None;
    }
    cells
        .iter()
        .try_fold(0i64, |n, cell| Some(n * 10 + i64::from(digit(*cell)?)))
        .map(RawCount)
}

/// The digit that a cell holds, as 0 to 9 or as ASCII.
pub(crate) fn digit(cell: u8) -> Option<u8> {
    match cell {
        0..=9 => Some(cell),
        b'0'..=b'9' => Some(cell - b'0'),
        _ => None,
    }
}

/// Two decimal digits in each byte.
#[must_use]
pub fn bcd(cells: &[u8], order: ByteOrder) -> Option<RawCount> {
    let (bytes, length) = highest_first(cells, order)?;
    if length > 7 {
        return None;
    }
    bytes[..length]
        .iter()
        .try_fold(0i64, |n, byte| {
            let (high, low) = (byte >> 4, byte & 0x0F);
            (high <= 9 && low <= 9).then(|| n * 100 + i64::from(high * 10 + low))
        })
        .map(RawCount)
}

/// Hex digits in text. The number has four bits for each digit.
pub(crate) fn hex(text: &[u8], is_signed: bool) -> Option<RawCount> {
    if text.is_empty() || text.len() > 15 {
        return None;
    }
    let raw = text.iter().try_fold(0i64, |n, c| {
        Some(n << 4 | i64::from(char::from(*c).to_digit(16)?))
    })?;
    let bits = 4 * u32::try_from(text.len()).ok()?;
    let negative = is_signed && raw >> (bits - 1) & 1 == 1;
    Some(RawCount(if negative { raw - (1 << bits) } else { raw }))
}

/// Cells from text whose characters are hex digits: one nibble each.
pub(crate) fn nibbles_of_hex(text: &[u8], out: &mut Vec<u8>) -> Option<()> {
    out.clear();
    for c in text {
        out.push(u8::try_from(char::from(*c).to_digit(16)?).ok()?);
    }
    Some(())
}

#[cfg(test)]
mod tests {
    use super::*;

    const CDAB: ByteOrder = ByteOrder {
        high_byte_first: true,
        high_word_first: false,
    };
    const BADC: ByteOrder = ByteOrder {
        high_byte_first: false,
        high_word_first: true,
    };

    #[test]
    fn every_word_order_gives_the_same_float() {
        // IEEE 754: 123.456 is nearest to 0x42F6E979.
        let expected = f64::from(123.456_f32);
        for (cells, order) in [
            ([0x42, 0xF6, 0xE9, 0x79], ByteOrder::BIG),
            ([0x79, 0xE9, 0xF6, 0x42], ByteOrder::LITTLE),
            ([0xE9, 0x79, 0x42, 0xF6], CDAB),
            ([0xF6, 0x42, 0x79, 0xE9], BADC),
        ] {
            assert_eq!(float(&cells, order), Some(expected), "{order:?}");
        }
    }

    #[test]
    fn integers_of_every_length_and_sign() {
        assert_eq!(signed(&[0xFF, 0xFE], ByteOrder::BIG), Some(RawCount(-2)));
        assert_eq!(
            signed(&[0xFE, 0xFF, 0xFF], ByteOrder::LITTLE),
            Some(RawCount(-2))
        );
        assert_eq!(
            unsigned(&[0x01, 0x00, 0x00], ByteOrder::BIG),
            Some(RawCount(65_536))
        );
        assert_eq!(
            unsigned(&[0x00, 0x01, 0x00, 0x02], CDAB),
            Some(RawCount(0x0002_0001))
        );
        assert_eq!(
            unsigned(&[0xFF; 8], ByteOrder::BIG),
            None,
            "does not fit 63 bits"
        );
        assert_eq!(
            sign_magnitude(&[0x80, 0x05], ByteOrder::BIG),
            Some(RawCount(-5))
        );
        assert_eq!(hex(b"FFFE", true), Some(RawCount(-2)));
        assert_eq!(hex(b"FFFE", false), Some(RawCount(65_534)));
        assert_eq!(hex(b"FFG0", false), None);
    }

    #[test]
    fn bcd_refuses_digits_above_nine() {
        assert_eq!(bcd(&[0x12, 0x34], ByteOrder::BIG), Some(RawCount(1234)));
        assert_eq!(bcd(&[0x34, 0x12], ByteOrder::LITTLE), Some(RawCount(1234)));
        assert_eq!(bcd(&[0x1A], ByteOrder::BIG), None);
        assert_eq!(digits(&[1, b'2', 3]), Some(RawCount(123)));
        assert_eq!(digits(&[1, 10]), None);
    }
}
