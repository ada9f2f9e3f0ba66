//! Dates each frame by the time at which it can have arrived on its line.
//!
//! Neither a USB adapter nor a pseudo-terminal reports when a byte came in. Only bounds are known.
//! A byte that is read now came before now, after the line was last found empty, and no faster
//! than the line carries bytes. Example: a busy machine holds the reader up for half a second, and
//! the reader then finds five frames of a gauge that sends ten a second. If all five carried the
//! time of the read, a pour, a turning point or a mean would be computed from what the machine
//! did, not from what the gauge did. The rules:
//!
//! 1. A byte with others behind it in the same read came earlier than they did, by the time that
//!    they take on the line. No byte is dated before a byte that came before it.
//! 2. A gauge that sends by itself keeps its period. The period is learned from frames that came
//!    one by one while the reader was not held up. It is used only if it was even. Frames that are
//!    found together are dated one period apart from the last frame, if their number fits the time
//!    that has passed.
//! 3. A single late frame is moved back towards the time at which it was due, but not before the
//!    line was last found empty. So a gauge that was late itself is believed.
//! 4. If the number of frames does not fit, frames were lost or the gauge paused. The frames are
//!    then placed as late as the bounds allow, one period apart, because an earlier time would be
//!    invented.
//! 5. An answer came after its question was sent. An answer that was read late is placed at the
//!    gauge's usual delay after the question, within the bounds.
//! 6. If no period and no usual delay is known, the latest possible time is used.
//!
//! The bounds hold however the reader is held up, if the line was read once more and found empty
//! after the time that is given as the latest ([`TimedRead::by_us`]).

use std::collections::VecDeque;
use std::num::NonZeroU64;

use crate::serial_settings::SerialSettings;

/// A frame that comes later than it was due by this much was read late. Adapters gather bytes for
/// up to 16 ms (common practice, no source), so a smaller delay is taken as it was read.
const LATE_US: u64 = 15_000;
/// If two reads of the line lie further apart than this, the reader was held up, and nothing is
/// learned from what it then found. The port reads every 40 ms, and knows only when a read that
/// found nothing began.
const HELD_UP_US: u64 = 100_000;
/// Number of intervals that are remembered, and the number that suffices.
const REMEMBERED: usize = 15;
const ENOUGH: usize = 5;

/// The bounds on the times of the bytes of one read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct TimedRead {
    /// The line was last known to be empty at this time. The bytes came later.
    pub(crate) after_us: u64,
    /// All of the bytes were there at this time.
    pub(crate) by_us: u64,
    /// Number of bytes.
    pub(crate) bytes: usize,
}

/// The arrivals on one line, in microseconds of its port's clock.
#[derive(Debug)]
pub(crate) struct Arrivals {
    byte_us: u64,
    /// No later byte is dated before this time.
    floor_us: u64,
    asked_us: Option<u64>,
    delay: Usual,
    /// Time of the last frame of a gauge that sends by itself.
    last_us: Option<u64>,
    /// Time at which that frame was read, if it came alone.
    alone_us: Option<u64>,
    period: Usual,
}

impl Arrivals {
    /// A line that was opened at this time and has carried nothing yet.
    pub(crate) fn new(line: &SerialSettings, opened_us: u64) -> Self {
        Self {
            byte_us: line.byte_us(),
            floor_us: opened_us,
            asked_us: None,
            delay: Usual::default(),
            last_us: None,
            alone_us: None,
            period: Usual::default(),
        }
    }

    /// Notes that an event with this time was handed on. No later event gets an earlier time.
    pub(crate) fn told(&mut self, at_us: u64) {
        self.floor_us = self.floor_us.max(at_us);
    }

    /// Notes that a question had been sent by this time.
    pub(crate) fn asked(&mut self, at_us: u64) {
        self.told(at_us);
        self.asked_us = Some(at_us);
    }

    /// The latest time at which byte number `end` of the read can have come. For an answer, the
    /// gauge's usual delay decides within that bound.
    pub(crate) fn byte(&self, read: TimedRead, end: usize) -> u64 {
        let latest = self.latest(read, end);
        let (Some(asked_us), Some(delay_us)) = (self.asked_us, self.delay.known()) else {
            return latest;
        };
        let whole = self.latest(read, read.bytes);
        let usual = asked_us.saturating_add(delay_us);
        if whole <= usual.saturating_add(LATE_US) {
            return latest;
        }
        // The last byte comes at the usual delay. Each byte before it is earlier by the line's
        // pace.
        let least = asked_us.saturating_add(self.line_us(count(read.bytes)));
        let by_us = usual.max(least).max(read.after_us).min(whole);
        self.latest(TimedRead { by_us, ..read }, end)
    }

