//! The packed readings of a job that a change touches, while they are changed.

use std::collections::BTreeMap;

use super::packed::pack;
use super::rows::{IndexError, ReadingRow};
use super::sled_keys::{PACKED, PackedRows, packed_key};
use crate::store::fact::ReadingId;

/// Finds, of a job and a spot, the packed readings among which one of a number is, or would be.
pub(super) type FindPacked<'a> =
    &'a dyn Fn(&str, &str, ReadingId) -> Result<Option<PackedRows>, IndexError>;

/// Packed readings by their keys, as they will be.
#[derive(Default)]
pub(super) struct ChangedRows(BTreeMap<Vec<u8>, Vec<ReadingRow>>);

impl ChangedRows {
    /// Puts in a row, in the place of one with the same number.
    pub(super) fn insert(
        &mut self,
        known: FindPacked<'_>,
        job: &str,
        row: &ReadingRow,
    ) -> Result<(), IndexError> {
        let own = packed_key(job, &row.spot, row.id);
        let Some(rows) = self.of(known, job, &row.spot, row.id)? else {
            self.0.insert(own, vec![row.clone()]);
            return Ok(());
        };
        match rows.binary_search_by_key(&row.id, |row| row.id) {
            Ok(at) => {
                if let Some(before) = rows.get_mut(at) {
                    before.clone_from(row);
                }
            }
            Err(at) if at == rows.len() && at >= PACKED => {
                self.0.insert(own, vec![row.clone()]);
            }
            Err(at) => {
                rows.insert(at, row.clone());
                if rows.len() > 2 * PACKED {
                    let later = rows.split_off(PACKED);
                    let first = later.first().map_or(row.id, |row| row.id);
                    self.0.insert(packed_key(job, &row.spot, first), later);
                }
            }
        }
        Ok(())
    }

    /// Takes a row away from a spot, if it is there.
    pub(super) fn remove(
        &mut self,
        known: FindPacked<'_>,
        (job, spot, id): (&str, &str, ReadingId),
    ) -> Result<(), IndexError> {
        if let Some(rows) = self.of(known, job, spot, id)? {
            rows.retain(|row| row.id != id);
        }
        Ok(())
    }

    /// The packed readings among which one of this number at a spot is, or would be.
    fn of(
        &mut self,
        known: FindPacked<'_>,
        job: &str,
        spot: &str,
        id: ReadingId,
    ) -> Result<Option<&mut Vec<ReadingRow>>, IndexError> {
        let (first, last) = (packed_key(job, spot, 0), packed_key(job, spot, id));
        let changed = self.0.range(first..=last).next_back();
        let changed = changed.map(|(key, _)| key.clone());
        let known = known(job, spot, id)?;
        let key = match (changed, known) {
            (Some(changed), Some((known, _))) if changed >= known => changed,
            (Some(changed), None) => changed,
            (_, Some((known, rows))) => {
                self.0.insert(known.clone(), rows);
                known
            }
            (None, None) => return Ok(None),
        };
        Ok(self.0.get_mut(&key))
    }

    /// Each key with what is packed under it now; `None` where nothing is left.
    pub(super) fn packed(
        self,
    ) -> impl Iterator<Item = Result<(Vec<u8>, Option<Vec<u8>>), IndexError>> {
        self.0.into_iter().map(|(key, rows)| {
            let packed = (!rows.is_empty()).then(|| pack(&rows)).transpose()?;
            Ok((key, packed))
        })
    }
}
