//! The bytes that a receiver reads if they were sent at another speed or format.
//!
//! A pseudo-terminal carries bytes unchanged whatever its settings. A virtual gauge that honours
//! them sends its bytes through this module.

use benchhand_drivers::{Parity, SerialSettings};

/// The level of a line over time, in bits of the sender.
struct Wave {
    bits: Vec<bool>,
    bit_us: f64,
}

impl Wave {
    fn sent(bytes: &[u8], line: &SerialSettings) -> Self {
        // The line idles high before the first byte.
        let mut bits = vec![true; 2];
        for byte in bytes {
            let data = if line.format.data == 7 {
                byte & 0x7F
            } else {
                *byte
            };
            bits.push(false);
            bits.extend((0..line.format.data).map(|bit| data >> bit & 1 == 1));
            let odd = data.count_ones() % 2 == 1;
            match line.format.parity {
                Parity::None => {}
                Parity::Even => bits.push(odd),
                Parity::Odd => bits.push(!odd),
            }
            bits.extend(std::iter::repeat_n(true, usize::from(line.format.stop)));
        }
        Self {
            bits,
            bit_us: 1e6 / f64::from(line.baud),
        }
    }

    fn level(&self, at_us: f64) -> bool {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "times are small and not negative"
        )]
        let bit = (at_us / self.bit_us) as usize;
        self.bits.get(bit).copied().unwrap_or(true)
    }

    #[expect(clippy::cast_precision_loss, reason = "waves are short")]
    fn end_us(&self) -> f64 {
        self.bits.len() as f64 * self.bit_us
    }
}

/// The bytes that a receiver set to `rx` reads if a sender set to `tx` sends `bytes` back to back.
/// A word without its stop bit is handed on all the same, as terminals in raw mode do.
#[must_use]
pub fn garbled(bytes: &[u8], tx: &SerialSettings, rx: &SerialSettings) -> Vec<u8> {
    let wave = Wave::sent(bytes, tx);
    let bit_us = 1e6 / f64::from(rx.baud);
    // Receivers look for the start bit in steps of a sixteenth of a bit.
    let tick = bit_us / 16.0;
    let mut out = Vec::new();
    let mut now = 0.0;
    while now < wave.end_us() {
        // Waits for a falling edge.
        if wave.level(now) || !wave.level((now - tick).max(0.0)) {
            now += tick;
            continue;
        }
        let middle = |bit: f64| wave.level(now + (bit + 0.5) * bit_us);
        if middle(0.0) {
            now += tick;
            continue;
        }
        let data = (0..rx.format.data).fold(0u8, |byte, bit| {
            byte | u8::from(middle(f64::from(bit) + 1.0)) << bit
        });
        out.push(data);
        let parity = u8::from(rx.format.parity != Parity::None);
        // The middle of the stop bit ends the word.
        now += (f64::from(rx.format.data + parity) + 1.5) * bit_us;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use benchhand_drivers::SerialFormat;

    const TEXT: &[u8] = b"+0.1234 mm\r\n";

    #[test]
    fn the_same_settings_carry_every_byte() {
        let all: Vec<u8> = (0..=255).collect();
        for baud in [1200, 9600, 115_200] {
            let line = SerialSettings::new(baud, SerialFormat::N81);
            assert_eq!(garbled(&all, &line, &line), all);
        }
    }

    #[test]
    fn seven_bits_with_parity_show_as_eight_bits_with_the_parity_on_top() {
        let seven = SerialSettings::new(4800, SerialFormat::E71);
        let eight = SerialSettings::new(4800, SerialFormat::N81);
        let expected: Vec<u8> = TEXT
            .iter()
            .map(|b| b | u8::from(b.count_ones() % 2 == 1) << 7)
            .collect();
        assert_eq!(garbled(TEXT, &seven, &eight), expected);
    }

    #[test]
    fn another_speed_carries_nothing_that_reads_as_the_text() {
        let tx = SerialSettings::new(9600, SerialFormat::N81);
        for baud in [1200, 2400, 4800, 19_200, 38_400, 115_200] {
            let seen = garbled(TEXT, &tx, &SerialSettings::new(baud, SerialFormat::N81));
            assert_ne!(seen, TEXT, "{baud}");
            assert!(!seen.is_empty(), "{baud}");
        }
    }
}
