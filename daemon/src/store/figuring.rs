//! Makes the figures of the jobs one after another in the background, so that they are there when
//! somebody asks.

use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use crate::store::reader::Reader;

/// How long the thread rests for each second of work, so that measuring goes first, s.
const RESTS: u32 = 4;

/// The least rest between two jobs.
const LEAST_REST: Duration = Duration::from_millis(20);

/// A thread that makes figures until all are made, or until it is dropped.
#[derive(Debug)]
pub(crate) struct FiguresThread {
    /// Dropped to end the thread.
    stop: Option<Sender<()>>,
    thread: Option<JoinHandle<()>>,
}

impl FiguresThread {
    /// Makes the figures of every job that `lacking` names. `made` gets the job, the hash of its
    /// last line and the figures. Both run on the new thread.
    pub(crate) fn start(
        reader: Reader,
        lacking: impl FnOnce() -> Vec<String> + Send + 'static,
        made: impl Fn(&str, String, serde_json::Value) + Send + 'static,
    ) -> Self {
        let (stop, stopped) = channel();
        let run = move || {
            for job in lacking() {
                let began = Instant::now();
                // A job that cannot be read has no figures; opening the job tells why.
                if let Ok((hash, figures)) = reader.figures(&job) {
                    made(&job, hash, figures);
                }
                if ended(&stopped, LEAST_REST.max(began.elapsed() * RESTS)) {
                    return;
                }
            }
        };
        // Without a thread, figures are made when somebody asks for them.
        let thread = std::thread::Builder::new().name("figures".to_owned());
        Self {
            stop: Some(stop),
            thread: thread.spawn(run).ok(),
        }
    }
}

/// Rests, and returns whether the thread is to end.
fn ended(stopped: &Receiver<()>, rest: Duration) -> bool {
    stopped.recv_timeout(rest) != Err(RecvTimeoutError::Timeout)
}

impl Drop for FiguresThread {
    fn drop(&mut self) {
        self.stop = None;
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}