    /// The times of the frames of a read, in order. `ends` counts the bytes up to the end of each
    /// frame. Learns the period or the delay from them.
    pub(crate) fn frames(&mut self, read: TimedRead, ends: &[usize]) -> Vec<u64> {
        let Some(&last) = ends.last() else {
            return Vec::new();
        };
        let sound = read.by_us.saturating_sub(read.after_us) <= HELD_UP_US;
        let times: Vec<u64> = if let Some(asked_us) = self.asked_us {
            let times = ends.iter().map(|end| self.byte(read, *end)).collect();
            let delay_us = self.latest(read, last).saturating_sub(asked_us);
            if sound {
                self.delay.learn(delay_us);
            }
            (self.asked_us, self.last_us, self.alone_us) = (None, None, None);
            times
        } else {
            let times = self.streamed(read, ends);
            let alone = (sound && ends.len() == 1).then(|| self.latest(read, last));
            if let (Some(before), Some(now)) = (self.alone_us, alone) {
                self.period.learn(now.saturating_sub(before));
            }
            (self.last_us, self.alone_us) = (times.last().copied(), alone);
            times
        };
        self.told(times.last().copied().unwrap_or(0));
        times
    }

    /// The time that this many bytes take on the line.
    fn line_us(&self, bytes: u64) -> u64 {
        self.byte_us.saturating_mul(bytes)
    }

    /// The latest time that the line's pace allows.
    fn latest(&self, read: TimedRead, end: usize) -> u64 {
        let behind = count(read.bytes.saturating_sub(end));
        let latest = read.by_us.saturating_sub(self.line_us(behind));
        latest.max(self.floor_us)
    }

    fn streamed(&self, read: TimedRead, ends: &[usize]) -> Vec<u64> {
        let latest: Vec<u64> = ends.iter().map(|end| self.latest(read, *end)).collect();
        let (Some(last_us), Some(period_us)) = (self.last_us, self.period.known()) else {
            return latest;
        };
        let Some(frames) = NonZeroU64::new(count(ends.len())) else {
            return latest;
        };
        let periods_us = |frames: u64| period_us.saturating_mul(frames);
        let end_us = latest.last().copied().unwrap_or(last_us);
        let due_us = last_us.saturating_add(periods_us(frames.get()));
        let fits = end_us
            <= due_us
                .saturating_add(period_us)
                .saturating_add(period_us / 4);
        let due = |number: u64| match () {
            // The frame is nearer to the last one than usual, so the last one was read late.
            () if due_us >= end_us => {
                let passed_us = end_us.saturating_sub(last_us);
                last_us.saturating_add(passed_us.saturating_mul(number) / frames)
            }
            () if fits => last_us.saturating_add(periods_us(number)),
            () => end_us.saturating_sub(periods_us(frames.get().saturating_sub(number))),
        };
        if let [latest] = latest[..] {
            let read_late = fits && latest > due_us.saturating_add(LATE_US);
            let moved = due_us.max(read.after_us).min(latest);
            return vec![if read_late { moved } else { latest }];
        }
        let mut before = self.floor_us;
        let placed = (1..).zip(&latest).map(|(number, latest)| {
            before = due(number).clamp(before, (*latest).max(before));
            before
        });
        placed.collect()
    }
}

fn count(bytes: usize) -> u64 {
    u64::try_from(bytes).unwrap_or(u64::MAX)
}

/// The usual length of an interval: the median of the last ones, if they are even.
#[derive(Debug, Default)]
struct Usual {
    recent: VecDeque<u64>,
}

impl Usual {
    fn learn(&mut self, interval_us: u64) {
        if self.recent.len() == REMEMBERED {
            self.recent.pop_front();
        }
        self.recent.push_back(interval_us);
    }

    /// `None` if too few intervals are known, or if fewer than half of them lie within a fifth of
    /// the median or within the time that adapters gather bytes.
    fn known(&self) -> Option<u64> {
        if self.recent.len() < ENOUGH {
            return None;
        }
        let mut sorted: Vec<u64> = self.recent.iter().copied().collect();
        sorted.sort_unstable();
        let last = sorted.len().saturating_sub(1);
        let at = |quarter: usize| sorted.get(last.saturating_mul(quarter) / 4).copied();
        let (low, median, high) = (at(1)?, at(2)?, at(3)?);
        let even = high.saturating_sub(low) <= (median / 5).max(LATE_US / 2);
        (even && median > 0).then_some(median)
    }
}

#[cfg(test)]
#[path = "arrival_tests.rs"]
mod tests;
