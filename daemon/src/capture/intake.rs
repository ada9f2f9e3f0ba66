//! What comes before every judge: one channel is picked, statuses are told apart from values,
//! spikes and gaps are noticed, and keys pressed on the gauge are recognised.
//!
//! The module does not know what a mode wants.

use benchhand_drivers::{Sample, Unit};

mod anew;
mod spikes;

use super::CaptureNote;
use super::keys::{Shown, key_pressed};
use super::still::{Point, seconds};

/// What a judge is fed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Fed {
    /// A value.
    Point(Point),
    /// No sample came for a while, or no value of this gauge. What follows does not continue what
    /// was before.
    Gap(CaptureNote),
    /// A status came instead of a value: beyond range, or a fault.
    Break,
    /// Something to say.
    Note(CaptureNote),
    /// A key was pressed on the gauge: what follows has another zero or sign.
    Key(CaptureNote),
}

/// Picks one channel's values out of a gauge's samples.
#[derive(Debug, Clone)]
pub(crate) struct Intake {
    channel: u8,
    gap_s: f64,
    /// Whether a single sample that stands apart is dropped.
    drops_spikes: bool,
    /// Whether spikes are looked for along an even run as well, not only at rest.
    along_runs: bool,
    /// Whether the gauge counts from a zero that is lost when the gauge is switched off.
    has_a_zero: bool,
    /// Whether its plunger hangs where it shows 0.
    hangs_at_zero: bool,
    /// What it shows with its plunger free, where it was seen to be set on its zero face from there.
    is_set_down_from: Option<f64>,
    /// The last value before a silence, until the first after it.
    before_silence: Option<f64>,
    /// How many periods that silence lasted, where the value before it still counts.
    silent_periods: f64,
    /// Samples that wait for their successors, which show whether they are spikes. One waits, or
    /// the first two while nothing is known from before.
    waiting: Vec<Point>,
    /// The last few samples let through: spikes and key presses are told from them.
    recent: Vec<Point>,
    arrivals: Vec<u64>,
    unit: Option<Unit>,
    resolution: f64,
    latest: Option<f64>,
    same: usize,
    /// The smallest step between two samples so far. Some gauges count in fives or halves of their
    /// last digit; their noise is judged by the steps they can show.
    smallest_step: f64,
    said: Option<CaptureNote>,
}

/// Switching a gauge off and on takes longer than this, s. Common practice, no source.
const SWITCHED_S: f64 = 0.3;
const RECENT: usize = 8;
const ARRIVALS: usize = 31;

impl Intake {
    pub(crate) fn new(channel: u8, gap_s: f64) -> Self {
        Self {
            channel,
            gap_s,
            drops_spikes: true,
            along_runs: false,
            has_a_zero: false,
            hangs_at_zero: false,
            is_set_down_from: None,
            before_silence: None,
            silent_periods: 0.0,
            waiting: Vec::new(),
            recent: Vec::new(),
            arrivals: Vec::new(),
            unit: None,
            resolution: 0.0,
            latest: None,
            same: 0,
            smallest_step: f64::INFINITY,
            said: None,
        }
    }

    /// For a value that surges: no sample is dropped as a spike.
    pub(crate) fn keeping_spikes(self) -> Self {
        Self {
            drops_spikes: false,
            ..self
        }
    }

    /// For a value that runs evenly for long: a spike amid a run is dropped too.
    pub(crate) fn along_runs(self) -> Self {
        Self {
            along_runs: true,
            ..self
        }
    }

    /// The plunger hangs where the gauge shows 0: a jump to 0 is then no press of the zero key.
    pub(crate) fn hangs_at_zero(&mut self) {
        self.hangs_at_zero = true;
    }

    /// Set down from there the gauge shows 0: that jump is no press of the zero key either.
    pub(crate) fn is_set_down_from(&mut self, shown: f64) {
        self.is_set_down_from = Some(shown);
    }

    /// Whether a jump to 0 turned out to be the plunger's.
    pub(crate) fn was_set_down(&self) -> bool {
        self.is_set_down_from.is_some()
    }

    /// For a gauge that counts from a zero that is lost when the gauge is switched off.
    pub(crate) fn with_a_zero(self) -> Self {
        Self {
            has_a_zero: true,
            ..self
        }
    }

    pub(crate) fn unit(&self) -> Option<Unit> {
        self.unit
    }

    /// The size of one count; 0 before the first value.
    pub(crate) fn resolution(&self) -> f64 {
        self.resolution
    }

    /// The last value that came, spikes included.
    pub(crate) fn latest(&self) -> Option<f64> {
        self.latest
    }

    /// The gauge's count: its resolution, or the larger steps that it was seen to take.
    pub(crate) fn count(&self) -> f64 {
        self.resolution.max(self.smallest_step)
    }

    /// How many equal values came in a row, up to now.
    pub(crate) fn same(&self) -> usize {
        self.same
    }

    /// The gauge's period in seconds: the median of the latest ones; 0.1 s before any is known.
    pub(crate) fn period(&self) -> f64 {
        if self.arrivals.len() < 4 {
            return 0.1;
        }
        let mut steps: Vec<f64> = self
            .arrivals
            .windows(2)
            .map(|w| seconds(w[0], w[1]))
            .collect();
        steps.sort_by(f64::total_cmp);
        match steps[steps.len() / 2] {
            median if median > 0.0 => median,
            _ => steps[steps.len() - 1],
        }
    }

