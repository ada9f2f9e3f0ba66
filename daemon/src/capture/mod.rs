//! Samples of one gauge become values worth keeping, with no key touched.
//!
//! Five small state machines, one per mode, are fed one sample at a time and answer with
//! events. They look only at the samples' own times. They deliberately know nothing of
//! clocks, ports, files, spots, routes or wording: they say that a value was taken, from
//! which samples, and what was odd about it.
//!
//! `docs/capture.md` gives the rules and every parameter with its reason.

mod along;
mod autocorr;
mod average;
mod creep;
mod drift;
mod expected;
mod extreme;
mod frozen;
mod intake;
mod keys;
mod left;
mod lift;
mod note;
mod pass;
mod passes;
mod pour;
mod press;
mod replay;
mod resting;
mod scale;
pub mod settings;
mod settle;
mod sigma;
mod still;
mod summit;
#[cfg(test)]
pub(crate) mod tests;
mod thrust;
mod turn;

pub use autocorr::mean_with_error;
pub use expected::{Expected, Fit};
pub use note::Note;
pub use replay::{Meanwhile, Replayed, Steer, replay, replay_meanwhile};
pub use settings::{
    AverageSettings, Counts, ExtremeSettings, PourKind, PourSettings, PressSettings, Settings,
    SettleSettings, Turn,
};
pub use sigma::Sigma;
pub use thrust::{ThrustDeck, ThrustError, thrust_deck};

use benchhand_drivers::{Sample, Unit};
use serde::{Deserialize, Serialize};

/// How a value is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Mode {
    /// One value each time the gauge comes to rest after it was moved.
    Settle,
    /// The difference between two rests of a burette or balance.
    Pour,
    /// The turning point of a sweep: a piston over top dead centre, a rocked bore gauge.
    Extreme,
    /// The mean over a window of a value that never rests.
    Average,
    /// One press, or one typed value, is one reading.
    Press,
}

/// A value that was taken, with the samples it stands on.
#[derive(Debug, Clone, PartialEq)]
pub struct Taken {
    /// The value, in `unit`. In a pour always the amount delivered, whichever way the burette
    /// counts.
    pub value: f64,
    /// The gauge's own unit.
    pub unit: Unit,
    /// How many samples decided.
    pub n: usize,
    /// Standard deviation of the samples that decided, about what was fitted to them, in
    /// `unit`. It says how still the gauge was; it is not the repeatability of the reading.
    pub sd: Option<f64>,
    /// Standard error of the value in `unit`, average mode only, autocorrelation respected.
    pub se: Option<f64>,
    /// Time of the last sample that decided, in microseconds since the stream began.
    pub at_us: u64,
    /// Time of the first sample that decided.
    pub from_us: u64,
    /// The samples that decided, raw: time in microseconds and value in `unit`.
    pub window: Vec<(u64, f64)>,
    /// Average mode: the channels that went along, over the same window.
    pub others: Vec<ChannelMean>,
    /// The size of one count, in `unit`.
    pub resolution: f64,
    /// Pour mode: where the level stood before and after each filling, in `unit`, as sent. A
    /// pour that needed no refill has one.
    pub fills: Vec<(f64, f64)>,
    /// Pour mode: the amount by which the value parts into two pours, at a rest about half-way
    /// through it; `None` where there was none.
    pub parts_at: Option<f64>,
    /// Pour mode: what it was expected to come to as it began, in `unit`.
    pub expected: Option<Expected>,
    /// Why a person must be asked before this value counts, where the signal alone shows it.
    pub doubt: Option<Note>,
}

impl Taken {
    /// What came first and what came then, where the value parts into two pours: as they were said,
    /// or at the rest about half-way.
    pub fn parts(&self) -> Option<(f64, f64)> {
        let first = match self.doubt {
            Some(Note::OneOrTwo { first, .. }) => Some(first),
            _ => self.parts_at,
        }?;
        Some((first, self.value - first))
    }
}

/// The mean of a channel that went along with the main one.
#[derive(Debug, Clone, PartialEq)]
pub struct ChannelMean {
    /// Which channel of the gauge.
    pub channel: u8,
    /// The mean over the main channel's window, in `unit`.
    pub value: f64,
    /// The channel's unit.
    pub unit: Unit,
    /// How many samples.
    pub n: usize,
    /// Standard deviation of the samples, in `unit`.
    pub sd: Option<f64>,
    /// Standard error of the mean, autocorrelation respected, in `unit`.
    pub se: Option<f64>,
}

