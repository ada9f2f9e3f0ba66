//! All jobs are closed, and none can be opened, for as long as something is changed in all of them.

use std::sync::{Mutex, MutexGuard, TryLockError};
use std::time::Duration;

use benchhand_wire::{Reason, Refusal};

use super::{JobSlot, OpenJobs, locked};
use crate::store::job::Job;

/// How often it is tried to find nobody working on any job.
const CLOSING_TRIES: u32 = 500;

/// The pause between two tries.
const CLOSING_PAUSE: Duration = Duration::from_millis(10);

/// What is held of a job while nobody may work on it.
type HeldSlot<'a> = (MutexGuard<'a, ()>, MutexGuard<'a, Option<Job>>);

impl OpenJobs {
    /// Closes every job, and works while none can be opened.
    ///
    /// # Errors
    /// Where a route stands on an open job, somebody works on a job for longer than can be waited, or
    /// as `work`.
    pub(in crate::known) fn with_none_open<T>(
        &self,
        work: impl FnOnce() -> Result<T, Refusal>,
    ) -> Result<T, Refusal> {
        // Who works on a job may ask for another one: nobody is waited for while both are held.
        for _ in 0..CLOSING_TRIES {
            let by_name = locked(&self.by_name);
            let slots: Vec<_> = by_name.values().cloned().collect();
            if let Some((name, _)) = by_name.iter().find(|(_, slot)| slot.has_route()) {
                let found = format!("a route runs on the job {name}");
                let refusal = Refusal::new(Reason::Conflict, found);
                return Err(refusal.todo("finish or end it first"));
            }
            let mut held: Vec<_> = slots.iter().map_while(|slot| slot.try_hold()).collect();
            if held.len() == slots.len() {
                for (slot, (_, job)) in slots.iter().zip(&mut held) {
                    **job = None;
                    *locked(&slot.shown) = None;
                }
                return work();
            }
            drop((held, by_name));
            std::thread::sleep(CLOSING_PAUSE);
        }
        let found = "jobs are being worked on";
        Err(Refusal::new(Reason::Conflict, found).todo("it is tried again"))
    }
}

impl JobSlot {
    /// Holds the job where nobody works on it.
    fn try_hold(&self) -> Option<HeldSlot<'_>> {
        Some((try_locked(&self.writing)?, try_locked(&self.job)?))
    }
}

/// Locks where nobody else has locked.
fn try_locked<T>(mutex: &Mutex<T>) -> Option<MutexGuard<'_, T>> {
    match mutex.try_lock() {
        Ok(guard) => Some(guard),
        Err(TryLockError::Poisoned(guard)) => Some(guard.into_inner()),
        Err(TryLockError::WouldBlock) => None,
    }
}