    /// Takes a sample. `sigma` is the noise that spikes are told by.
    pub(crate) fn feed(&mut self, sample: &Sample, sigma: f64, out: &mut Vec<Fed>) {
        if sample.channel != self.channel {
            return;
        }
        let Some(value) = self.value_of(sample, out) else {
            return;
        };
        self.watch_resolution(sample);
        self.watch_time(sample.at_us, out);
        self.same = if self.latest == Some(value) {
            self.same + 1
        } else {
            1
        };
        let step = self.latest.map_or(0.0, |latest| (value - latest).abs());
        if step > 0.0 {
            self.smallest_step = self.smallest_step.min(step);
        }
        if let Some(lost) = self.zero_lost(value, sigma) {
            out.push(Fed::Key(lost));
        }
        self.latest = Some(value);
        let point = Point {
            at_us: sample.at_us,
            v: value,
            stable: sample.status.stable,
        };
        if self.drops_spikes {
            self.sift(point, sigma, out);
        } else {
            self.pass(point, sigma, out);
        }
    }

    /// Drops single samples that stand apart. Only a sample that stands apart waits for its
    /// successor.
    fn sift(&mut self, point: Point, sigma: f64, out: &mut Vec<Fed>) {
        let waiting = std::mem::take(&mut self.waiting);
        match (&waiting[..], self.recent.last().copied()) {
            (&[first], None) if (point.v - first.v).abs() > self.apart(sigma) => {
                return self.waiting.extend([first, point]);
            }
            (&[first, second], None) => {
                // With nothing known from before, the third sample tells which of the two stands
                // alone.
                let jump = 0.25 * (second.v - first.v).abs();
                if (point.v - second.v).abs() >= jump {
                    self.pass(first, sigma, out);
                }
                if (point.v - first.v).abs() >= jump {
                    self.pass(second, sigma, out);
                }
            }
            // The successor has shown the spike, so it does not wait itself: each would else be
            // dropped by the next, as long as the value stands still.
            (&[one], Some(_)) if self.is_spike(one, point, sigma) => {
                return self.pass(point, sigma, out);
            }
            _ => {
                for one in waiting {
                    self.pass(one, sigma, out);
                }
            }
        }
        if self.stands_apart(point, sigma) {
            self.waiting.push(point);
        } else {
            self.pass(point, sigma, out);
        }
    }

    /// Lets through the samples that still wait for a successor.
    pub(crate) fn flush(&mut self, out: &mut Vec<Fed>) {
        for point in std::mem::take(&mut self.waiting) {
            self.pass(point, f64::INFINITY, out);
        }
    }

    /// Forgets everything that would tie later samples to earlier ones.
    pub(crate) fn cut(&mut self) {
        self.waiting.clear();
        self.recent.clear();
        self.arrivals.clear();
        self.same = 0;
        self.before_silence = self.latest;
    }

    fn value_of(&mut self, sample: &Sample, out: &mut Vec<Fed>) -> Option<f64> {
        let status = &sample.status;
        let own = *self.unit.get_or_insert(sample.unit);
        let (value, note) = match sample.value.filter(|v| v.is_finite()) {
            _ if status.overrange => (None, Some(CaptureNote::Overrange)),
            _ if status.fault => (None, Some(CaptureNote::Fault)),
            _ if status.hold => (None, Some(CaptureNote::DisplayHeld)),
            // Sizes and noise are known in the gauge's first unit. Capture goes on when that unit
            // is set again.
            Some(_) if sample.unit != own => {
                let (from, to) = (own, sample.unit);
                (None, Some(CaptureNote::UnitChanged { from, to }))
            }
            value => (value, None),
        };
        if let Some(note) = note
            && self.said != Some(note)
        {
            self.flush(out);
            self.recent.clear();
            // A plunger that ran out of its travel was moved. A changed unit means no movement.
            if matches!(note, CaptureNote::UnitChanged { .. }) {
                out.push(Fed::Gap(note));
            } else {
                out.push(Fed::Note(note));
                out.push(Fed::Break);
            }
        }
        if value.is_some() || note.is_some() {
            self.said = note;
        }
        value
    }

    fn watch_resolution(&mut self, sample: &Sample) {
        self.resolution = if sample.resolution > 0.0 {
            sample.resolution
        } else {
            f64::EPSILON
        };
    }

    fn watch_time(&mut self, at_us: u64, out: &mut Vec<Fed>) {
        if let Some(&before) = self.arrivals.last() {
            let silent = seconds(before, at_us);
            // Only for a late sample is it worth finding the gauge's period.
            let late = silent > self.gap_s.min(SWITCHED_S);
            if late && silent > self.gap_s.max(4.0 * self.period()) {
                self.flush(out);
                self.cut();
                out.push(Fed::Gap(CaptureNote::Gap { seconds: silent }));
            } else if late && silent > SWITCHED_S.max(3.0 * self.period()) {
                // The silence was long enough for switching the gauge off and on.
                self.before_silence = self.latest;
                self.silent_periods = silent / self.period();
            }
        }
        if self.arrivals.len() == ARRIVALS {
            self.arrivals.remove(0);
        }
        self.arrivals.push(at_us);
    }

    fn pass(&mut self, point: Point, sigma: f64, out: &mut Vec<Fed>) {
        if self.recent.len() == RECENT {
            self.recent.remove(0);
        }
        self.recent.push(point);
        out.push(Fed::Point(point));
        let shown = self.unit.map(|unit| Shown {
            unit,
            resolution: self.resolution,
            sigma,
            hangs_at_zero: self.hangs_at_zero,
            is_set_down_from: self.is_set_down_from,
        });
        if let Some(note) = shown.and_then(|shown| key_pressed(&self.recent, &shown)) {
            self.recent.clear();
            out.push(Fed::Key(note));
        }
    }
}
