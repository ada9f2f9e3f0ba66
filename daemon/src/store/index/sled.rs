//! The index on disk. The only file that names the database crate.
//!
//! There is one tree, whose keys are told apart by their first byte: a job's line with its engine
//! (`j`), the checks of its gauges (`c`), what its gauges measured (`g`), its figures (`f`), and
//! its readings at one spot (`r`), some of them packed into one value, so that a new reading costs
//! the same however many there are. What the gauges measured is put together anew when somebody
//! asks for it. Every change of a job is one batch, so its line and its readings belong to the same
//! moment. The tree is flushed only at the end: whatever is lost with the power is built again.

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::thread::sleep;
use std::time::{Duration, Instant};

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use sled::{Batch, Db, IVec};

use super::changed_rows::ChangedRows;
use super::contract::Index;
use super::digest::{EngineRow, GaugeCheck, GaugeInJob, JobEntry, gauges_of, with_checks};
use super::packed::{pack, unpack};
use super::rows::{IndexError, ReadingQuery, ReadingRow, in_order};
use super::sled_keys::{
    CHECKS, FIGURES, GAUGES, JOB, PACKED, PackedRows, key, packed_key, rows_key,
};
use crate::store::fact::ReadingId;
use crate::store::summary::JobSummary;

/// The layout of the keys and values. A folder with another layout holds no index of this program.
const LAYOUT: &[u8] = b"3";
const LAYOUT_KEY: &[u8] = b"layout";

/// The version of this program.
const PROGRAM: &str = env!("CARGO_PKG_VERSION");

/// The database's memory limit, in bytes; its own default is a gigabyte.
const CACHE: u64 = 8 * 1024 * 1024;

/// How long to wait for the folder's lock. The database releases it on threads of its own after it
/// was dropped, and a process that is being started holds a copy until it runs.
const LOCK_WAIT: Duration = Duration::from_secs(3);

/// An index on disk.
#[derive(Debug)]
pub struct SledIndex {
    db: Db,
}

/// A job's line as it is kept.
#[derive(Serialize, Deserialize)]
struct JobLine {
    summary: JobSummary,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    engine: Option<Value>,
}

/// A job's figures as they are kept.
#[derive(Serialize, Deserialize)]
struct Figures {
    /// The hash of the last line behind the figures.
    hash: String,
    /// The version of the program that made them: another version may calculate differently.
    made_by: String,
    figures: Value,
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

    /// The entries under a prefix, in the order of their keys.
    fn under(&self, prefix: &[u8]) -> Result<Vec<(IVec, IVec)>, IndexError> {
        guarded(|| self.db.scan_prefix(prefix).collect())
    }

    /// The values of one kind of key, by job.
    fn each<T: DeserializeOwned>(&self, kind: u8) -> Result<BTreeMap<String, T>, IndexError> {
        let entries = self.under(&[kind])?;
        let entries = entries
            .iter()
            .map(|(key, value)| Ok((text(key.get(1..).unwrap_or_default())?, decoded(value)?)));
        entries.collect()
    }

    /// The readings of a job at one spot or anywhere below it; all readings where `spot` is empty.
    fn rows(&self, job: &str, spot: &str) -> Result<Vec<ReadingRow>, IndexError> {
        let mut rows = Vec::new();
        for (key, value) in self.under(&rows_key(job, spot))? {
            rows.extend(unpack(job, &spot_of(job, &key)?, &value)?);
        }
        Ok(rows)
    }

    /// The packed readings of a job among which the one of this number at a spot is, or would be:
    /// their key, and they themselves. `None` where the spot has none before it.
    fn packed_at(
        &self,
        job: &str,
        spot: &str,
        id: ReadingId,
    ) -> Result<Option<PackedRows>, IndexError> {
        let (first, last) = (packed_key(job, spot, 0), packed_key(job, spot, id));
        let found = guarded(|| self.db.range(first..=last).next_back().transpose())?;
        let Some((key, value)) = found else {
            return Ok(None);
        };
        Ok(Some((key.to_vec(), unpack(job, spot, &value)?)))
    }

