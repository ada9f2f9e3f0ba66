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
        let decimals = i32::from(scale.decimals).checked_add(extra_decimals)?;
        let scaled = self.0.checked_mul(i64::from(scale.mantissa))?;
        if scaled.unsigned_abs() >= 1 << f64::MANTISSA_DIGITS {
            return None;
        }
        #[expect(clippy::cast_precision_loss, reason = "below 2^53, hence exact")]
        let value = powered(scaled as f64, decimals)?;
        Some((value, powered(f64::from(scale.mantissa), decimals)?))
    }
}

/// The bits of 1 to 8 cells with the highest first, and their number.
fn highest_first(cells: &[u8], order: ByteOrder) -> Option<(u64, u32)> {
    if cells.is_empty() || cells.len() > 8 {
        return None;
    }
    let mixed = cells.len().is_multiple_of(2) && order.high_word_first != order.high_byte_first;
    let raw = match (mixed, order.high_byte_first) {
        (false, true) => joined(cells.iter()),
        (false, false) => joined(cells.iter().rev()),
        (true, true) => joined(cells.rchunks_exact(2).flatten()),
        (true, false) => joined(cells.chunks_exact(2).flat_map(|word| word.iter().rev())),
    };
    Some((raw, u32::try_from(cells.len()).ok()?.checked_mul(8)?))
}

fn joined<'a>(bytes: impl Iterator<Item = &'a u8>) -> u64 {
    bytes.fold(0, |n, byte| n << 8 | u64::from(*byte))
}

/// The lowest bits of `raw` as a two's complement.
fn twos_complement(raw: u64, bits: u32) -> Option<RawCount> {
    let unused = u64::BITS.checked_sub(bits)?;
    #[expect(
        clippy::cast_possible_wrap,
        reason = "the two's complement is what is wanted"
    )]
    let shifted = raw.checked_shl(unused)? as i64;
    Some(RawCount(shifted >> unused))
}

/// An unsigned integer of 1 to 8 bytes that fits into 63 bits.
pub(crate) fn unsigned(cells: &[u8], order: ByteOrder) -> Option<RawCount> {
    let (raw, _) = highest_first(cells, order)?;
    Some(RawCount(i64::try_from(raw).ok()?))
}

/// A two's complement integer of 1 to 8 bytes.
#[must_use]
pub fn signed(cells: &[u8], order: ByteOrder) -> Option<RawCount> {
    let (raw, bits) = highest_first(cells, order)?;
    twos_complement(raw, bits)
}

/// A magnitude whose top bit is its sign.
#[must_use]
pub fn sign_magnitude(cells: &[u8], order: ByteOrder) -> Option<RawCount> {
    let (raw, bits) = highest_first(cells, order)?;
    let sign = 1u64.checked_shl(bits.checked_sub(1)?)?;
    let magnitude = i64::try_from(raw & !sign).ok()?;
    Some(RawCount(if raw & sign == 0 {
        magnitude
    } else {
        magnitude.checked_neg()?
    }))
}

/// A float of 4 or 8 bytes. Infinity and "not a number" are handed on unchanged.
#[must_use]
pub fn float(cells: &[u8], order: ByteOrder) -> Option<f64> {
    match highest_first(cells, order)? {
        (raw, 32) => Some(f64::from(f32::from_bits(u32::try_from(raw).ok()?))),
        (raw, 64) => Some(f64::from_bits(raw)),
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
        .try_fold(0, |n, cell| with_digit(n, digit(*cell)?))
        .map(RawCount)
}

/// The number with one more digit behind it.
fn with_digit(n: i64, digit: u8) -> Option<i64> {
    n.checked_mul(10)?.checked_add(i64::from(digit))
}

/// The digit that a cell holds, as 0 to 9 or as ASCII.
pub(crate) fn digit(cell: u8) -> Option<u8> {
    match cell {
        0..=9 => Some(cell),
        b'0'..=b'9' => cell.checked_sub(b'0'),
        _ => None,
    }
}

/// Two decimal digits in each byte.
#[must_use]
pub fn bcd(cells: &[u8], order: ByteOrder) -> Option<RawCount> {
    let (raw, bits) = highest_first(cells, order)?;
    if bits > 56 {
        return None;
    }
    // The bytes above the highest cell are noughts and change nothing.
    raw.to_be_bytes()
        .into_iter()
        .flat_map(|byte| [byte >> 4, byte & 0x0F])
        .try_fold(0, |n, digit| {
            (digit <= 9)
                .then_some(digit)
                .and_then(|digit| with_digit(n, digit))
        })
        .map(RawCount)
}

/// Hex digits in text. The number has four bits for each digit.
pub(crate) fn hex(text: &[u8], is_signed: bool) -> Option<RawCount> {
    if text.is_empty() || text.len() > 15 {
        return None;
    }
    let raw = text
        .iter()
        .try_fold(0, |n, c| Some(n << 4 | u64::from(nibble(*c)?)))?;
    if is_signed {
        twos_complement(raw, u32::try_from(text.len()).ok()?.checked_mul(4)?)
    } else {
        Some(RawCount(i64::try_from(raw).ok()?))
    }
}

/// The four bits that a hex digit stands for.
fn nibble(digit: u8) -> Option<u8> {
    u8::try_from(char::from(digit).to_digit(16)?).ok()
}

/// Cells from text whose characters are hex digits: one nibble each.
pub(crate) fn nibbles_of_hex(text: &[u8], out: &mut Vec<u8>) -> Option<()> {
    out.clear();
    for c in text {
        out.push(nibble(*c)?);
    }
    Some(())
}

/// Cells from text in which two hex digits stand for each byte.
pub(crate) fn bytes_of_hex(text: &[u8], out: &mut Vec<u8>) -> Option<()> {
    out.clear();
    for pair in text.chunks(2) {
        let [high, low] = pair else { return None };
        out.push(nibble(*high)? << 4 | nibble(*low)?);
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
