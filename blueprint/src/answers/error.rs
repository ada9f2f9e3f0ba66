//! Why a question has no answer: what was found, what was expected, what to do.

use crate::report::ReportError;

/// Whose trouble it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AskTrouble {
    /// Something given cannot be used.
    Bad,
    /// Something that the answer needs is not there.
    Missing,
}

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{found}; expected {expected}; {todo}")]
pub struct AskError {
    /// Whose trouble it is.
    pub trouble: AskTrouble,
    /// What was found.
    pub found: String,
    /// What was expected.
    pub expected: String,
    /// What to do next.
    pub todo: String,
}

impl AskError {
    /// Something given cannot be used.
    pub(super) fn bad(
        found: impl Into<String>,
        expected: impl Into<String>,
        todo: impl Into<String>,
    ) -> AskError {
        AskError {
            trouble: AskTrouble::Bad,
            found: found.into(),
            expected: expected.into(),
            todo: todo.into(),
        }
    }

    /// Something that the answer needs is not there.
    pub(super) fn missing(
        found: impl Into<String>,
        expected: impl Into<String>,
        todo: impl Into<String>,
    ) -> AskError {
        AskError {
            trouble: AskTrouble::Missing,
            ..AskError::bad(found, expected, todo)
        }
    }
}

impl From<ReportError> for AskError {
    fn from(error: ReportError) -> AskError {
        let words = error.to_string();
        match error {
            ReportError::Stage { .. } => AskError::missing(words, "", "name one of those"),
            _ => AskError::bad(words, "", ""),
        }
    }
}