    /// What the gauges of a job measured: as it was put together before, or put together now.
    fn gauges_in(&self, job: &str) -> Result<Vec<GaugeInJob>, IndexError> {
        let key = key(GAUGES, job);
        if let Some(known) = guarded(|| self.db.get(&key))? {
            return decoded(&known);
        }
        let mut rows = self.rows(job, "")?;
        rows.sort_by_key(|row| row.id);
        let gauges = gauges_of(job, &rows);
        let value = encoded(&gauges)?;
        guarded(|| self.db.insert(key, value))?;
        Ok(gauges)
    }

    fn names(&self) -> Result<Vec<String>, IndexError> {
        let keys: Vec<IVec> = guarded(|| self.db.scan_prefix([JOB]).keys().collect())?;
        let name = |key: &IVec| text(key.get(1..).unwrap_or_default());
        keys.iter().map(name).collect()
    }

    /// A job's line and checks, for a batch.
    fn insert_entry(batch: &mut Batch, job: &JobEntry) -> Result<(), IndexError> {
        let name = &job.summary.name;
        let line = JobLine {
            summary: job.summary.clone(),
            engine: job.engine.clone(),
        };
        batch.insert(key(JOB, name), encoded(&line)?);
        if job.checks.is_empty() {
            batch.remove(key(CHECKS, name));
        } else {
            batch.insert(key(CHECKS, name), encoded(&job.checks)?);
        }
        Ok(())
    }

    /// The keys of all readings of a job.
    fn rows_keys(&self, job: &str) -> Result<Vec<IVec>, IndexError> {
        let all = rows_key(job, "");
        guarded(|| self.db.scan_prefix(&all).keys().collect())
    }

    fn apply(&self, batch: Batch) -> Result<(), IndexError> {
        guarded(|| self.db.apply_batch(batch))
    }
}

#[cfg(test)]
impl SledIndex {
    /// Makes it an index of another layout.
    pub(crate) fn become_layout(&self, layout: &[u8]) {
        self.db.insert(LAYOUT_KEY, layout).unwrap();
    }
}

impl Index for SledIndex {
    fn put(&mut self, job: &JobEntry, rows: &[ReadingRow]) -> Result<(), IndexError> {
        let name = &job.summary.name;
        let mut batch = Batch::default();
        for key in self.rows_keys(name)? {
            batch.remove(key);
        }
        let by_id: BTreeMap<ReadingId, &ReadingRow> =
            rows.iter().map(|row| (row.id, row)).collect();
        let mut by_spot: BTreeMap<&str, Vec<&ReadingRow>> = BTreeMap::new();
        for row in by_id.values().copied() {
            by_spot.entry(&row.spot).or_default().push(row);
        }
        for (spot, rows) in &by_spot {
            for rows in rows.chunks(PACKED) {
                let first = rows.first().map_or(0, |row| row.id);
                let packed = pack(rows.iter().copied())?;
                batch.insert(packed_key(name, spot, first), packed);
            }
        }
        let gauges = gauges_of(name, by_id.into_values());
        batch.insert(key(GAUGES, name), encoded(&gauges)?);
        Self::insert_entry(&mut batch, job)?;
        batch.remove(key(FIGURES, name));
        self.apply(batch)
    }

    fn update(
        &mut self,
        job: &JobEntry,
        rows: &[ReadingRow],
        left: &[(ReadingId, String)],
    ) -> Result<(), IndexError> {
        let name = &job.summary.name;
        let mut batch = Batch::default();
        if !rows.is_empty() {
            let mut changed = ChangedRows::default();
            let known = |job: &str, spot: &str, id| self.packed_at(job, spot, id);
            for (id, spot) in left {
                changed.remove(&known, (name, spot, *id))?;
            }
            for row in rows {
                changed.insert(&known, name, row)?;
            }
            for packed in changed.packed() {
                match packed? {
                    (key, Some(value)) => batch.insert(key, value),
                    (key, None) => batch.remove(key),
                }
            }
            batch.remove(key(GAUGES, name));
        }
        Self::insert_entry(&mut batch, job)?;
        self.apply(batch)
    }

