//! The one way to a job's journal, for station and requests alike.
//!
//! A daemon holds the data folder's lock as long as it runs, and keeps each job open once somebody
//! has asked for it. A single command holds the lock only while it changes something. Neither the
//! station nor a request needs to know which of the two the process is.

mod engine_file;
mod records;
#[cfg(test)]
mod stepped;

use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, channel};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use benchhand_wire::{Reason, Refusal};
use serde_json::Value;

use super::damaged_jobs::DamagedJobs;
use super::digest::DIGESTS;
use super::inputs::usable;
use super::open_jobs::OpenJobs;
use super::refusals::{of_job, of_store};
use super::words::index_notice;
use crate::clock::Clock;
use crate::store::error::StoreError;
use crate::store::fact::{Fact, ReadingId};
use crate::store::index::{EngineRow, GaugeInJob, ReadingQuery, ReadingRow};
use crate::store::job::{Ack, Job, JobOpening, NewJob};
use crate::store::journal::AcceptedDamage;
use crate::store::layout::Layout;
use crate::store::lists::Lists;
use crate::store::summary::JobList;
use crate::store::view::JobView;
use crate::store::watch::{Finding, Rests, Watch};
use crate::store::{Access, Store};
use benchhand_files::Files;

/// Reads and writes jobs in one data folder.
pub struct Keeper {
    data: PathBuf,
    files: Arc<dyn Files>,
    clock: Arc<dyn Clock>,
    held: Option<Held>,
    told: OnceLock<Box<ToldOfKept>>,
}

/// Is told the name of a job after a fact was kept there.
type ToldOfKept = dyn Fn(&str) + Send + Sync;

/// What a daemon holds while it runs. The lists, the watch and the jobs end before the store.
struct Held {
    lists: Lists,
    _watch: Option<Watch>,
    findings: Mutex<Receiver<Finding>>,
    damaged: Arc<DamagedJobs>,
    jobs: OpenJobs,
    store: Store,
}

impl std::fmt::Debug for Keeper {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let mut keeper = f.debug_struct("Keeper");
        keeper.field("data", &self.data).finish_non_exhaustive()
    }
}

impl Keeper {
    /// For a single command: the lock is taken only while something changes.
    pub fn passing(data: PathBuf, files: Arc<dyn Files>, clock: Arc<dyn Clock>) -> Keeper {
        Keeper {
            data,
            files,
            clock,
            held: None,
            told: OnceLock::new(),
        }
    }

    /// For a daemon: takes the lock and holds it.
    ///
    /// # Errors
    /// Where another process holds the lock, or the disk refuses.
    pub fn holding(
        data: PathBuf,
        files: Arc<dyn Files>,
        clock: Arc<dyn Clock>,
    ) -> Result<Keeper, Refusal> {
        let mut keeper = Keeper::passing(data, files, clock);
        let store = keeper.open(Access::write("serve"))?;
        let lists = store.lists().map_err(|e| of_store(&e))?;
        let (tell, findings) = channel();
        let damaged = Arc::new(DamagedJobs::default());
        let known = Arc::clone(&damaged);
        let watch = Watch::start(store.reader().clone(), Rests::default(), move |finding| {
            known.take_in(&finding);
            // The receiver may be gone already when the daemon stops.
            let _ = tell.send(finding);
        });
        keeper.hold(store, lists, damaged, (Some(watch), findings));
        Ok(keeper)
    }

    fn hold(
        &mut self,
        store: Store,
        lists: Lists,
        damaged: Arc<DamagedJobs>,
        (watch, findings): (Option<Watch>, Receiver<Finding>),
    ) {
        self.held = Some(Held {
            lists,
            _watch: watch,
            findings: Mutex::new(findings),
            damaged,
            jobs: OpenJobs::new(Arc::clone(&self.clock)),
            store,
        });
    }

    /// Where everything lies.
    pub fn layout(&self) -> Layout {
        Layout::new(&self.data)
    }

    /// The file layer.
    pub fn files(&self) -> &dyn Files {
        &*self.files
    }

    /// The clock that stamps facts.
    pub fn clock(&self) -> &Arc<dyn Clock> {
        &self.clock
    }

    /// Keeps a fact in a job's journal.
    ///
    /// # Errors
    /// Where the job is not there, the fact does not fit, or the disk refuses. Then nothing is
    /// kept.
    pub fn append(&self, job: &str, fact: Fact, key: Option<&str>) -> Result<Ack, Refusal> {
        self.append_with(job, key, |_| Ok(fact.clone()))
    }

