//! The index on disk. The only file that names the database crate.
//!
//! One tree, its keys told apart by their first byte: a job's line (`j`), a reading's row (`r`),
//! and for each row where it can be found by spot (`s`) and by gauge (`g`). Every change of a
//! job is one batch, so that its line and its rows are of the same moment. Nothing is flushed
//! but at the end: whatever is lost with the power is built again.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::thread::sleep;
use std::time::{Duration, Instant};

use serde::de::DeserializeOwned;
use sled::{Batch, Db, IVec};

use super::rows::{Index, IndexError, Query, Row, in_order};
use crate::store::fact::ReadingId;
use crate::store::summary::JobSummary;

/// The layout of the keys and values; another one found on disk is no index of ours.
const LAYOUT: &[u8] = b"1";
const LAYOUT_KEY: &[u8] = b"layout";

/// What the database may hold in memory, in bytes; by itself it would take a gigabyte.
const CACHE: u64 = 8 * 1024 * 1024;

/// How long to wait for the folder's lock. The database lets go of it on threads of its own
/// after it was dropped, and a process that is being started holds a copy until it runs.
const LOCK_WAIT: Duration = Duration::from_secs(3);

const JOB: u8 = b'j';
const ROW: u8 = b'r';
const SPOT: u8 = b's';
const GAUGE: u8 = b'g';

/// An index on disk.
#[derive(Debug)]
pub struct SledIndex {
    db: Db,
}

impl SledIndex {
    /// Opens the index in a folder, or begins one there.
    ///
    /// # Errors
    /// When the folder holds anything that is no index of this layout, when something else has
    /// it open for longer than a moment, or when the disk refuses; the database's panics on
    /// damaged files become errors too.
    pub fn open(dir: &Path) -> Result<Self, IndexError> {
        guarded(|| {
            let config = sled::Config::new()
                .path(dir)
                .cache_capacity(CACHE)
                .flush_every_ms(None);
            let db = once_unlocked(&config)?;
            match db.get(LAYOUT_KEY)? {
                None if db.is_empty() => drop(db.insert(LAYOUT_KEY, LAYOUT)?),
                Some(found) if found == LAYOUT => {}
                _ => return Ok(Err(IndexError("it has another layout".to_owned()))),
            }
            Ok(Ok(Self { db }))
        })?
    }

    fn row(&self, job: &str, id: ReadingId) -> Result<Option<Row>, IndexError> {
        guarded(|| self.db.get(row_key(job, id)))?
            .map(|value| decoded(&value))
            .transpose()
    }

    fn rows_under(&self, prefix: &[u8]) -> Result<Vec<Row>, IndexError> {
        let values = guarded(|| {
            self.db
                .scan_prefix(prefix)
                .values()
                .collect::<Result<Vec<_>, _>>()
        })?;
        values.iter().map(|value| decoded(value)).collect()
    }

    /// The rows that an entry by spot or gauge leads to.
    fn rows_found(&self, prefix: &[u8]) -> Result<Vec<Row>, IndexError> {
        let keys = guarded(|| {
            self.db
                .scan_prefix(prefix)
                .values()
                .collect::<Result<Vec<_>, _>>()
        })?;
        let rows = keys.iter().map(|key: &IVec| {
            let value = guarded(|| self.db.get(key))?;
            decoded(&value.ok_or_else(|| IndexError("an entry leads nowhere".to_owned()))?)
        });
        rows.collect()
    }

    fn apply(&self, batch: Batch) -> Result<(), IndexError> {
        guarded(|| self.db.apply_batch(batch))
    }

    fn replace_rows(&self, batch: &mut Batch, rows: &[Row]) -> Result<(), IndexError> {
        for row in rows {
            if let Some(old) = self.row(&row.job, row.id)? {
                remove(batch, &old);
            }
            insert(batch, row)?;
        }
        Ok(())
    }
}

impl Index for SledIndex {
    fn put(&mut self, summary: &JobSummary, rows: &[Row]) -> Result<(), IndexError> {
        let mut batch = Batch::default();
        for old in self.rows_under(&rows_key(&summary.name))? {
            remove(&mut batch, &old);
        }
        for row in rows {
            insert(&mut batch, row)?;
        }
        batch.insert(job_key(&summary.name), encoded(summary)?);
        self.apply(batch)
    }

    fn update(&mut self, summary: &JobSummary, rows: &[Row]) -> Result<(), IndexError> {
        let mut batch = Batch::default();
        self.replace_rows(&mut batch, rows)?;
        batch.insert(job_key(&summary.name), encoded(summary)?);
        self.apply(batch)
    }

