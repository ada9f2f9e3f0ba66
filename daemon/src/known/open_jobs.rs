//! The jobs that a daemon has open, each behind a lock of its own.
//!
//! Whoever works on a job waits for nobody who works on another, and whoever looks at a job waits
//! for nobody at all: what is looked at is the job as of its last acknowledged fact. A job that
//! nobody asked for in a while is closed, so that a daemon that runs for a season does not hold
//! every job of the season.

mod closing;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use benchhand_wire::Refusal;

use super::refusals::{of_job, of_store};
use crate::clock::Clock;
use crate::store::Store;
use crate::store::fact::Fact;
use crate::store::job::{Ack, Job, JobError, JobOpening, NewJob, WritingPlace};
use crate::store::view::JobView;

/// A job that nobody asked for in so long is closed, microseconds. Opening a job of some thousand
/// readings again takes less than anybody notices.
const IDLE_US: u64 = 15 * 60 * 1_000_000;

/// How often idle jobs are looked for, microseconds.
const LOOKED_FOR_US: u64 = 60 * 1_000_000;

/// The open jobs.
pub(super) struct OpenJobs {
    clock: Arc<dyn Clock>,
    /// Held only to find a job, never while one is opened, written or closed.
    by_name: Mutex<BTreeMap<String, Arc<JobSlot>>>,
    looked_us: AtomicU64,
}

/// One job, opened by the first who works on it.
#[derive(Default)]
struct JobSlot {
    /// Held while the journal is written, and taken before the job.
    writing: Mutex<()>,
    job: Mutex<Option<Job>>,
    shown: Mutex<Option<ShownJob>>,
    used_us: AtomicU64,
}

/// A job as of its last acknowledged fact.
struct ShownJob {
    view: JobView,
    opening: JobOpening,
}

impl OpenJobs {
    /// None yet.
    pub(super) fn new(clock: Arc<dyn Clock>) -> OpenJobs {
        OpenJobs {
            clock,
            by_name: Mutex::default(),
            looked_us: AtomicU64::new(0),
        }
    }

    /// Works on a job, opened if need be.
    ///
    /// # Errors
    /// Where the job cannot be opened for writing, or `work` refuses.
    pub(super) fn with_job<T>(
        &self,
        store: &Store,
        name: &str,
        work: impl FnOnce(&mut Job) -> Result<T, Refusal>,
    ) -> Result<T, Refusal> {
        let slot = self.slot(name);
        let done = slot.work(|job| match job {
            Some(job) => Ok(work(job)),
            none => {
                let (opened, opening) = store.job(name).map_err(|e| of_store(&e))?;
                slot.show(&opened, Some(opening));
                Ok(work(none.insert(opened)))
            }
        });
        self.forget_unopened(name, slot);
        done?
    }

    /// Keeps the fact that `make` makes of the job as it stands, with what is in line before it.
    /// Writers that come while the disk is syncing share the next sync.
    ///
    /// # Errors
    /// Where the job cannot be opened for writing, `make` refuses, or the fact is not kept.
    pub(super) fn append_with(
        &self,
        store: &Store,
        name: &str,
        key: Option<&str>,
        make: impl Fn(&Job) -> Result<Fact, Refusal>,
    ) -> Result<Ack, Refusal> {
        let slot = self.slot(name);
        let in_line = match &mut *locked(&slot.job) {
            Some(job) => match job.put_in_line(make(job)?, key) {
                Ok(in_line) => Some(in_line),
                Err(JobError::Writing) => None,
                Err(error) => return Err(of_job(&error)),
            },
            None => None,
        };
        match in_line {
            Some((ack, place)) => slot.written(place).map(|()| ack),
            // The job is not open yet, or the request repeats one that is being written.
            None => {
                drop(slot);
                self.with_job(store, name, |job| {
                    job.append(make(job)?, key).map_err(|e| of_job(&e))
                })
            }
        }
    }

