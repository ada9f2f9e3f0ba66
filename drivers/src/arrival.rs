//! When a frame can have arrived on its line.
//!
//! Neither a USB adapter nor a pseudo-terminal says when a byte came in. What is known is a
//! bound: a byte that is read now came no later than now, no faster than the line carries bytes,
//! and after the line was last found empty. A reader that a busy machine held up for half a
//! second finds five frames of a gauge that sends ten a second; stamped with the time of the
//! read they would be one moment, and a pour's run, a turning point or a mean over time would be
//! figured from what the machine did, not from what the gauge did. The rule:
//!
//! 1. Nothing is later than its read allows: a byte with others behind it came earlier than they
//!    by the time that they take on the line. Nothing is earlier than what came before it.
//! 2. A gauge that sends by itself keeps its period. The period is learned from frames that came
//!    one by one while the reader was not held up, and is used only where it was even. Frames that are found together and whose
//!    number fits the time that has passed get it back, counted from the last frame.
//! 3. A single frame is moved back to where it was due only as far as the line may have held it:
//!    not before the line was last found empty. So a gauge that itself was late is believed.
//! 4. Where the number of frames does not fit, frames were lost or the gauge rested. They are
//!    placed as late as they can be, a period apart: what is not known is not made up earlier.
//! 5. An answer came after its question was sent. Read late, it is placed at the gauge's usual
//!    delay behind the question, within the bounds.
//! 6. Without a period or a usual delay the latest possible time stands.
//!
//! The bounds are sound however the reader is held up, so long as the line was looked at once
//! more, and found empty, after the time that is given as the latest ([`Read::by_us`]).

use std::collections::VecDeque;

use crate::line::Line;

/// A frame that comes so much later than it was due was read late. Adapters gather bytes for up
/// to 16 ms (common practice, no source); below that a frame is taken as it was read.
const LATE_US: u64 = 15_000;
/// A longer time between two looks at the line says that the reader was held up; nothing is
/// learned from what it then found. The port looks every 40 ms, and knows of a look in vain only
/// when it began.
const HELD_UP_US: u64 = 100_000;
/// So many intervals are remembered, and so few suffice.
const REMEMBERED: usize = 15;
const ENOUGH: usize = 5;

/// What bounds the bytes of one read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Read {
    /// When the line was last known to be empty: what is read now came later.
    pub(crate) after_us: u64,
    /// When all of the bytes were there.
    pub(crate) by_us: u64,
    /// How many they are.
    pub(crate) bytes: usize,
}

/// The arrivals on one line, in microseconds of its port's clock.
#[derive(Debug)]
pub(crate) struct Arrivals {
    byte_us: u64,
    /// Nothing that comes is dated before this.
    floor_us: u64,
    asked_us: Option<u64>,
    delay: Usual,
    /// When the last frame of a gauge that sends by itself came.
    last_us: Option<u64>,
    /// The same as it was read, where it came alone.
    alone_us: Option<u64>,
    period: Usual,
}

impl Arrivals {
    /// A line that was opened at this time; nothing has come yet.
    pub(crate) fn new(line: &Line, opened_us: u64) -> Self {
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

    /// Something was told with this time: nothing that is told later is earlier.
    pub(crate) fn told(&mut self, at_us: u64) {
        self.floor_us = self.floor_us.max(at_us);
    }

    /// A question had been sent by this time.
    pub(crate) fn asked(&mut self, at_us: u64) {
        self.told(at_us);
        self.asked_us = Some(at_us);
    }

    /// When the byte came after which `end` bytes of the read were there: the latest it can have
    /// been, or for an answer its usual time.
    pub(crate) fn byte(&self, read: Read, end: usize) -> u64 {
        let latest = self.latest(read, end);
        let (Some(asked_us), Some(delay_us)) = (self.asked_us, self.delay.known()) else {
            return latest;
        };
        let whole = self.latest(read, read.bytes);
        let usual = asked_us + delay_us;
        if whole <= usual + LATE_US {
            return latest;
        }
        // The whole answer by its usual time, each byte before it by the line's pace.
        let least = asked_us + self.byte_us * count(read.bytes);
        let by_us = usual.max(least).max(read.after_us).min(whole);
        self.latest(Read { by_us, ..read }, end)
    }

    /// When the frames of a read came whose last bytes are the `ends`-th ones, in order. Learns
    /// from it.
    pub(crate) fn frames(&mut self, read: Read, ends: &[usize]) -> Vec<u64> {
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

    /// The latest that the line's pace allows.
    fn latest(&self, read: Read, end: usize) -> u64 {
        let behind = count(read.bytes.saturating_sub(end));
        let latest = read.by_us.saturating_sub(self.byte_us * behind);
        latest.max(self.floor_us)
    }

    fn streamed(&self, read: Read, ends: &[usize]) -> Vec<u64> {
        let latest: Vec<u64> = ends.iter().map(|end| self.latest(read, *end)).collect();
        let (Some(last_us), Some(period_us)) = (self.last_us, self.period.known()) else {
            return latest;
        };
        let frames = count(ends.len());
        let end_us = latest.last().copied().unwrap_or(last_us);
        let due_us = last_us + frames * period_us;
        let fits = end_us <= due_us + period_us + period_us / 4;
        let due = |number: usize| match () {
            // Nearer together than usual: the last one before them was read late.
            () if due_us >= end_us => {
                last_us + end_us.saturating_sub(last_us) * count(number) / frames
            }
            () if fits => last_us + count(number) * period_us,
            () => end_us.saturating_sub((frames - count(number)) * period_us),
        };
        if let [latest] = latest[..] {
            let read_late = fits && latest > due_us + LATE_US;
            let moved = due_us.max(read.after_us).min(latest);
            return vec![if read_late { moved } else { latest }];
        }
        let mut before = self.floor_us;
        let placed = latest.iter().enumerate().map(|(i, latest)| {
            before = due(i + 1).clamp(before, (*latest).max(before));
            before
        });
        placed.collect()
    }
}

fn count(bytes: usize) -> u64 {
    u64::try_from(bytes).unwrap_or(u64::MAX)
}

/// What an interval usually is: the median of the last ones, where they are even.
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

    /// `None` where too few are known, or half of them do not lie within a fifth of it, or
    /// within what adapters gather.
    fn known(&self) -> Option<u64> {
        if self.recent.len() < ENOUGH {
            return None;
        }
        let mut sorted: Vec<u64> = self.recent.iter().copied().collect();
        sorted.sort_unstable();
        let at = |quarter: usize| sorted[(sorted.len() - 1) * quarter / 4];
        let even = at(3) - at(1) <= (at(2) / 5).max(LATE_US / 2);
        (even && at(2) > 0).then_some(at(2))
    }
}

#[cfg(test)]
#[path = "arrival_tests.rs"]
mod tests;
