//! The readings of one job at one spot as one value of the index.
//!
//! JSON: the words that the readings have in common, each once, and a row of numbers for each
//! reading. A row names a word by its place in `words`.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::rows::{IndexError, ReadingRow, ReadingStanding};
use crate::store::fact::ReadingId;

/// The numbers of the standings; [`MARKED`] is added for a marked reading.
const STANDINGS: [ReadingStanding; 4] = [
    ReadingStanding::Held,
    ReadingStanding::Final,
    ReadingStanding::Superseded,
    ReadingStanding::Voided,
];
const MARKED: u8 = 4;

#[derive(Serialize, Deserialize)]
struct Packed {
    words: Vec<String>,
    rows: Vec<PackedRow>,
}

/// Number, value, `u`, unit, stage, gauges, round, nanoseconds since 1970, standing.
type PackedRow = (
    ReadingId,
    f64,
    Option<f64>,
    usize,
    usize,
    Vec<usize>,
    Option<u32>,
    i128,
    u8,
);

/// Packs the readings of one job at one spot.
pub(super) fn pack<'a>(
    rows: impl IntoIterator<Item = &'a ReadingRow>,
) -> Result<Vec<u8>, IndexError> {
    let mut words: Vec<String> = Vec::new();
    let mut place = |word: &String| {
        let known = words.iter().position(|known| known == word);
        known.unwrap_or_else(|| {
            words.push(word.clone());
            words.len() - 1
        })
    };
    let row = |row: &ReadingRow| {
        let standing = STANDINGS.iter().position(|one| *one == row.standing);
        let standing = u8::try_from(standing.unwrap_or(0)).unwrap_or(0);
        (
            row.id,
            row.value,
            row.u,
            place(&row.unit),
            place(&row.stage),
            row.gauges.iter().map(&mut place).collect(),
            row.round,
            row.at.as_nanosecond(),
            if row.marked {
                standing + MARKED
            } else {
                standing
            },
        )
    };
    let rows = rows.into_iter().map(row).collect();
    serde_json::to_vec(&Packed { words, rows }).map_err(|error| IndexError(error.to_string()))
}

/// The readings of one job at one spot, in the order in which they were packed.
pub(super) fn unpack(job: &str, spot: &str, value: &[u8]) -> Result<Vec<ReadingRow>, IndexError> {
    let packed: Packed =
        serde_json::from_slice(value).map_err(|error| IndexError(error.to_string()))?;
    let Packed { words, rows } = packed;
    let word = |place: usize| {
        let word = words.get(place).cloned();
        word.ok_or_else(|| IndexError("a reading names a word that is not there".to_owned()))
    };
    let row = |(id, value, u, unit, stage, gauges, round, at, standing): PackedRow| {
        let at = Timestamp::from_nanosecond(at).map_err(|error| IndexError(error.to_string()))?;
        let known = STANDINGS.get(usize::from(standing % MARKED));
        Ok(ReadingRow {
            job: job.to_owned(),
            id,
            spot: spot.to_owned(),
            stage: word(stage)?,
            value,
            unit: word(unit)?,
            u,
            gauges: gauges.into_iter().map(word).collect::<Result<_, _>>()?,
            round,
            at,
            standing: known.copied().unwrap_or(ReadingStanding::Held),
            marked: standing >= MARKED,
        })
    };
    rows.into_iter().map(row).collect()
}