    /// Keeps the fact that `make` makes of the job as it stands. `make` may be called again where
    /// the job has to be opened first.
    ///
    /// # Errors
    /// As for [`Keeper::append`], or where `make` refuses.
    pub fn append_with(
        &self,
        name: &str,
        key: Option<&str>,
        make: impl Fn(&Job) -> Result<Fact, Refusal>,
    ) -> Result<Ack, Refusal> {
        let ack = match &self.held {
            Some(held) => held.jobs.append_with(&held.store, name, key, make),
            None => self.with_job(name, |job| {
                job.append(make(job)?, key).map_err(|e| of_job(&e))
            }),
        };
        ack.inspect(|ack| {
            self.tell_lists(name, &ack.touched);
            self.tell_kept(name);
        })
    }

    /// Tells the index. Nobody waits for the index, and nothing rests on it.
    pub(crate) fn tell_lists(&self, job: &str, touched: &[ReadingId]) {
        if let Some(held) = &self.held {
            let tell = |view: &JobView| held.lists.changed(view, touched);
            held.jobs.latest(job, tell);
        }
    }

    /// The jobs, one line each; with a query only the jobs that have such a reading.
    ///
    /// # Errors
    /// Where the folder of the jobs cannot be listed.
    pub fn jobs(&self, query: Option<&ReadingQuery>) -> Result<JobList, Refusal> {
        let mut jobs = self.over_all(Lists::jobs, Store::jobs)?;
        if let Some(query) = query {
            let rows = self.search(query)?;
            let having: BTreeSet<String> = rows.into_iter().map(|row| row.job).collect();
            jobs.jobs.retain(|job| having.contains(&job.name));
        }
        if let Some(held) = &self.held {
            held.damaged.name_in(&mut jobs);
        }
        Ok(jobs)
    }

    /// The readings of all jobs that a query asks for, in the order in which they were kept.
    ///
    /// # Errors
    /// Where the folder of the jobs cannot be listed.
    pub fn search(&self, query: &ReadingQuery) -> Result<Vec<ReadingRow>, Refusal> {
        self.over_all(|lists| lists.search(query), |store| store.search(query))
    }

    /// What every gauge, or the one of this name, measured in each job.
    ///
    /// # Errors
    /// Where the folder of the jobs cannot be listed.
    pub fn gauge_uses(&self, name: Option<&str>) -> Result<Vec<GaugeInJob>, Refusal> {
        self.over_all(
            |lists| lists.gauge_uses(name),
            |store| store.reader().gauge_uses(name),
        )
    }

    /// Every job with its engine, and with its figures where they have been made.
    ///
    /// # Errors
    /// As [`Keeper::search`].
    pub fn engines(&self) -> Result<Vec<EngineRow>, Refusal> {
        self.over_all(Lists::engines, |store| store.reader().engines())
    }

    /// The figures of a job, made anew from its journal and held for the next request.
    ///
    /// # Errors
    /// Where the job is not there or cannot be read.
    pub fn figures(&self, job: &str) -> Result<Value, Refusal> {
        let made = self.with_store(|store| {
            let figures = store.reader().figures(job);
            figures.map_err(|e| of_store(&e))
        });
        let (hash, figures) = made?;
        if let Some(held) = &self.held {
            held.lists.hold_figures(job, hash, figures.clone());
        }
        Ok(figures)
    }

    /// Asks the index where there is one, and otherwise the journals.
    fn over_all<T>(
        &self,
        lists: impl FnOnce(&Lists) -> Result<T, StoreError>,
        store: impl FnOnce(&Store) -> Result<T, StoreError>,
    ) -> Result<T, Refusal> {
        let answer = match &self.held {
            Some(held) => lists(&held.lists),
            None => store(&self.open(Access::Read)?),
        };
        answer.map_err(|e| of_store(&e))
    }

    /// What the index and the slow check of the journals have found, in words, each finding once.
    pub fn notices(&self) -> Vec<String> {
        let Some(held) = &self.held else {
            return Vec::new();
        };
        let mut words: Vec<String> = held.lists.take_notices().iter().map(index_notice).collect();
        let findings = held.findings.lock().unwrap_or_else(PoisonError::into_inner);
        words.extend(findings.try_iter().filter_map(|finding| match finding {
            Finding::Sound { .. } => None,
            Finding::Wrong { job, error } => Some(format!("the journal of {job}: {error}")),
        }));
        words
    }

