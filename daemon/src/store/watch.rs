//! Checks every journal from its beginning now and then, slowly, in the background.
//!
//! A disk does not tell when it loses bits; a shop that never reads its journals learns of it years
//! later. One thread reads one journal after another, with rests between, and reports.

use std::collections::BTreeMap;
use std::sync::{Arc, Condvar, Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::Duration;

use crate::store::error::StoreError;
use crate::store::reader::Reader;

/// How long a watch rests.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rests {
    /// Between one journal and the next.
    pub between: Duration,
    /// Between one journal and the next at the first time, when nobody has looked yet.
    pub first: Duration,
    /// Before it begins from the first journal again.
    pub after_all: Duration,
}

impl Default for Rests {
    fn default() -> Self {
        Self {
            between: Duration::from_secs(5),
            first: Duration::from_millis(200),
            after_all: Duration::from_secs(6 * 3600),
        }
    }
}

/// A finding of a watch.
#[derive(Debug)]
pub enum Finding {
    /// A whole journal was read: every line is as it was written, or is accepted as damaged.
    Sound {
        /// The job.
        job: String,
        /// How many lines it has.
        lines: usize,
    },
    /// A journal was found damaged or could not be read. Told once until it changes.
    Wrong {
        /// The job.
        job: String,
        /// What is wrong.
        error: StoreError,
    },
}

/// A thread that checks journals until it is dropped.
#[derive(Debug)]
pub struct Watch {
    stop: Arc<(Mutex<bool>, Condvar)>,
    thread: Option<JoinHandle<()>>,
}

impl Watch {
    /// Begins to check the journals of a store. `tell` is called on the watch's own thread.
    #[must_use]
    pub fn start(
        reader: Reader,
        rests: Rests,
        mut tell: impl FnMut(Finding) + Send + 'static,
    ) -> Self {
        let stop = Arc::new((Mutex::new(false), Condvar::new()));
        let stopped = Arc::clone(&stop);
        let run = move || {
            let mut said = BTreeMap::new();
            let mut between = rests.first;
            loop {
                for job in reader.job_names().unwrap_or_default() {
                    check(&reader, job, &mut said, &mut tell);
                    if rest(&stopped, between) {
                        return;
                    }
                }
                between = rests.between;
                if rest(&stopped, rests.after_all) {
                    return;
                }
            }
        };
        // Without a thread nothing is watched; journals are still checked when they are opened.
        let thread = std::thread::Builder::new()
            .name("watch".to_owned())
            .spawn(run)
            .ok();
        Self { stop, thread }
    }
}

impl Drop for Watch {
    fn drop(&mut self) {
        let (stop, wake) = &*self.stop;
        *stop.lock().unwrap_or_else(PoisonError::into_inner) = true;
        wake.notify_all();
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

fn check(
    reader: &Reader,
    job: String,
    said: &mut BTreeMap<String, String>,
    tell: &mut impl FnMut(Finding),
) {
    match reader.verify(&job) {
        Ok(verified) => {
            said.remove(&job);
            tell(Finding::Sound {
                job,
                lines: verified.lines,
            });
        }
        Err(error) => {
            let words = error.to_string();
            if said.get(&job) != Some(&words) {
                said.insert(job.clone(), words);
                tell(Finding::Wrong { job, error });
            }
        }
    }
}

/// Rests, and returns whether the watch is to end.
fn rest(stopped: &(Mutex<bool>, Condvar), how_long: Duration) -> bool {
    let (stop, wake) = stopped;
    let stop = stop.lock().unwrap_or_else(PoisonError::into_inner);
    let waited = wake.wait_timeout_while(stop, how_long, |stop| !*stop);
    *waited.unwrap_or_else(PoisonError::into_inner).0
}