    fn forget(&mut self, job: &str) -> Result<(), IndexError> {
        let mut batch = Batch::default();
        for old in self.rows_under(&rows_key(job))? {
            remove(&mut batch, &old);
        }
        batch.remove(job_key(job));
        self.apply(batch)
    }

    fn jobs(&self) -> Result<Vec<JobSummary>, IndexError> {
        let values = guarded(|| {
            self.db
                .scan_prefix([JOB])
                .values()
                .collect::<Result<Vec<_>, _>>()
        })?;
        values.iter().map(|value| decoded(value)).collect()
    }

    fn search(&self, query: &Query) -> Result<Vec<Row>, IndexError> {
        let rows = match (&query.job, &query.spot, &query.gauge) {
            (Some(job), ..) => self.rows_under(&rows_key(job))?,
            (None, Some(spot), _) => self.rows_found(&prefix(SPOT, spot.trim_end_matches('/')))?,
            (None, None, Some(gauge)) => self.rows_found(&ended(prefix(GAUGE, gauge)))?,
            (None, None, None) => self.rows_under(&[ROW])?,
        };
        Ok(in_order(
            rows.into_iter().filter(|row| query.matches(row)).collect(),
        ))
    }
}

impl Drop for SledIndex {
    fn drop(&mut self) {
        // Whatever is not on the disk is built again from the journals.
        let _ = guarded(|| self.db.flush());
    }
}

/// Opens the database, waiting for a lock that is about to be let go.
fn once_unlocked(config: &sled::Config) -> sled::Result<Db> {
    let began = Instant::now();
    loop {
        match config.open() {
            Err(error) if is_locked(&error) && began.elapsed() < LOCK_WAIT => {
                sleep(Duration::from_millis(5));
            }
            answer => return answer,
        }
    }
}

/// The database tells a held lock from the other failures in words only.
fn is_locked(error: &sled::Error) -> bool {
    matches!(error, sled::Error::Io(error) if error.to_string().contains("acquire lock"))
}

/// Runs a call of the database so that its panics are errors like its other failures.
fn guarded<T>(call: impl FnOnce() -> sled::Result<T>) -> Result<T, IndexError> {
    match catch_unwind(AssertUnwindSafe(call)) {
        Ok(answer) => answer.map_err(|error| IndexError(error.to_string())),
        Err(_) => Err(IndexError("the database gave up".to_owned())),
    }
}

fn insert(batch: &mut Batch, row: &Row) -> Result<(), IndexError> {
    let key = row_key(&row.job, row.id);
    for found_by in finders(row) {
        batch.insert(found_by, key.as_slice());
    }
    batch.insert(key, encoded(row)?);
    Ok(())
}

fn remove(batch: &mut Batch, row: &Row) {
    for found_by in finders(row) {
        batch.remove(found_by);
    }
    batch.remove(row_key(&row.job, row.id));
}

fn finders(row: &Row) -> Vec<Vec<u8>> {
    let tail = row_key(&row.job, row.id);
    let key = |kind: u8, word: &str| {
        let mut key = ended(prefix(kind, word));
        key.extend_from_slice(&tail);
        key
    };
    let mut finders = vec![key(SPOT, &row.spot)];
    finders.extend(row.gauges.iter().map(|gauge| key(GAUGE, gauge)));
    finders
}

fn prefix(kind: u8, word: &str) -> Vec<u8> {
    let mut key = vec![kind];
    key.extend_from_slice(word.as_bytes());
    key
}

/// Names, spots and gauges hold no zero byte, so one ends them.
fn ended(mut key: Vec<u8>) -> Vec<u8> {
    key.push(0);
    key
}

fn job_key(job: &str) -> Vec<u8> {
    prefix(JOB, job)
}

fn rows_key(job: &str) -> Vec<u8> {
    ended(prefix(ROW, job))
}

fn row_key(job: &str, id: ReadingId) -> Vec<u8> {
    let mut key = rows_key(job);
    key.extend_from_slice(&id.to_be_bytes());
    key
}

fn encoded(value: &impl serde::Serialize) -> Result<Vec<u8>, IndexError> {
    serde_json::to_vec(value).map_err(|error| IndexError(error.to_string()))
}

fn decoded<T: DeserializeOwned>(value: &[u8]) -> Result<T, IndexError> {
    serde_json::from_slice(value).map_err(|error| IndexError(error.to_string()))
}
