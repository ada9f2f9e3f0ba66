//! Why a request was not carried out.

use serde::{Deserialize, Serialize};

/// A refusal, complete enough to be shown to a person as it is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Refusal {
    /// The kind of refusal, which decides the exit code and the HTTP status.
    pub reason: Reason,
    /// What was found, in one sentence.
    pub found: String,
    /// What was expected, in one sentence; empty where `found` says it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub expected: String,
    /// What to do next, in one sentence.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub todo: String,
    /// Where in a text file the fault stands.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub places: Vec<Place>,
    /// The request that mends it, where a page can offer that as a button.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next_step: Option<Box<MendingStep>>,
}

/// A request that mends what another one was refused for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case", tag = "step")]
pub enum MendingStep {
    /// The gauge is to be zeroed in the job, on its zero face.
    Zero {
        /// The gauge's name.
        gauge: String,
        /// The job's name.
        job: String,
    },
}

/// A place in a text file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Place {
    /// The file as the user named it.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// What is wrong there.
    pub text: String,
}

/// The kinds of refusal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Reason {
    /// The request or a text file is wrong: what the user gave cannot be used.
    BadInput,
    /// A job, gauge, reading, route, spot or file that is not there.
    NotFound,
    /// It clashes with what is there: a name taken, a route already running, a reading voided.
    Conflict,
    /// A port that is not there.
    PortAbsent,
    /// A port that another program holds.
    PortBusy,
    /// A port that this user may not open.
    PortForbidden,
    /// A gauge that is silent, or sent nothing that could be read.
    GaugeSilent,
    /// Another process holds the store for writing.
    StoreBusy,
    /// The disk refused: nothing was kept.
    Storage,
    /// What is stored is damaged.
    Damaged,
    /// The token or the origin is not right.
    Unauthorised,
    /// The daemon cannot be reached, or is stopping.
    Unavailable,
}

impl Reason {
    /// The HTTP status that carries this refusal.
    pub fn status(self) -> u16 {
        match self {
            Reason::BadInput => 422,
            Reason::NotFound => 404,
            Reason::Conflict => 409,
            Reason::PortAbsent | Reason::PortBusy | Reason::PortForbidden => 424,
            Reason::GaugeSilent => 504,
            Reason::StoreBusy => 423,
            Reason::Storage => 507,
            Reason::Damaged => 500,
            Reason::Unauthorised => 401,
            Reason::Unavailable => 503,
        }
    }
}

impl Refusal {
    /// A refusal with what was found; the rest is added by the builders below.
    pub fn new(reason: Reason, found: impl Into<String>) -> Self {
        Refusal {
            reason,
            found: shortened(found.into(), LONGEST_SENTENCE),
            expected: String::new(),
            todo: String::new(),
            places: Vec::new(),
            next_step: None,
        }
    }

    /// Says what was expected.
    #[must_use]
    pub fn expected(mut self, text: impl Into<String>) -> Self {
        self.expected = shortened(text.into(), LONGEST_SENTENCE);
        self
    }

    /// Says what to do next.
    #[must_use]
    pub fn todo(mut self, text: impl Into<String>) -> Self {
        self.todo = shortened(text.into(), LONGEST_SENTENCE);
        self
    }

    /// Names the request that mends it.
    #[must_use]
    pub fn mended_by(mut self, step: MendingStep) -> Self {
        self.next_step = Some(Box::new(step));
        self
    }

    /// Adds a place in a text file.
    #[must_use]
    pub fn at(mut self, mut place: Place) -> Self {
        place.text = shortened(place.text, LONGEST_PLACE);
        self.places.push(place);
        self
    }
}

/// The longest that a sentence of a refusal is told, in bytes: what was sent may be a whole file.
const LONGEST_SENTENCE: usize = 4000;
/// The longest that is told of one place, in bytes.
const LONGEST_PLACE: usize = 600;

/// The beginning and the end of a text that is too long.
fn shortened(text: String, longest: usize) -> String {
    if text.len() <= longest {
        return text;
    }
    let (mut front, mut back) = (longest * 3 / 4, text.len() - longest / 4);
    while !text.is_char_boundary(front) {
        front -= 1;
    }
    while !text.is_char_boundary(back) {
        back += 1;
    }
    let left_out = back - front;
    format!(
        "{} … ({left_out} bytes left out) … {}",
        &text[..front],
        &text[back..]
    )
}

impl std::fmt::Display for Refusal {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.found)?;
        for part in [&self.expected, &self.todo] {
            if !part.is_empty() {
                write!(f, "; {part}")?;
            }
        }
        Ok(())
    }
}

impl std::error::Error for Refusal {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_refusal_of_a_text_without_end_shows_its_beginning_and_its_end() {
        let text = format!("found {}; expected a number", "µ".repeat(1_000_000));
        let place = Place {
            file: "a.csv".into(),
            line: 1,
            column: 1,
            text: text.clone(),
        };
        let refusal = Refusal::new(Reason::BadInput, text).at(place);
        let sent = serde_json::to_string(&refusal).unwrap();
        assert!(sent.len() < 6000, "{} bytes", sent.len());
        assert!(refusal.found.starts_with("found µ"));
        assert!(refusal.found.ends_with("; expected a number"));
    }
}
