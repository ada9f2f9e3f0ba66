//! What is wrong with an engine file, and where.

use std::fmt;
use std::ops::Range;

/// One fault of an engine file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EngineFileFault {
    /// Where it stands, as bytes of the text.
    pub span: Range<usize>,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// The key it is about, with its section, such as `gasket.bore`; empty for the file's syntax.
    pub key: String,
    /// What was found, and what was expected.
    pub message: String,
    /// What to do.
    pub help: String,
}

impl fmt::Display for EngineFileFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}, column {}: ", self.line, self.column)?;
        if !self.key.is_empty() {
            write!(f, "{}: ", self.key)?;
        }
        write!(f, "{}; {}", self.message, self.help)
    }
}

/// All faults of an engine file, in the order of the text.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub struct EngineFileFaults {
    /// The first [`MOST_TOLD`](crate::MOST_TOLD) faults; at least one.
    pub faults: Vec<EngineFileFault>,
    /// How many further faults there are.
    pub more: usize,
}

impl EngineFileFaults {
    /// How many faults there are in all.
    #[must_use]
    pub fn count(&self) -> usize {
        self.faults.len().saturating_add(self.more)
    }
}

impl fmt::Display for EngineFileFaults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut list: Vec<String> = self.faults.iter().map(EngineFileFault::to_string).collect();
        if self.more > 0 {
            list.push(format!("and {} more", self.more));
        }
        f.write_str(&list.join("\n"))
    }
}
