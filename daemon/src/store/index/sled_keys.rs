//! The keys of the index on disk, and how many readings lie under one of them.

use super::rows::ReadingRow;
use crate::store::fact::ReadingId;

pub(super) const JOB: u8 = b'j';
pub(super) const CHECKS: u8 = b'c';
pub(super) const GAUGES: u8 = b'g';
pub(super) const FIGURES: u8 = b'f';
pub(super) const READINGS: u8 = b'r';

/// So many readings are packed into one value: enough that the words they share are stored seldom,
/// few enough that one more is quickly put to them.
pub(super) const PACKED: usize = 64;

/// Readings that are packed into one value: their key, and they themselves.
pub(super) type PackedRows = (Vec<u8>, Vec<ReadingRow>);

/// The key under which something of one kind stands for a job.
pub(super) fn key(kind: u8, job: &str) -> Vec<u8> {
    let mut key = vec![kind];
    key.extend_from_slice(job.as_bytes());
    key
}

/// The beginning of the keys of a job's readings at a spot. No name and no spot holds a zero byte,
/// so one ends each.
pub(super) fn rows_key(job: &str, spot: &str) -> Vec<u8> {
    let mut key = key(READINGS, job);
    key.push(0);
    key.extend_from_slice(spot.as_bytes());
    key
}

/// The key of packed readings: their spot, and the number of the first of them when they were first
/// packed.
pub(super) fn packed_key(job: &str, spot: &str, first: ReadingId) -> Vec<u8> {
    let mut key = rows_key(job, spot);
    key.push(0);
    key.extend_from_slice(&first.to_be_bytes());
    key
}
