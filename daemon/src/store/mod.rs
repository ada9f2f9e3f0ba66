//! Facts are kept for good, and folded into a view of each job.
//!
//! The store knows files, lines and hashes. Bytes of gauges, capture, figures and callers are
//! deliberately not known here.

mod access;
pub mod anchor;
pub mod archive;
pub mod backup;
mod changed;
pub mod checked;
mod copied;
mod cut;
pub mod engine_base;
pub mod error;
pub mod fact;
mod fact_text;
mod failed_check;
mod figuring;
mod fits;
pub mod fold;
pub mod followed;
pub mod following;
pub mod gauge_record;
pub mod gauges;
mod held_journal;
pub mod index;
pub mod job;
pub mod job_engine;
mod job_error;
mod job_own_lines;
pub mod job_stations;
mod job_take_in;
mod job_writing;
pub mod joined;
pub mod journal;
mod journal_error;
mod journal_places;
mod kept;
pub mod kept_reading;
mod keys;
pub mod layout;
pub mod line;
mod line_envelope;
pub mod lists;
pub mod lock;
mod made;
mod many;
mod merge;
mod merge_stages;
pub mod merged;
pub mod misfit;
pub mod name;
mod naming;
pub mod notice;
pub mod ordered;
pub mod other_journals;
pub mod part;
pub mod parting;
mod parting_lines;
mod parting_steps;
mod private;
pub mod reader;
pub mod reading;
mod readings;
pub mod records;
pub mod route_facts;
mod scan;
pub mod session;
pub mod since;
pub mod so_far;
pub mod stages;
pub mod stamped;
pub mod standing;
pub mod station;
pub mod station_fault;
pub mod streams;
pub mod summary;
mod taking_lines;
mod typed_line;
mod union;
mod union_told;
pub mod view;
mod view_made;
mod view_orders;
mod view_readings;
mod view_stages;
pub mod watch;
mod writing;

#[cfg(test)]
mod tests;

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use crate::clock::Clock;
use crate::store::error::StoreError;
use crate::store::index::{Digests, ReadingQuery, ReadingRow};
use crate::store::job::{EngineCheck, Job, JobOpening, NewJob};
use crate::store::journal::{AcceptedDamage, Verified};
use crate::store::journal_places::JournalPlaces;
use crate::store::layout::Layout;
use crate::store::lists::Lists;
use crate::store::lock::{Holder, Lock};
use crate::store::name::check_name;
use crate::store::reader::Reader;
use crate::store::station::JobId;
use crate::store::summary::JobList;
use crate::store::view::JobView;
use benchhand_files::Files;

pub use access::{Access, WAIT_FOR_LOCK};

/// A data folder.
pub struct Store {
    reader: Reader,
    clock: Arc<dyn Clock>,
    check: Box<EngineCheck>,
    lock: Option<Lock>,
    making: Mutex<()>,
    /// The names of jobs by their identity, as far as somebody asked.
    identities: Mutex<BTreeMap<JobId, String>>,
    places: Arc<JournalPlaces>,
}

impl std::fmt::Debug for Store {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Store")
            .field("reader", &self.reader)
            .field("lock", &self.lock)
            .finish()
    }
}

impl Store {
    /// Opens a data folder. For writing, a missing folder is created, and its lock is held until
    /// the store is dropped.
    ///
    /// # Errors
    /// When another process writes, or the disk refuses.
    pub fn open(
        dir: impl Into<PathBuf>,
        files: Arc<dyn Files>,
        clock: Arc<dyn Clock>,
        access: Access,
    ) -> Result<Self, StoreError> {
        let layout = Layout::new(dir);
        let lock = match access {
            Access::Read => None,
            Access::Write { what, wait } => {
                files.create_dir(layout.root())?;
                // Before the lock: who could open it could hold it.
                private::keep_to_owner(&*files, &layout);
                let holder = Holder {
                    pid: std::process::id(),
                    what,
                    since: clock.now_utc(),
                };
                let lock = lock::take(&*files, &layout, &holder, wait)?;
                for folder in [
                    layout.jobs(),
                    layout.gauges(),
                    layout.profiles(),
                    layout.routes(),
                ] {
                    files.create_dir(&folder)?;
                }
                job::remove_unfinished(&*files, &layout);
                parting_steps::finish(&*files, &layout)?;
                Some(lock)
            }
        };
        Ok(Self {
            reader: Reader::new(layout, files),
            clock,
            check: Box::new(|_| Ok(())),
            lock,
            making: Mutex::default(),
            identities: Mutex::default(),
            places: Arc::default(),
        })
    }

    /// Lets `check` decide whether an engine file can be used before it is loaded.
    #[must_use]
    pub fn with_engine_check(
        mut self,
        check: impl Fn(&str) -> Result<(), String> + Send + Sync + 'static,
    ) -> Self {
        self.check = Box::new(check);
        self
    }

    /// Lets the index hold the digests that `digests` makes of engines and jobs.
    #[must_use]
    pub fn with_digests(mut self, digests: Digests) -> Self {
        self.reader = self.reader.with_digests(digests);
        self
    }

    /// Where everything lies.
    #[must_use]
    pub fn layout(&self) -> &Layout {
        self.reader.layout()
    }

    /// The file layer that the store keeps everything through.
    #[must_use]
    pub fn files(&self) -> &Arc<dyn Files> {
        self.reader.files()
    }

