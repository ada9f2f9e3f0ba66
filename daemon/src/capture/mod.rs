//! Samples of one gauge become values worth keeping, with no key touched.
//!
//! Five small state machines, one for each mode, are fed one sample at a time and answer with
//! events. They look only at the times of the samples. They deliberately know nothing of clocks,
//! ports, files, spots, routes or wording. An event says that a value was taken, from which
//! samples, and what was odd about the value.
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
mod so_far;
mod still;
mod summit;
#[cfg(test)]
pub(crate) mod tests;
mod thrust;
mod turn;

pub use autocorr::mean_with_error;
pub use expected::{ExpectedBounds, Fit};
pub use note::CaptureNote;
pub use replay::{Meanwhile, Replayed, Steer, replay, replay_meanwhile};
pub use settings::{
    AverageSettings, CaptureSettings, ExtremeSettings, PourCounts, PourKind, PourSettings,
    PressSettings, SettleSettings, TurningPoint,
};
pub use sigma::Sigma;
pub use so_far::PourSoFar;
pub use thrust::{ThrustDeck, ThrustError, thrust_deck};

use benchhand_drivers::{Sample, Unit};
use benchhand_wire::BuretteCounts;
pub use benchhand_wire::CapturePhase;
use serde::{Deserialize, Serialize};

/// How values are taken from a gauge's samples.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum CaptureMode {
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

/// A value that was taken, with the samples it was made from.
#[derive(Debug, Clone, PartialEq)]
pub struct CapturedValue {
    /// The value, in `unit`. In pour mode the amount delivered, always positive, whichever way the
    /// burette counts.
    pub value: f64,
    /// The gauge's own unit.
    pub unit: Unit,
    /// How many samples the value was made from.
    pub n: usize,
    /// Standard deviation of those samples about the curve fitted to them, in `unit`. It says how
    /// still the gauge was; it is not the repeatability of the reading.
    pub sd: Option<f64>,
    /// Average mode only: standard error of the value in `unit`, with autocorrelation taken into
    /// account.
    pub se: Option<f64>,
    /// Time of the last of those samples, in microseconds since the stream began.
    pub at_us: u64,
    /// Time of the first of those samples.
    pub from_us: u64,
    /// Those samples as sent: time in microseconds and value in `unit`.
    pub window: Vec<(u64, f64)>,
    /// Average mode: the channels beside the main one, over the same window.
    pub others: Vec<ChannelMean>,
    /// The size of one count, in `unit`.
    pub resolution: f64,
    /// Pour mode: where the level stood before and after each filling, in `unit`, as sent. A pour
    /// without a refill has one filling.
    pub fills: Vec<(f64, f64)>,
    /// Pour mode: the amount by which the value parts into two pours, at a rest about half-way
    /// through; `None` where there was no such rest.
    pub parts_at: Option<f64>,
    /// Pour mode: the amount that was expected when the pour began, in `unit`.
    pub expected: Option<ExpectedBounds>,
    /// Why a person must be asked before this value counts, where the signal alone shows a reason.
    pub doubt: Option<CaptureNote>,
    /// What a person must be asked besides: which place a value of another doubt belongs to.
    pub also: Option<CaptureNote>,
}

impl CapturedValue {
    /// The two amounts into which the value parts: the split that the doubt names, or the one at
    /// the rest about half-way.
    pub fn parts(&self) -> Option<(f64, f64)> {
        let first = match self.doubt {
            Some(CaptureNote::OneOrTwo { first, .. }) => Some(first),
            _ => self.parts_at,
        }?;
        Some((first, self.value - first))
    }
}

/// The mean of a channel that was averaged beside the main one.
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
    /// Standard error of the mean in `unit`, with autocorrelation taken into account.
    pub se: Option<f64>,
    /// Where the main channel is a test pressure: relative standard error of the mean of the flow that
    /// both make. What they do together is not in it. `None` where fewer than eight samples came in
    /// pairs, or the channel is neither a pressure nor a flow.
    pub flow_se: Option<f64>,
}

/// What a capture tells the route and the board.
///
/// `pour` is the number of the reading within one capture, from 0, in every mode.
#[derive(Debug, Clone, PartialEq)]
pub enum CaptureEvent {
    /// A pour came to rest for the first time: a provisional value, and the route may move on.
    Held {
        /// Which reading of this capture.
        pour: u32,
        /// The value.
        taken: CapturedValue,
    },
    /// More was delivered, or the value crept: this value replaces the one that was held.
    Revised {
        /// Which reading of this capture.
        pour: u32,
        /// The value.
        taken: CapturedValue,
    },
    /// This reading will not change any more.
    Final {
        /// Which reading of this capture.
        pour: u32,
        /// The value.
        taken: CapturedValue,
    },
    /// A held value turned out to be no reading. The next value gets the same number.
    Withdrawn {
        /// Which reading of this capture.
        pour: u32,
        /// Why the value cannot stand.
        why: CaptureNote,
    },
    /// Something worth saying that is not a value.
    Note(CaptureNote),
    /// The held value is far below what was expected and has rested for long. More may come, or
    /// this is all. The value may still be revised.
    Lingers {
        /// Which reading of this capture.
        pour: u32,
    },
    /// The held value has rested for as long as most pauses between drops: the pour is probably
    /// complete. The value may still be revised.
    Settled {
        /// Which reading of this capture.
        pour: u32,
    },
    /// The first movement came, and nobody knows which way the scale runs. Nothing is counted
    /// before [`CaptureControl::Delivered`] or [`CaptureControl::Refilled`] tells the direction.
    /// Then everything that came meanwhile is counted in its order.
    WhichWay {
        /// Where the level stood before, in `unit`.
        from: f64,
        /// Where the level stands now, in `unit`.
        to: f64,
        /// The gauge's unit.
        unit: Unit,
    },
    /// A person said which way the scale runs.
    Learned(BuretteCounts),
}

