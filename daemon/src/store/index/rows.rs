//! The readings that an index holds, and the queries for them.

use jiff::Timestamp;

use crate::store::fact::ReadingId;
use crate::store::view::{JobView, KeptReading, ReadingState};

/// The index is of no use any more; the journals are as good as ever.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the index cannot be used ({0}); it is built again from the journals")]
pub struct IndexError(pub(crate) String);

/// Whether a reading counts, in one word.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReadingStanding {
    /// The reading counts, but may be revised.
    Held,
    /// The reading counts for good.
    Final,
    /// Another reading replaced it.
    Superseded,
    /// A person took the reading back.
    Voided,
}

impl ReadingStanding {
    /// Whether the reading counts.
    #[must_use]
    pub fn is_live(self) -> bool {
        matches!(self, ReadingStanding::Held | ReadingStanding::Final)
    }
}

impl From<&ReadingState> for ReadingStanding {
    fn from(state: &ReadingState) -> Self {
        match state {
            // The lists know only whether a reading counts.
            ReadingState::Held | ReadingState::Asked => ReadingStanding::Held,
            ReadingState::Final => ReadingStanding::Final,
            ReadingState::Superseded { .. } => ReadingStanding::Superseded,
            ReadingState::Voided { .. } => ReadingStanding::Voided,
        }
    }
}

/// A reading of some job, in short.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingRow {
    /// The job.
    pub job: String,
    /// The reading's number in its job.
    pub id: ReadingId,
    /// Where the reading was taken.
    pub spot: String,
    /// The stage it belongs to.
    pub stage: String,
    /// The value, in `unit`.
    pub value: f64,
    /// The unit of `value` and `u`.
    pub unit: String,
    /// Standard uncertainty; `None` where nothing is known.
    pub u: Option<f64>,
    /// The gauge that gave the value, then those that gave its parts, each once.
    pub gauges: Vec<String>,
    /// Which repeat of the whole set-up, counted from 1.
    pub round: Option<u32>,
    /// When it was kept.
    pub at: Timestamp,
    /// Whether it counts.
    pub standing: ReadingStanding,
    /// Whether its gauge failed a check later.
    pub marked: bool,
}

impl ReadingRow {
    /// A reading of a job, in short.
    #[must_use]
    pub fn of(job: &str, reading: &KeptReading) -> Self {
        let mut gauges: Vec<String> = Vec::new();
        let parts = reading.parts.iter().filter_map(|part| part.gauge.as_ref());
        for gauge in reading.gauge.iter().chain(parts) {
            if !gauges.contains(gauge) {
                gauges.push(gauge.clone());
            }
        }
        Self {
            job: job.to_owned(),
            id: reading.id,
            spot: reading.spot.clone(),
            stage: reading.stage.clone(),
            value: reading.value,
            unit: reading.unit.clone(),
            u: reading.u,
            gauges,
            round: reading.round,
            at: reading.at,
            standing: ReadingStanding::from(&reading.state),
            marked: reading.marked.is_some(),
        }
    }

    /// Every reading of a job.
    #[must_use]
    pub fn all_of(view: &JobView) -> Vec<Self> {
        view.readings()
            .map(|reading| ReadingRow::of(view.name(), reading))
            .collect()
    }
}

/// Which readings are sought: those that meet every condition given.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ReadingQuery {
    /// Readings of this job.
    pub job: Option<String>,
    /// At this spot or below it: `chamber` finds `chamber/3`, and `chamber/1` finds no
    /// `chamber/10`.
    pub spot: Option<String>,
    /// Readings from this gauge, wholly or in part.
    pub gauge: Option<String>,
    /// Kept at this time or later.
    pub from: Option<Timestamp>,
    /// Kept before this time.
    pub until: Option<Timestamp>,
    /// Also readings that do not count.
    pub all: bool,
}

impl ReadingQuery {
    /// Whether the query asks for this reading.
    #[must_use]
    pub fn matches(&self, row: &ReadingRow) -> bool {
        let below = |spot: &String| {
            let rest = row.spot.strip_prefix(spot.trim_end_matches('/'));
            rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
        };
        self.job.as_ref().is_none_or(|job| *job == row.job)
            && self.spot.as_ref().is_none_or(below)
            && self
                .gauge
                .as_ref()
                .is_none_or(|gauge| row.gauges.contains(gauge))
            && self.from.is_none_or(|from| row.at >= from)
            && self.until.is_none_or(|until| row.at < until)
            && (self.all || row.standing.is_live())
    }
}

/// Puts found rows in the order that every index promises.
pub(crate) fn in_order(mut rows: Vec<ReadingRow>) -> Vec<ReadingRow> {
    rows.sort_by(|a, b| (a.at, &a.job, a.id).cmp(&(b.at, &b.job, b.id)));
    rows
}
