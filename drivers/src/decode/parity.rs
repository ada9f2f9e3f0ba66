//! Seven-bit words and parity judged in software, on bytes that were read as 8N1.
//!
//! Pseudo-terminals and some adapters ignore 7-bit settings. The line is therefore opened as 8N1,
//! and the parity bit arrives as the top bit.

use crate::serial_settings::{Parity, SerialFormat};

/// Strips and adds the parity bit of each byte on a line.
#[derive(Debug, Clone, Copy)]
pub struct ParityMasking {
    data: u8,
    parity: Parity,
    stop: u8,
}

impl ParityMasking {
    /// The rules for a line with this format.
    #[must_use]
    pub fn new(format: SerialFormat) -> Self {
        Self {
            data: format.data,
            parity: format.parity,
            stop: format.stop,
        }
    }

    /// Whether bytes are used unchanged, because the line has 8 data bits.
    #[must_use]
    pub fn is_plain(self) -> bool {
        self.data != 7
    }

    /// The seven data bits of a byte, or `None` if its parity does not fit.
    #[must_use]
    pub fn judge(self, byte: u8) -> Option<u8> {
        if self.is_plain() {
            return Some(byte);
        }
        let odd = byte.count_ones() % 2 == 1;
        match self.parity {
            Parity::Even if odd => None,
            Parity::Odd if !odd => None,
            _ => Some(byte & 0x7F),
        }
    }

    /// The byte that an 8N1 line must carry so that a 7-bit receiver reads these data bits.
    #[must_use]
    pub fn dress(self, data: u8) -> u8 {
        if self.is_plain() {
            return data;
        }
        let data = data & 0x7F;
        let odd = data.count_ones() % 2 == 1;
        match self.parity {
            Parity::Even if odd => data | 0x80,
            Parity::Odd if !odd => data | 0x80,
            // In 7N2 the first stop bit stands where 8N1 has its eighth data bit.
            Parity::None if self.stop == 2 => data | 0x80,
            _ => data,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_dressed_is_judged_good_and_any_single_flip_is_not() {
        for format in [SerialFormat::E71, SerialFormat::O71] {
            let masking = ParityMasking::new(format);
            for data in 0..0x80u8 {
                let byte = masking.dress(data);
                assert_eq!(masking.judge(byte), Some(data));
                for bit in 0..8 {
                    assert_eq!(
                        masking.judge(byte ^ (1 << bit)),
                        None,
                        "{format} {data} {bit}"
                    );
                }
            }
        }
    }
}
