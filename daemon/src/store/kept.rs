//! A reading of a view, made from the fact that states it, and back.

use jiff::Timestamp;

use crate::store::fact::{Reading, ReadingId};
use crate::store::kept_reading::ReadingPlace;
use crate::store::reading::WindowSample;
use crate::store::view::{KeptReading, ReadingState};

/// How long a window is, in seconds.
fn seconds_of(window: &[WindowSample]) -> Option<f64> {
    let (first, last) = (window.first()?, window.last()?);
    Some(last.0.saturating_sub(first.0) as f64 / 1e6)
}

impl KeptReading {
    /// Whether the value, or any part of it, came from this gauge.
    #[must_use]
    pub fn rests_on(&self, gauge: &str) -> bool {
        self.gauge.as_deref() == Some(gauge)
            || self
                .parts
                .iter()
                .any(|part| part.gauge.as_deref() == Some(gauge))
    }

    /// The reading `said` in the fact of this number and time; `stage` is the job's present stage.
    pub(crate) fn new(
        (id, at): (ReadingId, Timestamp),
        said: Reading,
        state: ReadingState,
        stage: &str,
    ) -> KeptReading {
        KeptReading {
            place: ReadingPlace::default(),
            id,
            // Known where the reading is taken in among the others.
            number: 0,
            station: "".into(),
            spot: said.spot,
            stage: said.stage.unwrap_or_else(|| stage.to_owned()),
            opened_in: 0,
            value: said.value,
            unit: said.unit,
            raw: said.raw,
            raw_unit: said.raw_unit,
            u: said.u,
            gauge: said.gauge,
            state,
            at,
            round: said.round,
            n: said.n,
            sd: said.sd,
            window_s: seconds_of(&said.window),
            mode: said.mode,
            source: said.source,
            note: said.note,
            by: said.by,
            parts: said.parts,
            labels: said.labels,
            stream: said.stream,
            supersedes: said.supersedes,
            moves: Vec::new(),
            voids: Vec::new(),
            marked: None,
        }
    }
}

impl From<&KeptReading> for Reading {
    /// The reading as it could be stated again; the samples of its window stay with the first line.
    fn from(kept: &KeptReading) -> Reading {
        Reading {
            raw: kept.raw,
            raw_unit: kept.raw_unit.clone(),
            u: kept.u,
            gauge: kept.gauge.clone(),
            n: kept.n,
            sd: kept.sd,
            round: kept.round,
            mode: kept.mode,
            stream: kept.stream.clone(),
            stage: Some(kept.stage.clone()),
            parts: kept.parts.clone(),
            labels: kept.labels.clone(),
            note: kept.note.clone(),
            by: kept.by.clone(),
            ..Reading::new(
                kept.spot.clone(),
                kept.value,
                kept.unit.clone(),
                kept.source,
            )
        }
    }
}