/// What a capture says.
///
/// `pour` counts the readings of one capture from 0, in every mode.
#[derive(Debug, Clone, PartialEq)]
pub enum CaptureEvent {
    /// First stillness after a pour: provisional, the route may move on.
    Held {
        /// Which reading of this capture.
        pour: u32,
        /// The value.
        taken: Taken,
    },
    /// More came, or the value crept: this takes the place of what was held.
    Revised {
        /// Which reading of this capture.
        pour: u32,
        /// The value.
        taken: Taken,
    },
    /// This reading will not change any more.
    Final {
        /// Which reading of this capture.
        pour: u32,
        /// The value.
        taken: Taken,
    },
    /// A value that was held turned out to be none. The next value has the same number.
    Withdrawn {
        /// Which reading of this capture.
        pour: u32,
        /// Why it cannot stand.
        why: Note,
    },
    /// Something worth saying that is not a value.
    Note(Note),
    /// What was held is far below what was expected and has rested for long: more may come, or
    /// this is all. It may still be revised.
    Lingers {
        /// Which reading of this capture.
        pour: u32,
    },
    /// What is held has rested for as long as most pauses between drops: the last of it was
    /// probably let out. It may still be revised.
    Settled {
        /// Which reading of this capture.
        pour: u32,
    },
    /// The first movement came, and which way the scale runs is not known. Nothing is counted
    /// before [`Control::Delivered`] or [`Control::Refilled`] says it; then all that came since
    /// is counted, in its order.
    WhichWay {
        /// Where the level stood, in `unit`.
        from: f64,
        /// Where it stands, in `unit`.
        to: f64,
        /// The gauge's unit.
        unit: Unit,
    },
    /// Which way the scale runs is known now, because a person said it.
    Learned(Counts),
}

/// What the person at the bench asks of a capture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Control {
    /// Take now, if a value can be taken; a held pour becomes final.
    Take,
    /// Forget the last value and take it again under the same number.
    Again,
    /// The next delivery belongs to the reading before it: sum them.
    Add,
    /// Look away until this is pressed again.
    Hold,
    /// The first movement was a delivery: see [`CaptureEvent::WhichWay`].
    Delivered,
    /// The first movement was a refill: see [`CaptureEvent::WhichWay`].
    Refilled,
    /// What is held is more than one reading: each rest ends one.
    Split,
    /// The pour of this number, which is final, was two.
    SplitFinal(u32),
    /// A person was asked about what is held and kept it: much more is another reading.
    Kept,
    /// What has come of the present reading is forgotten; what is final stands.
    Anew,
    /// The work was broken off and is taken up: something may have come meanwhile.
    TakenUp,
    /// A person went on to something else: what is held is over.
    Over,
    /// What came since the last reading, and was not told, belongs to nothing: the next one begins
    /// where the gauge rests now.
    FromHere,
    /// The gauge was zeroed where it showed the same as before: no key of it was pressed, and 0 is
    /// what it shows where its plunger hangs.
    ZeroStands,
}

/// What the gauge is doing, as far as capture can tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Phase {
    /// Nothing is expected before the gauge is moved.
    Waiting,
    /// The value is moving and a reading is expected when it rests.
    Moving,
    /// At rest.
    Still,
    /// A pour runs.
    Delivering,
    /// The burette is being filled.
    Refilling,
    /// A pour's value is held and may yet be revised.
    Held,
    /// The vessel was lifted off, or a hand is on the pan.
    Away,
    /// Capture was told to look away, or waits for an answer.
    Paused,
}

/// What the board shows between readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Live {
    /// The last value of the main channel, as sent; in a pour the amount delivered so far.
    pub value: Option<f64>,
    /// Its unit.
    pub unit: Option<Unit>,
    /// What the gauge is doing.
    pub phase: Phase,
    /// How still the gauge is, 0 (moving) to 1 (as still as this gauge gets).
    pub stillness: f64,
    /// The gauge's noise as known now, in its unit; 0 before the first sample.
    pub sigma: f64,
}

/// One capture: fed with the samples of one gauge, in the order they came.
pub trait Capture: Send {
    /// Takes one sample of any channel.
    fn sample(&mut self, sample: &Sample, out: &mut Vec<CaptureEvent>);
    /// Obeys a control.
    fn control(&mut self, control: Control, at_us: u64, out: &mut Vec<CaptureEvent>);
    /// Samples were lost or the gauge went away: nothing from before is mixed with after.
    fn gap(&mut self, at_us: u64, out: &mut Vec<CaptureEvent>);
    /// The route or the stream ends.
    fn end(&mut self, at_us: u64, out: &mut Vec<CaptureEvent>);
    /// What the next value should be near to, in the gauge's unit. A value that is held keeps the
    /// expectation that it began with.
    fn expect(&mut self, _expected: Option<Expected>) {}
    /// What to show now.
    fn live(&self) -> Live;
    /// What was learned of the gauge's noise, to be kept for the next capture.
    fn sigma(&self) -> Sigma;
    /// The mode of this capture.
    fn mode(&self) -> Mode;
}

/// Starts a capture with what is known of this gauge's noise.
pub fn start(settings: &Settings, sigma: Sigma) -> Box<dyn Capture> {
    match settings {
        Settings::Settle(s) => Box::new(settle::Settle::new(s.clone(), sigma)),
        Settings::Pour(s) => Box::new(pour::Pour::new(s.clone(), sigma)),
        Settings::Extreme(s) => Box::new(extreme::Extreme::new(s.clone(), sigma)),
        Settings::Average(s) => Box::new(average::Average::new(s.clone(), sigma)),
        Settings::Press(s) => Box::new(press::Press::new(s.clone(), sigma)),
    }
}
