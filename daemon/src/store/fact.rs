//! What can be stated in a job's journal, one fact a line.
//!
//! A fact holds the text of a spot and of a unit, and nothing of their meaning: geometry and
//! conversion belong to the blueprint, decoding to the drivers. Facts are only ever added. When a
//! person takes something back, that is a fact of its own.
//!
//! Every fact has a number, the sequence number of its line. A reading is named by that number for
//! ever. The rows of an import get numbers from the import's line on, so each row is a reading with
//! a number of its own, and the next line follows after the last row.

use serde::{Deserialize, Serialize};

use crate::capture::{CaptureMode, Steer};

pub use crate::store::checked::{CheckPoint, CheckedLeak, CheckedPlate, ZeroedGauge};
pub use crate::store::copied::CopiedJob;
pub use crate::store::cut::{CutDepth, PartsCut, TrueCut, WithdrawnCut};
pub use crate::store::joined::{JoinedStation, PartedFrom};
pub use crate::store::ordered::{OrderedPart, OrderedParts};
pub use crate::store::reading::{
    Reading, ReadingId, ReadingPart, ReadingSource, StreamAt, WindowSample, are_initials,
};
pub use crate::store::route_facts::{RouteAt, RouteGauge, RouteStarted};
pub use crate::store::so_far::ChamberSoFar;

/// The stage a job begins with.
pub const FIRST_STAGE: &str = "as received";

/// The label of a reading that holds the size of its gauge's count.
pub const STEP: &str = "step";
/// The label of a typed reading that holds how many decimals were typed. They tell how the value is
/// shown, not how finely its gauge can be read.
pub(crate) const DECIMALS: &str = "decimals";
/// The label of a pour that holds from where to where the burette's level went, in each filling.
pub(crate) const LEVELS: &str = "levels";
/// The label of a reading that a person was asked about and kept: the question.
pub const ASKED: &str = "asked";
/// The label of a value that is kept safe while it is asked about: why, so that it can be asked about
/// for the same reason after the work was broken off.
pub const WHY_ASKED: &str = "why_asked";

/// The label of a captured pour that holds what was expected of it: low, middle and high in the
/// gauge's unit. The pour can be made out anew from its stream with it.
pub const EXPECTED: &str = "expected";

/// One thing that is known of a job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "fact", rename_all = "snake_case")]
pub enum Fact {
    /// The job was opened; always the first line, and only there.
    Opened(OpenedJob),
    /// A station takes part in the job: the first line of a journal that did not open its job.
    Joined(JoinedStation),
    /// An input was loaded: a text on which figures rest beside the readings.
    Input(JobInput),
    /// A gauge was set to zero against something.
    Zero(ZeroedGauge),
    /// A gauge was checked against something.
    Check(CheckedGauge),
    /// The metering orifice of a flow bench was checked by a plate of known flow.
    Plate(CheckedPlate),
    /// The leak of a flow bench was measured.
    Leak(CheckedLeak),
    /// Metal was cut or a part changed: a new stage begins.
    Cut(PartsCut),
    /// A cut was taken back, or what was said of it was corrected.
    CutWithdrawn(WithdrawnCut),
    /// A condition that holds from here on: liquid, temperature, pressure of the air.
    Condition(StatedCondition),
    /// A reading that is shown and kept but may still be revised.
    Held(Reading),
    /// A reading that replaces the one named in `supersedes`, and is itself held.
    Revised(Reading),
    /// A final reading. Where it follows a held one, `supersedes` names that one.
    Final(Reading),
    /// A value that a person is asked about. It does not count until a reading that names it in
    /// `supersedes` replaces it. If the value is dropped it is voided.
    Asked(Reading),
    /// A held reading stands as it is, under its own number.
    Finalised {
        /// The held reading.
        of: ReadingId,
    },
    /// A reading no longer counts, for the reason given. It stays listed.
    Voided {
        /// The reading.
        of: ReadingId,
        /// The reason, in the words of the person who took the reading back.
        reason: String,
        /// Initials of that person.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        by: Option<String>,
    },
    /// A reading that was taken back counts again.
    Restored {
        /// The reading.
        of: ReadingId,
    },
    /// A person was asked about a reading and kept it.
    Kept {
        /// The reading.
        of: ReadingId,
        /// What was asked.
        asked: String,
    },
    /// A reading belongs to another spot than stated before.
    Moved {
        /// The reading.
        of: ReadingId,
        /// Where it lay until now.
        from: String,
        /// Where it belongs.
        to: String,
        /// Why.
        reason: String,
        /// Initials of who moved it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        by: Option<String>,
    },
    /// A part was fitted at a position.
    Fitted(FittedPart),
    /// Parts were ordered to a size, or an order was taken back.
    Ordered(OrderedParts),
    /// Readings from a file; all of them are kept, or none.
    Import(ImportedReadings),
    /// A route was begun.
    RouteStarted(RouteStarted),
    /// Where a route stands now.
    RouteAt(RouteAt),
    /// What went into a chamber so far, before its reading is kept.
    SoFar(ChamberSoFar),
    /// A route ended.
    RouteEnded {
        /// The route's name.
        route: String,
        /// Whether every stop was visited.
        complete: bool,
    },
    /// A damaged line is accepted as damaged, and the record goes on without it.
    DamageKnown {
        /// The line, counted from 1.
        line: u64,
        /// BLAKE3 of the line's bytes as they were found, in hexadecimal.
        hash: String,
        /// What was found to be wrong, and what was decided.
        reason: String,
    },
    /// What a capture was told besides its gauge's samples: with it a value can be made out anew.
    Steered(KeptSteering),
    /// The work was stopped in good order: everything known was written.
    Stop {},
}

