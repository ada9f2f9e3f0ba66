//! Making a job's readings out anew from its recorded streams, each at the station that holds them.

use serde::{Deserialize, Serialize};

use crate::{Ask, Carry};

/// Asks for a job's captured readings to be made out anew from the recorded streams, and
/// compared with the journal, value for value.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct RecomputeJob {
    /// The job's name.
    pub job: String,
    /// A name of the asker's own, by which `work/how-far` tells how far it is; at most 64 letters.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub work: Option<String>,
}

/// What came of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Recomputed {
    /// One row for each captured reading, in the order of the journal.
    pub readings: Vec<RecomputedReading>,
    /// How many are the same.
    pub same: usize,
    /// How many differ by less than a tenth of their gauge's step: in journals from before what
    /// was steered was kept, a rest that was cut short by it comes out a little otherwise.
    #[serde(default)]
    pub near: usize,
    /// How many differ, or were not found in the streams again.
    pub different: usize,
    /// How many cannot be made out anew, because their stream is not there, or ends before them: the
    /// last bytes before the daemon was killed were not written yet; or another station holds it, and
    /// its answer is not here.
    pub without_stream: usize,
    /// How many of those without a stream lie outside the samples that the journal holds of their
    /// window. A pour is a difference of two levels, and cannot be held against its window.
    #[serde(default)]
    pub outside_window: usize,
    /// The streams that are cut short or damaged: the file and what is wrong there. What stands
    /// before is made out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cut_streams: Vec<String>,
    /// The other stations that hold recorded streams of the job: each makes its own readings out anew.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub elsewhere: Vec<RecomputedElsewhere>,
}

/// The captured readings of another station, which holds their recorded streams.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RecomputedElsewhere {
    /// The station, by its letter, or where it has none by some digits of its identity.
    pub station: String,
    /// How many captured readings it has.
    pub readings: usize,
    /// How many of them it made out anew; they are among those that are counted.
    pub again: usize,
    /// Why the others are not, and what to do; absent where all are.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub away: Option<String>,
    /// Whether its answer is on the way, so that asking again in a moment gives more.
    #[serde(default)]
    pub awaited: bool,
}

/// One reading, from the journal and from its stream.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RecomputedReading {
    /// The entry of the job's record that it is.
    pub id: u64,
    /// Its number for people, with its station's letter where several measure.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub number: Option<String>,
    /// The station that holds its stream, by its letter, where that is another one: it makes the reading
    /// out anew.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub held_by: Option<String>,
    /// Its spot as it was captured.
    pub spot: String,
    /// What the gauge gave, by the journal, in `unit`.
    pub kept: f64,
    /// What its stream gives at the same moment; absent where it gives nothing there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub again: Option<f64>,
    /// The unit.
    pub unit: String,
    /// The stream's file, and where in it, in microseconds.
    pub stream: String,
    /// Microseconds since the stream began.
    pub at_us: u64,
    /// `same`, `near`, `different` or `no stream`.
    pub verdict: String,
    /// Whether a reading without a stream lies within the samples that the journal holds of its
    /// window; absent where the journal holds none, and of a pour.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub in_window: Option<bool>,
}

impl Ask for RecomputeJob {
    const PATH: &'static str = "jobs/recompute";
    const CARRY: Carry = Carry::Question;
    type Answer = Recomputed;
}