    /// A job as of its last acknowledged fact, and what was found when it was opened.
    ///
    /// # Errors
    /// Where the job cannot be opened.
    pub(super) fn view(&self, store: &Store, name: &str) -> Result<(JobView, JobOpening), Refusal> {
        let shown = |slot: &JobSlot| {
            let shown = locked(&slot.shown);
            let shown = shown.as_ref();
            shown.map(|shown| (shown.view.clone(), shown.opening.clone()))
        };
        if let Some(shown) = shown(&self.slot(name)) {
            return Ok(shown);
        }
        self.with_job(store, name, |job| Ok(job.view().clone()))
            .map(|view| shown(&self.slot(name)).unwrap_or((view, JobOpening::default())))
    }

    /// Looks at an open job as of its last acknowledged fact. Of several who look, each sees what
    /// those before saw, or more.
    pub(super) fn latest(&self, name: &str, look: impl FnOnce(&JobView)) {
        let slot = locked(&self.by_name).get(name).cloned();
        if let Some(slot) = slot
            && let Some(shown) = &*locked(&slot.shown)
        {
            look(&shown.view);
        }
    }

    /// Looks at a job if it is open.
    pub(super) fn if_open<T>(&self, name: &str, look: impl FnOnce(&Job) -> T) -> Option<T> {
        let slot = locked(&self.by_name).get(name).cloned()?;
        let job = locked(&slot.job);
        job.as_ref().map(look)
    }

    /// Works on what is on the disk of a job that is not open, or on the open job, while nobody opens
    /// or closes it.
    ///
    /// # Errors
    /// As `work`.
    pub(super) fn with_either<T>(
        &self,
        name: &str,
        work: impl FnOnce(Option<&mut Job>) -> Result<T, Refusal>,
    ) -> Result<T, Refusal> {
        let slot = self.slot(name);
        let done = slot.work(|job| work(job.as_mut()));
        self.forget_unopened(name, slot);
        done
    }

    /// Closes every job; the next who asks opens it anew.
    pub(super) fn close_all(&self) {
        let slots: Vec<_> = locked(&self.by_name).values().cloned().collect();
        for slot in slots {
            slot.work(|job| *job = None);
            *locked(&slot.shown) = None;
        }
    }

    /// Opens a new job.
    ///
    /// # Errors
    /// Where the name cannot be used or is taken, or the disk refuses.
    pub(super) fn create(&self, store: &Store, new: NewJob) -> Result<JobView, Refusal> {
        let name = new.name.clone();
        let slot = self.slot(&name);
        let created = slot.work(|job| {
            let (created, opening) = store.create_job(new).map_err(|e| of_store(&e))?;
            slot.show(&created, Some(opening));
            Ok(job.insert(created).view().clone())
        });
        self.forget_unopened(&name, slot);
        created
    }

    /// Notes in every open job's journal that the work was stopped in good order.
    pub(super) fn stop(&self) -> Vec<Refusal> {
        let slots: Vec<_> = locked(&self.by_name).values().cloned().collect();
        let refused = slots.iter().filter_map(|slot| slot.stop().err());
        refused.collect()
    }

    /// How many jobs are open.
    #[cfg(test)]
    pub(super) fn count(&self) -> usize {
        locked(&self.by_name).len()
    }

    fn slot(&self, name: &str) -> Arc<JobSlot> {
        let now = self.clock.now_us();
        self.close_idle(now);
        let mut by_name = locked(&self.by_name);
        let slot = match by_name.get(name) {
            Some(slot) => Arc::clone(slot),
            None => {
                let slot = Arc::new(JobSlot::default());
                by_name.insert(name.to_owned(), Arc::clone(&slot));
                slot
            }
        };
        slot.used_us.store(now, Ordering::Relaxed);
        slot
    }

    /// Names that cannot be opened are not remembered.
    fn forget_unopened(&self, name: &str, slot: Arc<JobSlot>) {
        let mut by_name = locked(&self.by_name);
        // The map and this caller: nobody else is about to open it.
        if Arc::strong_count(&slot) == 2 && slot.is_closed() {
            by_name.remove(name);
        }
    }