impl Fact {
    /// How many numbers the fact takes up, at least 1: one for each row of an import.
    #[must_use]
    pub fn numbers(&self) -> u64 {
        match self {
            Fact::Import(import) => (import.rows.len() as u64).max(1),
            _ => 1,
        }
    }
}

/// The job was opened.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct OpenedJob {
    /// The job's name, the same as its folder's.
    pub job: String,
    /// What the job is, in the builder's words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub title: Option<String>,
    /// The stage that the parts are in at the beginning.
    pub stage: String,
    /// The program that opened it, with its version.
    pub program: String,
    /// The job of which it is a copy.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub copy_of: Option<CopiedJob>,
}

/// What a capture was told on a running route.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KeptSteering {
    /// The gauge that it listens to.
    pub gauge: String,
    /// The capture's mode: one gauge may serve stops of more than one mode.
    pub mode: CaptureMode,
    /// The last sample before, in the gauge's recorded stream; `None` before the first.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stream: Option<StreamAt>,
    /// What it was told.
    pub steer: Steer,
}

/// What sort of text was loaded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum InputKind {
    /// The engine file.
    Engine,
    /// A gauge's profile.
    Profile,
    /// A route.
    Route,
    /// A gauge's entry in the shop's register: identity, sense, zero, calibration.
    Gauge,
}

impl InputKind {
    /// The word used in the journal.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            InputKind::Engine => "engine",
            InputKind::Profile => "profile",
            InputKind::Route => "route",
            InputKind::Gauge => "gauge",
        }
    }
}

/// A text that figures rest on, kept whole.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct JobInput {
    /// What sort of text.
    pub kind: InputKind,
    /// Its name: `engine`, or the profile's, route's or gauge's.
    pub name: String,
    /// BLAKE3 of `content`, in hexadecimal.
    pub hash: String,
    /// The text, whole.
    pub content: String,
}

impl JobInput {
    /// The fact that this text was loaded, with its hash.
    #[must_use]
    pub fn new(kind: InputKind, name: impl Into<String>, content: impl Into<String>) -> Self {
        let content = content.into();
        Self {
            kind,
            name: name.into(),
            hash: content_hash(content.as_bytes()),
            content,
        }
    }
}

/// BLAKE3 of some bytes, in hexadecimal, as facts carry it.
#[must_use]
pub fn content_hash(bytes: &[u8]) -> String {
    blake3::hash(bytes).to_hex().to_string()
}

/// A gauge was checked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CheckedGauge {
    /// The gauge.
    pub gauge: String,
    /// Which of its channels, counted from 0.
    #[serde(default, skip_serializing_if = "super::reading::is_default")]
    pub channel: u8,
    /// The result, in `unit`: found minus expected, unless `expected` is given.
    pub result: f64,
    /// What should have been found, in `unit`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expected: Option<f64>,
    /// The unit of `result`, `expected`, `correction` and `u`.
    pub unit: String,
    /// Whether the gauge is as it should be; `None` where nothing was judged.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub passed: Option<bool>,
    /// Standard uncertainty of the result; `None` where unknown.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u: Option<f64>,
    /// The correction that the check gave, in `unit`: it is added to what the gauge shows.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub correction: Option<f64>,
    /// The master or gauge of the comparison.
    pub against: String,
    /// The share of the shown value that is added besides `correction`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scale: Option<f64>,
    /// The largest error allowed, in `unit`, for a check by several comparisons.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub allow: Option<f64>,
    /// The comparisons, where there were several.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub points: Vec<CheckPoint>,
}

/// A condition that holds until it is stated anew.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StatedCondition {
    /// The condition's name: `liquid`, `liquid/temperature`, `air/pressure`.
    pub name: String,
    /// The number, in `unit`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub value: Option<f64>,
    /// The unit of `value` and `u`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// Standard uncertainty of `value`; `None` where unknown.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u: Option<f64>,
    /// The word, for a condition that is no number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub text: Option<String>,
    /// The first reading for which the condition holds, where that is not the next reading.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub since: Option<u64>,
}

/// A part was fitted at a position.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FittedPart {
    /// Where: `piston/3`, `rod/3`, `head/left`.
    pub position: String,
    /// The part, by its mark; empty when the position was emptied.
    pub part: String,
    /// A remark.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// Readings from a file, on one line because all of them are kept or none.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ImportedReadings {
    /// The file's name, as a person would look for it.
    pub file: String,
    /// BLAKE3 of the file's bytes, in hexadecimal.
    pub hash: String,
    /// The readings, in the file's order; each is final.
    pub rows: Vec<Reading>,
}

impl Fact {
    /// A reading is taken back for this reason; who did it is not said.
    pub fn voided(of: ReadingId, reason: String) -> Fact {
        Fact::Voided {
            of,
            reason,
            by: None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// BLAKE3's official test vectors, `test_vectors.json`, input lengths 0 and 1 (from memory).
    #[test]
    fn the_hash_is_plain_blake3() {
        let empty = "af1349b9f5f9a1a6a0404dea36dcc9499bcb25c9adc112b7cc9a93cae41f3262";
        assert_eq!(content_hash(b""), empty);
        let zero = "2d3adedff11b61f14c886e35afa036736dcd87a74d27b5c1510225d0f592e213";
        assert_eq!(content_hash(&[0]), zero);
    }
}
