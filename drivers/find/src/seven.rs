//! Recognises 7-bit words that were read as 8 bits, by their parity.

use benchhand_drivers::serial_settings::{Parity, SerialFormat};

/// The format of the 7-bit line that these bytes come from. `None` if they are 8-bit bytes.
pub(crate) fn format(bytes: &[u8]) -> Option<SerialFormat> {
    let tops = bytes.iter().filter(|byte| **byte & 0x80 != 0).count();
    if bytes.len() < 6 || tops == 0 {
        return None;
    }
    let texts = bytes.iter().filter(|byte| is_text(**byte & 0x7F)).count();
    if share(texts, bytes.len()) < 0.97 {
        return None;
    }
    let odd = bytes
        .iter()
        .filter(|byte| byte.count_ones() % 2 == 1)
        .count();
    let of = |parity, stop| {
        Some(SerialFormat {
            data: 7,
            parity,
            stop,
        })
    };
    // A few bytes may be damaged, because the port may have been opened in the middle of one.
    if share(bytes.len() - odd, bytes.len()) > 0.97 {
        of(Parity::Even, 1)
    } else if share(odd, bytes.len()) > 0.97 {
        of(Parity::Odd, 1)
    } else if share(tops, bytes.len()) > 0.97 {
        // The top bit is always one: mark parity, or the first of two stop bits.
        of(Parity::None, 2)
    } else {
        None
    }
}

/// Whether a byte is printable or one of the control characters that gauges put into text.
pub(crate) fn is_text(byte: u8) -> bool {
    matches!(byte, 0x20..=0x7E | b'\r' | b'\n' | b'\t' | 1..=6 | 0x15)
}

/// Whether a byte only fills pauses or stands before a line, and has no meaning.
pub(crate) fn is_idle(byte: u8) -> bool {
    matches!(byte, 0 | 0x11 | 0x13)
}

/// Whether a byte is part of a unit symbol beyond ASCII: degree, micro, square and cube, in
/// Latin-1 or UTF-8.
pub(crate) fn is_symbol(byte: u8) -> bool {
    matches!(byte, 0xB0 | 0xB2 | 0xB3 | 0xB5 | 0xBC | 0xC2 | 0xCE)
}

pub(crate) fn share(part: usize, whole: usize) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "captures are small")]
    let (part, whole) = (part as f64, whole.max(1) as f64);
    part / whole
}