    /// Closes the jobs that nobody asked for in a while, except where a route stands.
    fn close_idle(&self, now: u64) {
        let looked = self.looked_us.load(Ordering::Relaxed);
        if now.saturating_sub(looked) < LOOKED_FOR_US {
            return;
        }
        self.looked_us.store(now, Ordering::Relaxed);
        let idle = |slot: &JobSlot| {
            let used = slot.used_us.load(Ordering::Relaxed);
            now.saturating_sub(used) >= IDLE_US && !slot.has_route()
        };
        let mut closing: Vec<(String, Arc<JobSlot>)> = Vec::new();
        for (name, slot) in &*locked(&self.by_name) {
            if idle(slot) {
                closing.push((name.clone(), Arc::clone(slot)));
            }
        }
        for (name, slot) in closing {
            // A job that cannot be written any more is closed all the same; opening it tells why.
            let _ = slot.stop();
            let mut by_name = locked(&self.by_name);
            // The map and this caller: nobody asked for it meanwhile. The journal's file is closed
            // before anybody can open it again.
            if Arc::strong_count(&slot) == 2 && idle(&slot) {
                by_name.remove(&name);
                drop(slot);
            }
        }
    }
}

impl JobSlot {
    /// Works on the job, and shows it as it stands afterwards.
    fn work<T>(&self, work: impl FnOnce(&mut Option<Job>) -> T) -> T {
        let _writing = locked(&self.writing);
        let mut job = locked(&self.job);
        let done = work(&mut job);
        self.show_or_close(&mut job);
        done
    }

    /// Shows the job as it stands. One whose journal something else wrote to is closed: the next
    /// request opens what is there by then.
    fn show_or_close(&self, job: &mut Option<Job>) {
        match job {
            Some(open) if open.is_foreign() => {
                *job = None;
                *locked(&self.shown) = None;
            }
            Some(open) => self.show(open, None),
            None => {}
        }
    }

    /// Waits until it is known whether the fact at a place in line was kept. Whoever comes first
    /// writes all that is in line; whoever puts a fact in line meanwhile is written next.
    fn written(&self, place: WritingPlace) -> Result<(), Refusal> {
        let _writing = locked(&self.writing);
        loop {
            let mut batch = match &mut *locked(&self.job) {
                Some(job) => match job.outcome(place) {
                    Some(outcome) => return outcome.map_err(|e| of_job(&e)),
                    None => job.take_batch().map_err(|e| of_job(&e))?,
                },
                None => return Err(of_job(&JobError::Writing)),
            };
            batch.write();
            let mut job = locked(&self.job);
            if let Some(open) = &mut *job {
                open.take_back(batch);
                // Whoever waits for this batch is told before the job is closed.
                if let Some(outcome) = open.outcome(place) {
                    self.show_or_close(&mut job);
                    return outcome.map_err(|e| of_job(&e));
                }
                self.show(open, None);
            }
        }
    }

    fn show(&self, job: &Job, opening: Option<JobOpening>) {
        let mut shown = locked(&self.shown);
        let before = shown.take().map(|shown| shown.opening);
        *shown = Some(ShownJob {
            view: job.kept().clone(),
            opening: opening.or(before).unwrap_or_default(),
        });
    }

    fn stop(&self) -> Result<(), Refusal> {
        self.work(|job| match job {
            Some(job) if !job.view().stopped_clean() => {
                let kept = job.append(Fact::Stop {}, None);
                kept.map(drop).map_err(|e| of_job(&e))
            }
            _ => Ok(()),
        })
    }

    fn is_closed(&self) -> bool {
        locked(&self.shown).is_none()
    }

    fn has_route(&self) -> bool {
        let shown = locked(&self.shown);
        shown
            .as_ref()
            .is_some_and(|shown| shown.view.route().is_some())
    }
}

/// Locks; a panic while a job was open leaves its journal sound: each line is written as a whole.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
