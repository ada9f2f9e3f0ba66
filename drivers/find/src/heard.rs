//! What was heard on a port: reads with their times, and what was asked.

use benchhand_drivers::line::Line;

/// Bytes that were heard at one line setting.
#[derive(Debug, Clone)]
pub struct Heard {
    /// How the line was open.
    pub line: Line,
    /// Reads with their times in microseconds, in order.
    pub reads: Vec<(u64, Vec<u8>)>,
    /// The question that was asked before each of these times, where the gauge had to be asked.
    pub asked: Option<Asked>,
}

/// A question that made a gauge speak.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Asked {
    /// The bytes that were sent.
    pub command: Vec<u8>,
    /// When they were sent.
    pub at_us: Vec<u64>,
}

impl Heard {
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
