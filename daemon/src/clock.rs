//! Where the time comes from.
//!
//! A clock stamps facts and paces a player. It deliberately takes no part in capture: timing
//! rules look at the samples' own times, never at arrival.

use std::fmt::Debug;
use std::sync::Mutex;
use std::time::Instant;

use jiff::{SignedDuration, Timestamp};

/// The time of day and the time since the clock began.
pub trait Clock: Send + Sync + Debug {
    /// The time of day, in UTC.
    fn now_utc(&self) -> Timestamp;

    /// Whole microseconds since the clock began; never goes back.
    fn now_us(&self) -> u64;
}

/// The machine's own clock.
#[derive(Debug, Clone, Copy)]
pub struct SystemClock {
    began: Instant,
}

impl SystemClock {
    /// A clock that begins now.
    #[must_use]
    pub fn new() -> Self {
        Self {
            began: Instant::now(),
        }
    }
}

impl Default for SystemClock {
    fn default() -> Self {
        Self::new()
    }
}

impl Clock for SystemClock {
    fn now_utc(&self) -> Timestamp {
        Timestamp::now()
    }

    fn now_us(&self) -> u64 {
        micros(self.began.elapsed().as_micros())
    }
}

/// A clock that runs a number of times as fast as the machine's, from a moment of one's choice.
#[derive(Debug, Clone, Copy)]
pub struct ScaledClock {
    began: Instant,
    start: Timestamp,
    times: f64,
}

impl ScaledClock {
    /// A clock that begins now, says `start`, and runs `times` as fast as the machine's.
    ///
    /// # Panics
    /// When `times` is not a finite number above 0: that is a mistake in the program.
    #[must_use]
    pub fn new(start: Timestamp, times: f64) -> Self {
        assert!(
            times.is_finite() && times > 0.0,
            "a clock cannot run {times} times as fast"
        );
        Self {
            began: Instant::now(),
            start,
            times,
        }
    }
}

impl Clock for ScaledClock {
    fn now_utc(&self) -> Timestamp {
        later(self.start, self.now_us())
    }

    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "saturates"
    )]
    fn now_us(&self) -> u64 {
        (self.began.elapsed().as_secs_f64() * self.times * 1e6) as u64
    }
}

/// A clock that stands still until somebody moves it: for playing streams and for tests.
#[derive(Debug)]
pub struct HandClock {
    start: Timestamp,
    us: Mutex<u64>,
}

impl HandClock {
    /// A clock that says `start` until it is moved.
    #[must_use]
    pub fn new(start: Timestamp) -> Self {
        Self {
            start,
            us: Mutex::new(0),
        }
    }

    /// Moves the clock on by this many microseconds.
    pub fn advance(&self, us: u64) {
        let mut now = self.lock();
        *now = now.saturating_add(us);
    }

    /// Moves the clock on to this many microseconds since it began; an earlier moment than the
    /// clock already shows changes nothing, for time never goes back.
    pub fn advance_to(&self, us: u64) {
        let mut now = self.lock();
        *now = (*now).max(us);
    }

    fn lock(&self) -> std::sync::MutexGuard<'_, u64> {
        self.us
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner)
    }
}

impl Clock for HandClock {
    fn now_utc(&self) -> Timestamp {
        later(self.start, self.now_us())
    }

    fn now_us(&self) -> u64 {
        *self.lock()
    }
}

fn later(start: Timestamp, us: u64) -> Timestamp {
    let passed = SignedDuration::from_micros(i64::try_from(us).unwrap_or(i64::MAX));
    start.saturating_add(passed).unwrap_or(Timestamp::MAX)
}

fn micros(us: u128) -> u64 {
    u64::try_from(us).unwrap_or(u64::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn noon() -> Timestamp {
        "2026-03-02T12:00:00Z".parse().unwrap()
    }

    #[test]
    fn a_hand_clock_stands_still_until_moved_and_never_goes_back() {
        let clock = HandClock::new(noon());
        assert_eq!((clock.now_us(), clock.now_utc()), (0, noon()));
        clock.advance(1_500_000);
        assert_eq!(clock.now_utc().to_string(), "2026-03-02T12:00:01.5Z");
        clock.advance_to(1_000_000);
        assert_eq!(clock.now_us(), 1_500_000);
        clock.advance_to(2_000_000);
        assert_eq!(clock.now_us(), 2_000_000);
    }

    #[test]
    fn a_scaled_clock_covers_its_factor_of_true_time() {
        let (true_time, fast) = (Instant::now(), ScaledClock::new(noon(), 1000.0));
        while fast.now_us() < 1_000_000 {
            std::hint::spin_loop();
        }
        // The scaled second lasted a true millisecond or more, and it began after `true_time`.
        assert!(true_time.elapsed().as_micros() >= 1000);
        assert!(fast.now_utc() >= "2026-03-02T12:00:01Z".parse().unwrap());
    }
}