    /// Works on a job that is open for writing.
    ///
    /// # Errors
    /// Where the job cannot be opened for writing, or `work` refuses.
    pub fn with_job<T>(
        &self,
        name: &str,
        work: impl FnOnce(&mut Job) -> Result<T, Refusal>,
    ) -> Result<T, Refusal> {
        let Some(held) = &self.held else {
            let store = self.open(Access::write(format!("a change to {name}")))?;
            let (mut job, _) = store.job(name).map_err(|e| of_store(&e))?;
            return work(&mut job);
        };
        let done = held.jobs.with_job(&held.store, name, work);
        self.tell_kept(name);
        done
    }

    /// A job as it stands, and what was found when it was opened. Of a damaged record everything
    /// that can be read is shown, and the damage is among what was found.
    ///
    /// # Errors
    /// Where the job is not there or cannot be read.
    pub fn view(&self, name: &str) -> Result<(JobView, JobOpening), Refusal> {
        let Some(held) = &self.held else {
            let store = self.open(Access::Read)?;
            return store.view(name).map_err(|e| of_store(&e));
        };
        match held.jobs.view(&held.store, name) {
            Err(refusal) if refusal.reason == Reason::Damaged => {
                held.damaged.add(name, refusal.found);
                held.store.view(name).map_err(|e| of_store(&e))
            }
            Ok(found) => {
                held.damaged.sound(name);
                Ok(found)
            }
            other => other,
        }
    }

    /// Records the damage of a job as accepted, with the reason. The job goes on without what is
    /// missing.
    ///
    /// # Errors
    /// Where the job is not there, its record is another job's or empty, or the disk refuses.
    pub fn accept_damage(&self, name: &str, reason: &str) -> Result<AcceptedDamage, Refusal> {
        let accepted = self.writing(&format!("accepting damage of {name}"), |store| {
            store.accept_damage(name, reason).map_err(|e| of_store(&e))
        })?;
        if let Some(held) = &self.held {
            held.damaged.sound(name);
        }
        Ok(accepted)
    }

    /// Looks at a job as it stands.
    ///
    /// # Errors
    /// Where the job is not there or cannot be read.
    pub fn look<T>(&self, name: &str, look: impl FnOnce(&JobView) -> T) -> Result<T, Refusal> {
        self.view(name).map(|(view, _)| look(&view))
    }

    /// Opens a new job.
    ///
    /// # Errors
    /// Where the name cannot be used or is taken, or the disk refuses.
    pub fn create(&self, new: NewJob) -> Result<JobView, Refusal> {
        let name = new.name.clone();
        let Some(held) = &self.held else {
            let store = self.open(Access::write(format!("opening job {name}")))?;
            let (job, _) = store.create_job(new).map_err(|e| of_store(&e))?;
            return Ok(job.view().clone());
        };
        let view = held.jobs.create(&held.store, new)?;
        self.tell_lists(&name, &[]);
        Ok(view)
    }

    /// Calls `work` with the store, for what reads many jobs at once.
    ///
    /// # Errors
    /// Where the store cannot be opened, or `work` refuses.
    pub fn with_store<T>(
        &self,
        work: impl FnOnce(&Store) -> Result<T, Refusal>,
    ) -> Result<T, Refusal> {
        match &self.held {
            Some(held) => work(&held.store),
            None => work(&self.open(Access::Read)?),
        }
    }

    /// Calls `work` under the data folder's lock, for changes outside a job's journal.
    ///
    /// # Errors
    /// Where another process holds the lock, or `work` refuses.
    pub fn writing<T>(
        &self,
        what: &str,
        work: impl FnOnce(&Store) -> Result<T, Refusal>,
    ) -> Result<T, Refusal> {
        match &self.held {
            Some(held) => work(&held.store),
            None => work(&self.open(Access::write(what))?),
        }
    }

    /// Notes in every open job's journal that the work was stopped in good order.
    pub fn stop(&self) -> Vec<Refusal> {
        let Some(held) = &self.held else {
            return Vec::new();
        };
        held.jobs.stop()
    }

    /// How many jobs a daemon has open.
    #[cfg(test)]
    pub(crate) fn open_jobs(&self) -> usize {
        self.held.as_ref().map_or(0, |held| held.jobs.count())
    }

    /// Looks at a job if a daemon has it open.
    #[cfg(test)]
    pub(crate) fn with_open_job<T>(&self, name: &str, look: impl FnOnce(&Job) -> T) -> Option<T> {
        self.held.as_ref()?.jobs.if_open(name, look)
    }

    fn open(&self, access: Access) -> Result<Store, Refusal> {
        let (files, clock) = (Arc::clone(&self.files), Arc::clone(&self.clock));
        let store = Store::open(&self.data, files, clock, access).map_err(|e| of_store(&e))?;
        Ok(store.with_engine_check(usable).with_digests(DIGESTS))
    }
}
