//! The bytes heard on a port: reads with their times, and the question if one was asked.

use benchhand_drivers::serial_settings::SerialSettings;

/// Bytes that were heard at one line setting.
#[derive(Debug, Clone)]
pub struct HeardBytes {
    /// The settings with which the line was open.
    pub line: SerialSettings,
    /// Reads with their times in microseconds, in order.
    pub reads: Vec<(u64, Vec<u8>)>,
    /// The question, and the times at which it was sent, if the gauge had to be asked.
    pub asked: Option<AskedQuestion>,
}

/// A question that made a gauge speak.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AskedQuestion {
    /// The bytes that were sent.
    pub command: Vec<u8>,
    /// Times at which they were sent, in microseconds.
    pub at_us: Vec<u64>,
}

impl HeardBytes {
    /// Every byte, in order.
    #[must_use]
    pub fn bytes(&self) -> Vec<u8> {
        self.reads
            .iter()
            .flat_map(|(_, bytes)| bytes.iter().copied())
            .collect()
    }

    /// Whether every answer begins with the question itself.
    pub(crate) fn echoed(&self) -> bool {
        let Some(asked) = &self.asked else {
            return false;
        };
        let visible = asked.command.iter().any(u8::is_ascii_graphic);
        let begins = |from: usize| {
            let next = asked.at_us.get(from + 1).copied().unwrap_or(u64::MAX);
            let answer: Vec<u8> = self
                .reads
                .iter()
                .filter(|(at_us, _)| (asked.at_us[from]..next).contains(at_us))
                .flat_map(|(_, bytes)| bytes.iter().map(|byte| byte & 0x7F))
                .collect();
            answer.starts_with(&asked.command)
        };
        visible && (0..asked.at_us.len()).all(begins)
    }
}