/// What a person at the bench, or the route, tells a capture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum CaptureControl {
    /// Take the value now, if there is one; a held pour becomes final.
    Take,
    /// Forget the last value; the next one gets its number.
    Again,
    /// The next delivery belongs to the reading before it: add the two.
    Add,
    /// Ignore all samples until this control comes again.
    Hold,
    /// The first movement was a delivery: see [`CaptureEvent::WhichWay`].
    Delivered,
    /// The first movement was a refill: see [`CaptureEvent::WhichWay`].
    Refilled,
    /// The held value is several readings: each rest ends one.
    Split,
    /// The final pour of this number was two pours.
    SplitFinal(u32),
    /// A person was asked about the held value and kept it. Much more after it is another reading.
    Kept,
    /// Forget what has come of the present reading. Final readings stand.
    Anew,
    /// The work was broken off and goes on now: some liquid may have come meanwhile.
    TakenUp,
    /// A person went on to something else: the held pour is over.
    Over,
    /// What came since the last reading belongs to no reading, unless it was told already. The next
    /// reading begins where the gauge rests now.
    FromHere,
    /// The gauge was zeroed where it already showed 0. So no key was pressed, and the plunger hangs
    /// where the gauge shows 0.
    ZeroStands,
    /// The gauge was zeroed: what follows counts from there, in the unit that it sends now.
    Zeroed,
    /// The place of the last reading is to be measured anew, although nothing was moved there.
    MeasureAnew,
}

/// What the board shows between readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CaptureStatus {
    /// The last value of the main channel, as sent; in a pour the amount delivered so far.
    pub value: Option<f64>,
    /// In a pour the amount delivered so far, 0 before it begins; `None` in other modes.
    pub delivered: Option<f64>,
    /// The unit of the value.
    pub unit: Option<Unit>,
    /// What the gauge is doing.
    pub phase: CapturePhase,
    /// How still the gauge is: 0 (moving) to 1 (as still as this gauge gets).
    pub stillness: f64,
    /// The gauge's noise as known now, in the gauge's unit; 0 before the first sample.
    pub sigma: f64,
}

/// One capture. It is fed with the samples of one gauge in the order in which they came.
pub trait Capture: Send {
    /// Takes one sample of any channel.
    fn sample(&mut self, sample: &Sample, out: &mut Vec<CaptureEvent>);
    /// Obeys a control.
    fn control(&mut self, control: CaptureControl, at_us: u64, out: &mut Vec<CaptureEvent>);
    /// Samples were lost, or the gauge went away: samples from before and after are not mixed.
    fn gap(&mut self, at_us: u64, out: &mut Vec<CaptureEvent>);
    /// The route or the stream ends.
    fn end(&mut self, at_us: u64, out: &mut Vec<CaptureEvent>);
    /// Sets what the next value should be near to, in the gauge's unit. A held value keeps the
    /// expectation with which its pour began.
    fn expect(&mut self, _expected: Option<ExpectedBounds>) {}
    /// What the present pour has come to at its last rest, where far too little has come.
    fn so_far(&self) -> Option<PourSoFar> {
        None
    }
    /// Goes on with a pour of which so much had come before the work was broken off. Only before
    /// the first sample. Returns whether the capture could.
    fn resume(&mut self, _so_far: &PourSoFar) -> bool {
        false
    }
    /// What the board shows now.
    fn live(&self) -> CaptureStatus;
    /// The phase alone, which is asked for with every sample.
    fn phase(&self) -> CapturePhase {
        self.live().phase
    }
    /// What was learned of the gauge's noise, to be kept for the next capture.
    fn sigma(&self) -> Sigma;
    /// The mode of this capture.
    fn mode(&self) -> CaptureMode;
}

/// Starts a capture with what is known of this gauge's noise.
pub fn start(settings: &CaptureSettings, sigma: Sigma) -> Box<dyn Capture> {
    match settings {
        CaptureSettings::Settle(s) => Box::new(settle::Settle::new(s.clone(), sigma)),
        CaptureSettings::Pour(s) => Box::new(pour::Pour::new(s.clone(), sigma)),
        CaptureSettings::Extreme(s) => Box::new(extreme::Extreme::new(s.clone(), sigma)),
        CaptureSettings::Average(s) => Box::new(average::Average::new(s.clone(), sigma)),
        CaptureSettings::Press(s) => Box::new(press::Press::new(s.clone(), sigma)),
    }
}