    fn forget(&mut self, job: &str) -> Result<(), IndexError> {
        let mut batch = Batch::default();
        for key in self.rows_keys(job)? {
            batch.remove(key);
        }
        for kind in [JOB, CHECKS, GAUGES, FIGURES] {
            batch.remove(key(kind, job));
        }
        self.apply(batch)
    }

    fn hold_figures(&mut self, job: &str, hash: &str, figures: &Value) -> Result<(), IndexError> {
        let value = encoded(&Figures {
            hash: hash.to_owned(),
            made_by: PROGRAM.to_owned(),
            figures: figures.clone(),
        })?;
        guarded(|| {
            if self.db.contains_key(key(JOB, job))? {
                self.db.insert(key(FIGURES, job), value)?;
            }
            Ok(())
        })
    }

    fn jobs(&self) -> Result<Vec<JobSummary>, IndexError> {
        let lines = self.each::<JobLine>(JOB)?;
        Ok(lines.into_values().map(|line| line.summary).collect())
    }

    fn engines(&self) -> Result<Vec<EngineRow>, IndexError> {
        let mut figures = self.each::<Figures>(FIGURES)?;
        let row = |(name, JobLine { summary, engine })| {
            let figures = figures.remove(&name);
            let figures = figures.filter(|figures: &Figures| {
                figures.hash == summary.hash && figures.made_by == PROGRAM
            });
            EngineRow {
                summary,
                engine,
                figures: figures.map(|figures| figures.figures),
            }
        };
        Ok(self.each::<JobLine>(JOB)?.into_iter().map(row).collect())
    }

    fn gauge_uses(&self, name: Option<&str>) -> Result<Vec<GaugeInJob>, IndexError> {
        let checks = self.each::<Vec<GaugeCheck>>(CHECKS)?;
        let mut all = Vec::new();
        for job in self.names()? {
            let checks = checks.get(&job).map_or(&[][..], Vec::as_slice);
            all.extend(with_checks(&job, self.gauges_in(&job)?, checks, name));
        }
        Ok(all)
    }

    fn search(&self, query: &ReadingQuery) -> Result<Vec<ReadingRow>, IndexError> {
        let jobs = match &query.job {
            Some(job) => vec![job.clone()],
            None => self.names()?,
        };
        let spot = query.spot.as_deref().unwrap_or_default();
        let mut found = Vec::new();
        for job in jobs {
            let rows = self.rows(&job, spot.trim_end_matches('/'))?;
            found.extend(rows.into_iter().filter(|row| query.matches(row)));
        }
        Ok(in_order(found))
    }
}

impl Drop for SledIndex {
    fn drop(&mut self) {
        // What is not on the disk is built again from the journals.
        let _ = guarded(|| self.db.flush());
    }
}

/// Opens the database; waits for a lock that is about to be released.
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

/// The database tells a held lock from other failures only in words.
fn is_locked(error: &sled::Error) -> bool {
    matches!(error, sled::Error::Io(error) if error.to_string().contains("acquire lock"))
}

/// Runs a call of the database so that a panic becomes an error like its other failures.
fn guarded<T>(call: impl FnOnce() -> sled::Result<T>) -> Result<T, IndexError> {
    match catch_unwind(AssertUnwindSafe(call)) {
        Ok(answer) => answer.map_err(|error| IndexError(error.to_string())),
        Err(_) => Err(IndexError("the database gave up".to_owned())),
    }
}

/// The spot in the key of packed readings.
fn spot_of(job: &str, key: &[u8]) -> Result<String, IndexError> {
    let rest = key.get(rows_key(job, "").len()..).unwrap_or_default();
    text(rest.split(|byte| *byte == 0).next().unwrap_or_default())
}

fn text(bytes: &[u8]) -> Result<String, IndexError> {
    let text = std::str::from_utf8(bytes).map_err(|error| IndexError(error.to_string()))?;
    Ok(text.to_owned())
}

fn encoded(value: &impl Serialize) -> Result<Vec<u8>, IndexError> {
    serde_json::to_vec(value).map_err(|error| IndexError(error.to_string()))
}

fn decoded<T: DeserializeOwned>(value: &[u8]) -> Result<T, IndexError> {
    serde_json::from_slice(value).map_err(|error| IndexError(error.to_string()))
}
