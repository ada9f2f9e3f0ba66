//! The clock of a stream: real, scaled, or driven by a player.
//!
//! Every time in this room is in whole microseconds since some beginning, and never goes back.

use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

/// A clock.
pub trait Timebase: Send + Sync {
    /// Microseconds since the beginning.
    fn now_us(&self) -> u64;

    /// Real time to wait until `until_us`. Zero if that time has come. A driven clock gives a
    /// short time, after which to ask again.
    fn real_wait(&self, until_us: u64) -> Duration;

    /// Whether this clock stands still until the bytes of its moment were read. Then no byte is
    /// ever read late.
    fn waits_for_readers(&self) -> bool {
        false
    }
}

/// Real time, or real time that runs faster.
#[derive(Debug, Clone)]
pub struct RealTime {
    began: Instant,
    times: f64,
}

impl RealTime {
    /// A clock that begins now.
    #[must_use]
    pub fn new() -> Self {
        Self::faster(1.0)
    }

    /// A clock that begins now and runs `times` as fast as real time. A factor of 0 or below
    /// counts as 1.
    #[must_use]
    pub fn faster(times: f64) -> Self {
        let times = if times > 0.0 && times.is_finite() {
            times
        } else {
            1.0
        };
        Self {
            began: Instant::now(),
            times,
        }
    }
}

impl Default for RealTime {
    fn default() -> Self {
        Self::new()
    }
}

impl Timebase for RealTime {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "microseconds of a running process fit"
    )]
    fn now_us(&self) -> u64 {
        (self.began.elapsed().as_secs_f64() * self.times * 1e6) as u64
    }

    fn real_wait(&self, until_us: u64) -> Duration {
        let left = Duration::from_micros(until_us.saturating_sub(self.now_us()));
        left.div_f64(self.times)
    }
}

/// A clock that stands still until somebody advances it.
#[derive(Debug, Default)]
pub struct DrivenTime {
    now_us: AtomicU64,
}

impl DrivenTime {
    /// A clock that stands at 0.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Advances the clock to `to_us`. A time in the past changes nothing.
    pub fn advance_to(&self, to_us: u64) {
        self.now_us.fetch_max(to_us, Ordering::AcqRel);
    }
}

impl Timebase for DrivenTime {
    fn now_us(&self) -> u64 {
        self.now_us.load(Ordering::Acquire)
    }

    fn real_wait(&self, until_us: u64) -> Duration {
        const ASK_AGAIN: Duration = Duration::from_millis(1);
        if until_us <= self.now_us() {
            Duration::ZERO
        } else {
            ASK_AGAIN
        }
    }

    fn waits_for_readers(&self) -> bool {
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn driven_time_never_goes_back() {
        let time = DrivenTime::new();
        time.advance_to(50);
        time.advance_to(20);
        assert_eq!(time.now_us(), 50);
        assert_eq!(time.real_wait(50), Duration::ZERO);
        assert!(time.real_wait(51) > Duration::ZERO);
    }

    #[test]
    fn faster_time_waits_less() {
        let time = RealTime::faster(100.0);
        assert!(time.real_wait(10_000_000) <= Duration::from_millis(100));
        assert!(time.real_wait(10_000_000) > Duration::from_millis(50));
    }
}
