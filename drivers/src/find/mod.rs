//! What an unknown gauge says: from captured bytes to a line setting, a frame, a field, a unit,
//! and a profile that the ordinary driver then uses.
//!
//! Everything but [`search`] is pure analysis of bytes and times. A unit that the bytes do not
//! tell is never guessed. Every profile that is proposed was loaded and run over the capture by
//! the ordinary driver first.

mod ask;
mod binary;
mod choose;
mod classes;
mod doubts;
mod front;
mod known;
mod place;
mod records;
mod registers;
pub mod search;
mod series;
mod seven;
mod shape;
mod speeds;
mod sums;
mod text;
mod tokens;
mod units;
mod write;

use crate::line::Line;
use crate::profile::{DriverOptions, Mode, Profile};
use crate::sample::Sample;
use crate::stream::{Event, Header, Origin, Stream, What, decode_stream, samples_of};
use crate::unit::Unit;

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
    fn echoed(&self) -> bool {
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

/// What the bytes may be.
#[derive(Debug, Clone)]
pub struct Candidate {
    /// How the gauge sets its line.
    pub line: Line,
    /// How it sends.
    pub mode: Mode,
    /// The unit, where the bytes tell it.
    pub unit: Option<Unit>,
    /// How sure this is, from 0 to 1. 0.8 and above is only said where the bytes leave no other
    /// reading of the line or the field.
    pub confidence: f64,
    /// A profile that reads it; the unit `1` stands where none was told.
    pub profile: String,
    /// The last value of the field.
    pub last_value: Option<f64>,
    /// What speaks for it and against it, in words.
    pub reasons: Vec<String>,
}

/// From this confidence on a finding counts as sure.
pub const SURE: f64 = 0.8;

/// Every reading of what was heard, the surest first.
#[must_use]
pub fn analyse(heard: &[Heard]) -> Vec<Candidate> {
    let mut all: Vec<Candidate> = heard.iter().flat_map(candidates).collect();
    all.sort_by(|a, b| b.confidence.total_cmp(&a.confidence));
    all
}

fn candidates(heard: &Heard) -> Vec<Candidate> {
    let trimmed = front::trimmed(heard);
    let heard = &trimmed;
    let bytes = heard.bytes();
    if bytes.len() < 4 {
        return Vec::new();
    }
    let mut all = known::candidates(heard);
    all.extend(text::candidates(heard));
    // Bytes that read as text are not looked at as anything else.
    if !all.iter().any(|candidate| candidate.confidence >= 0.5) {
        all.extend(binary::candidates(heard));
    }
    all
}

/// A proposed profile that was run over what was heard.
struct Tried {
    samples: Vec<Sample>,
    /// Troubles other than a cut first line.
    troubles: usize,
}

/// Loads a proposed profile and runs the ordinary driver over what was heard.
fn try_profile(text: &str, heard: &Heard) -> Option<Tried> {
    let profile = match Profile::parse(text, "found") {
        Ok(profile) => profile,
        Err(error) => {
            tracing::debug!(%error, "a proposed profile was refused");
            return None;
        }
    };
    let mut events: Vec<Event> = heard
        .reads
        .iter()
        .map(|(at_us, bytes)| Event {
            at_us: *at_us,
            what: What::Rx(bytes.clone()),
        })
        .collect();
    if let Some(asked) = &heard.asked {
        let question = |at_us: &u64| Event {
            at_us: *at_us,
            what: What::Tx(asked.command.clone()),
        };
        events.extend(asked.at_us.iter().map(question));
        // A question stands before the answer that was read at the same time.
        events.sort_by_key(|event| (event.at_us, matches!(event.what, What::Rx(_))));
    }
    let header = Header::new(profile.name(), heard.line, Origin::Captured);
    let decoded = decode_stream(
        &Stream { header, events },
        &profile,
        DriverOptions::default(),
    );
    let samples = samples_of(&decoded);
    let troubles = decoded.len() - samples.len();
    Some(Tried { samples, troubles })
}
