//! Why a profile was refused, and where.

use std::ops::Range;

use benchhand_toml_places::line_and_column;

/// A profile that was refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{file}:{line}:{column}: found {found}; expected {expected}; {advice}")]
pub struct ProfileError {
    /// The name of the file, as the loader gave it.
    pub file: String,
    /// Line, counted from 1.
    pub line: usize,
    /// Column in characters, counted from 1.
    pub column: usize,
    /// The sort of mistake.
    pub fault: ProfileFault,
    /// The text at that place.
    pub found: String,
    /// The text that could stand there.
    pub expected: String,
    /// What to do next.
    pub advice: String,
}

/// Sorts of mistakes in a profile.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum ProfileFault {
    /// The text is not TOML.
    Syntax,
    /// A key that has no meaning at this place.
    UnknownKey,
    /// A required key is missing.
    Missing,
    /// The value is of another type than the key asks for.
    WrongType,
    /// The value has the right type but is not allowed.
    WrongValue,
    /// A unit that is not in the table of units.
    UnknownUnit,
    /// Two fields claim the same place in the frame.
    Overlap,
    /// A field lies outside the frame.
    OutsideFrame,
    /// Two keys that cannot both hold.
    Contradiction,
    /// The same name, identifier or word twice.
    Duplicate,
}

/// A mistake before its place is turned into line and column.
#[derive(Debug, Clone)]
pub(crate) struct Flaw {
    pub(crate) fault: ProfileFault,
    pub(crate) span: Range<usize>,
    pub(crate) found: String,
    pub(crate) expected: String,
    pub(crate) advice: String,
}

impl Flaw {
    pub(crate) fn new(
        fault: ProfileFault,
        span: Range<usize>,
        found: impl Into<String>,
        expected: impl Into<String>,
        advice: impl Into<String>,
    ) -> Self {
        Self {
            fault,
            span,
            found: found.into(),
            expected: expected.into(),
            advice: advice.into(),
        }
    }

    /// The same mistake with line and column.
    pub(crate) fn located(self, file: &str, text: &str) -> ProfileError {
        let (line, column) = line_and_column(text, self.span.start);
        ProfileError {
            file: file.to_owned(),
            line,
            column,
            fault: self.fault,
            found: self.found,
            expected: self.expected,
            advice: self.advice,
        }
    }
}
