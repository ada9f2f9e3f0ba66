//! What the daemons inside a test's process say, for the message of a test that fails.

use std::collections::VecDeque;
use std::io::{self, Write};
use std::sync::{Mutex, PoisonError};

/// How many lines are held.
const HELD: usize = 200;

/// What was said last, one line each.
static LOG: Mutex<VecDeque<String>> = Mutex::new(VecDeque::new());

/// Takes in a line of the log.
struct Heard;

impl Write for Heard {
    fn write(&mut self, line: &[u8]) -> io::Result<usize> {
        let mut log = LOG.lock().unwrap_or_else(PoisonError::into_inner);
        if log.len() == HELD {
            log.pop_front();
        }
        log.push_back(String::from_utf8_lossy(line).into_owned());
        Ok(line.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// Takes in the log of every daemon of this process from now on.
///
/// # Panics
/// Where something takes it in already.
pub fn listen() {
    tracing_subscriber::fmt()
        .with_ansi(false)
        .with_writer(|| Heard)
        .init();
}

/// What was said last of a job, or of no job.
pub fn said_of(job: &str) -> String {
    let log = LOG.lock().unwrap_or_else(PoisonError::into_inner);
    let of = |line: &&String| line.contains(job) || !line.contains("job=");
    log.iter().filter(of).map(String::as_str).collect()
}