    /// Creates a job; it exists whole or not at all. A request that is repeated under the same key
    /// finds the job that it created.
    ///
    /// # Errors
    /// When the name cannot be one or is taken, or the engine file cannot be used.
    pub fn create_job(&self, new: NewJob) -> Result<(Job, JobOpening), StoreError> {
        self.may_write()?;
        check_name("job", &new.name)?;
        let name = new.name.clone();
        let _making = self.making();
        if let Err(taken) = self.free(&name) {
            let same =
                matches!(&taken, StoreError::JobExists { existing, .. } if *existing == name);
            return match same && self.was_created_by(&new)? {
                true => self.job(&name),
                false => Err(taken),
            };
        }
        (self.check)(&new.engine).map_err(StoreError::Engine)?;
        Job::create(
            self.reader.files(),
            &self.clock,
            &self.layout().job(&name),
            new,
        )?;
        self.job(&name)
    }

    /// Refuses a name that a job has already.
    pub(crate) fn free(&self, name: &str) -> Result<(), StoreError> {
        let same = |there: &String| there.eq_ignore_ascii_case(name);
        let name = name.to_owned();
        match self.job_names()?.into_iter().find(same) {
            Some(existing) => Err(StoreError::JobExists { name, existing }),
            None => Ok(()),
        }
    }

    /// Held while a job comes into the folder: two that come at once share no unfinished folder.
    pub(crate) fn making(&self) -> MutexGuard<'_, ()> {
        self.making.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The job that was noted under an identity, if it is still there.
    fn known_job(&self, job: &JobId) -> Option<String> {
        let known = self.identities.lock();
        let known = known.unwrap_or_else(PoisonError::into_inner);
        let name = known.get(job)?;
        let there = self.files().list(&self.layout().job(name)).is_ok();
        there.then(|| name.clone())
    }

    fn note_job(&self, job: JobId, name: &str) {
        let known = self.identities.lock();
        let mut known = known.unwrap_or_else(PoisonError::into_inner);
        known.insert(job, name.to_owned());
    }

    fn was_created_by(&self, new: &NewJob) -> Result<bool, StoreError> {
        if new.key.is_none() {
            return Ok(false);
        }
        let entries = self.entries(&new.name)?;
        Ok(entries.first().is_some_and(|first| first.key == new.key))
    }

    /// Opens a job for writing, and returns what was found.
    ///
    /// # Errors
    /// When there is no such job, its record is damaged, or the disk refuses.
    pub fn job(&self, name: &str) -> Result<(Job, JobOpening), StoreError> {
        self.may_write()?;
        let dir = self.reader.job_dir(name)?;
        self.reader.has_engine(&dir)?;
        let files = self.reader.files();
        let (mut job, opening) = Job::open(files, &self.clock, &dir, &*self.check)?;
        job.know_places(&self.places);
        Ok((job, opening))
    }

    /// Records the damage of a job as accepted, with the reason: lines that cannot be read, and an
    /// end that is missing. The job can be written to again without those facts.
    /// # Errors
    /// When there is no such job, its record is another job's or empty, or the disk refuses.
    pub fn accept_damage(&self, name: &str, reason: &str) -> Result<AcceptedDamage, StoreError> {
        self.may_write()?;
        let dir = self.reader.job_dir(name)?;
        Ok(Job::accept_damage(
            self.reader.files(),
            &self.clock,
            &dir,
            reason,
        )?)
    }

    /// The reading half of the store, which needs no lock. It can be cloned and passed on.
    #[must_use]
    pub fn reader(&self) -> &Reader {
        &self.reader
    }

    /// As [`Reader::view`].
    ///
    /// # Errors
    /// As there.
    pub fn view(&self, name: &str) -> Result<(JobView, JobOpening), StoreError> {
        self.reader.view(name)
    }

    /// As [`Reader::entries`].
    ///
    /// # Errors
    /// As there.
    pub fn entries(&self, name: &str) -> Result<Vec<line::JournalEntry>, StoreError> {
        self.reader.entries(name)
    }

    /// As [`Reader::verify`].
    ///
    /// # Errors
    /// As there.
    pub fn verify(&self, name: &str) -> Result<Verified, StoreError> {
        self.reader.verify(name)
    }

    /// As [`Reader::job_names`].
    ///
    /// # Errors
    /// As there.
    pub fn job_names(&self) -> Result<Vec<String>, StoreError> {
        self.reader.job_names()
    }

    /// As [`Reader::jobs`].
    ///
    /// # Errors
    /// As there.
    pub fn jobs(&self) -> Result<JobList, StoreError> {
        self.reader.jobs()
    }

    /// As [`Reader::search`].
    ///
    /// # Errors
    /// As there.
    pub fn search(&self, query: &ReadingQuery) -> Result<Vec<ReadingRow>, StoreError> {
        self.reader.search(query)
    }

    /// Begins to keep the index in step with the journals, for fast lists and searches in a process
    /// that stays. The index lies on the machine's own disk whatever the file layer is.
    /// # Errors
    /// Where the store was opened for reading: an index has one writer.
    pub fn lists(&self) -> Result<Lists, StoreError> {
        self.may_write()?;
        Ok(Lists::start(self.reader.clone()))
    }

    pub(crate) fn may_write(&self) -> Result<(), StoreError> {
        self.lock.as_ref().map(drop).ok_or(StoreError::ReadOnly)
    }
}
