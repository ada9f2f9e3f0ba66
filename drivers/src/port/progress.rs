//! How far a port is. The driver of a driven clock advances it when the work of a moment is done.

use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

/// The work that a port has done since it was started. The counts survive the loss of the line.
#[derive(Debug, Default)]
pub struct PortProgress {
    open: AtomicBool,
    consumed: AtomicU64,
    sent: AtomicU64,
    done_us: AtomicU64,
    due_us: AtomicU64,
}

impl PortProgress {
    /// Whether the line is open.
    #[must_use]
    pub fn is_open(&self) -> bool {
        self.open.load(Ordering::Acquire)
    }

    /// Number of bytes that were read, decoded and handed on.
    #[must_use]
    pub fn consumed(&self) -> u64 {
        self.consumed.load(Ordering::Acquire)
    }

    /// Number of bytes that were sent.
    #[must_use]
    pub fn sent(&self) -> u64 {
        self.sent.load(Ordering::Acquire)
    }

    /// The time, in microseconds of the port's clock, up to which every due byte was sent and
    /// every consumed byte was taken into account. 0 while the port is in the middle of something.
    #[must_use]
    pub fn done_us(&self) -> u64 {
        self.done_us.load(Ordering::Acquire)
    }

    /// The time, in microseconds, at which the port next acts by itself. Valid together with
    /// [`PortProgress::done_us`]. `u64::MAX` if the port listens until bytes come.
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
