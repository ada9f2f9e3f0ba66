//! How far a port is, for whoever drives its clock: time goes on when all of a moment is done.

use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

/// What a port has done since it was started. Its counts outlive the line's loss.
#[derive(Debug, Default)]
pub struct Progress {
    open: AtomicBool,
    consumed: AtomicU64,
    sent: AtomicU64,
    done_us: AtomicU64,
    due_us: AtomicU64,
}

impl Progress {
    /// Whether its line is open.
    #[must_use]
    pub fn is_open(&self) -> bool {
        self.open.load(Ordering::Acquire)
    }

    /// Bytes that were read, decoded and handed on.
    #[must_use]
    pub fn consumed(&self) -> u64 {
        self.consumed.load(Ordering::Acquire)
    }

    /// Bytes that were sent.
    #[must_use]
    pub fn sent(&self) -> u64 {
        self.sent.load(Ordering::Acquire)
    }

    /// The time up to which all was sent that was due, with every byte that was consumed taken
    /// into account, in microseconds of its clock; 0 where it is in the midst of something.
    #[must_use]
    pub fn done_us(&self) -> u64 {
        self.done_us.load(Ordering::Acquire)
    }

    /// When it has something to do next by itself, valid with [`Progress::done_us`];
    /// `u64::MAX` where it listens until bytes come.
    #[must_use]
    pub fn due_us(&self) -> u64 {
        self.due_us.load(Ordering::Acquire)
    }

    pub(super) fn opens(&self) {
        self.open.store(true, Ordering::Release);
    }

    pub(super) fn closes(&self) {
        self.open.store(false, Ordering::Release);
    }

    pub(super) fn sends(&self, bytes: usize) {
        let bytes = u64::try_from(bytes).unwrap_or(0);
        self.sent.fetch_add(bytes, Ordering::AcqRel);
    }

    pub(super) fn consumes(&self, bytes: usize) {
        if bytes > 0 {
            self.done_us.store(0, Ordering::Release);
            let bytes = u64::try_from(bytes).unwrap_or(0);
            self.consumed.fetch_add(bytes, Ordering::AcqRel);
        }
    }

    pub(super) fn is_done(&self, at_us: u64, due_us: u64) {
        self.due_us.store(due_us, Ordering::Release);
        self.done_us.store(at_us, Ordering::Release);
    }
}
