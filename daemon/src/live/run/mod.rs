//! One route on one job: samples of its gauges become readings at its stops.
//!
//! A run decides which stop a captured value belongs to, and what is kept and told. It reaches the
//! journal only through [`RunJournal`] and knows no port, no file and no clock. A value counts as
//! taken only once [`RunJournal::keep`] has returned.

mod aloud;
mod answering;
mod arranged;
mod asking;
#[cfg(test)]
mod asking_tests;
mod control;
mod dropping;
mod ending;
mod flowing;
mod going;
mod heard;
#[cfg(test)]
mod levels_tests;
mod outcome;
#[cfg(test)]
mod places_tests;
mod plunger;
#[cfg(test)]
mod plunger_tests;
#[cfg(test)]
mod pouring_tests;
mod queue;
mod so_far;
mod taking;
mod taking_again;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod told_tests;
mod unkept;
#[cfg(test)]
mod unkept_tests;
#[cfg(test)]
mod waiting_tests;
mod worded;
mod zeroing;
#[cfg(test)]
mod zeroing_tests;

use std::collections::{BTreeMap, VecDeque};

use benchhand_blueprint::Spot;
use benchhand_blueprint::units::QuantityKind;
use benchhand_drivers::Sample;
use benchhand_wire::{QuestionAbout, Refusal, SaidAs};

use crate::capture::{self, Capture, CaptureEvent, CaptureNote, CaptureSettings, Sigma};
use crate::known::expectation::{Expectation, FlowShown};
use crate::known::words;
use crate::route::{RouteWalk, StopOutcome};
use crate::store::fact::{ChamberSoFar, Fact, StreamAt};
pub use arranged::ArrangedStop;
pub use asking::{Doubt, StopQuestion};
pub(crate) use going::as_said;
pub use outcome::{DoubtedReading, RunOutcome};

/// The journal as a run reaches it.
pub trait RunJournal {
    /// Keeps a fact and returns its number once it is synced.
    ///
    /// # Errors
    /// Where the fact could not be kept; then nothing was.
    fn keep(&mut self, fact: Fact) -> Result<u64, Refusal>;

    /// The position in the recorded stream of `gauge` at `at_us`, if it is recorded.
    fn stream_at(&self, gauge: &str, at_us: u64) -> Option<StreamAt>;

    /// What the value at a spot should be near to in this round, for a gauge that measures `kind`,
    /// by the job as it is now.
    fn expectation(&self, spot: &Spot, round: u32, kind: QuantityKind) -> Option<Expectation>;

    /// What is odd about the two pressures of a port, by the job as it is now.
    fn flow_doubt(&self, _: &Spot, _round: u32, _: FlowShown) -> Option<CaptureNote> {
        None
    }

    /// Readings of other spots that are in doubt since the reading at `spot`: they lie far from
    /// what the other readings agree on.
    fn doubted(&self, spot: &Spot) -> Vec<DoubtedReading>;

    /// The two rounds of a spot in words, where they differ by more than their gauge repeats.
    fn apart(&self, spot: &Spot) -> Option<String>;

    /// The reading of the only other spot of its kind, if no person confirmed it.
    fn only_brother(&self, spot: &Spot) -> Option<DoubtedReading>;

    /// The readings at a spot that count at the present stage, of one round.
    fn live_at(&self, _: &Spot, _round: u32) -> Vec<u64> {
        Vec::new()
    }

    /// Why the zero of a gauge is too old to rely on, in words.
    fn old_zero(&self, _gauge: &str) -> Option<String> {
        None
    }

    /// A person lets the old zero of a gauge stand.
    ///
    /// # Errors
    /// Where the decision could not be kept.
    fn let_zero_stand(&mut self, _gauge: &str) -> Result<(), Refusal> {
        Ok(())
    }
}

/// One capture and the readings that came from it.
struct Active {
    /// The stop and the readings for which the expectation was last looked up. The readings stand
    /// as the sum of their numbers, which a revision changes too.
    expects: Option<(usize, u64)>,
    gauge: String,
    settings: CaptureSettings,
    capture: Box<dyn Capture>,
    /// What was kept, by the number of the reading within the capture.
    outcomes: BTreeMap<u32, ValueOutcome>,
    /// The value that was told last and its reading, and what was added since without being told.
    told: Option<aloud::ToldValue>,
    /// The time of the last sample that the capture was fed.
    last_us: Option<u64>,
    /// Whether the pour under way began before a person sent the route elsewhere.
    under_way: bool,
    /// What the capture was told since the journal was last written.
    heard: Vec<heard::SteeredCapture>,
}

/// The stop of a value that belongs to none: a number that no stop has, however many are added.
const NOWHERE: usize = usize::MAX;

/// What became of one value of a capture.
#[derive(Debug, Clone, Copy)]
struct ValueOutcome {
    /// The stop that the value belongs to.
    stop: usize,
    /// The number of the kept reading, if it still stands.
    id: Option<u64>,
    /// Whether the value may still be revised.
    held: bool,
    /// The value as captured.
    value: f64,
    /// Whether a person was asked about the value and kept it.
    confirmed: bool,
    /// The time of the capture's last sample when the value was first kept.
    first_us: Option<u64>,
}

impl Active {
    /// Whether a reading of this capture may still be revised.
    fn holds(&self) -> bool {
        self.outcomes
            .values()
            .any(|outcome| outcome.id.is_some() && outcome.held)
    }

    /// Whether liquid runs.
    fn delivers(&self) -> bool {
        self.capture.phase() == capture::CapturePhase::Delivering
    }
}

/// A route that runs on a job.
pub struct RouteRun {
    stops: Vec<ArrangedStop>,
    /// How many stops the route had when it was begun.
    planned: usize,
    walk: RouteWalk,
    actives: Vec<Active>,
    on_hold: bool,
    /// What was poured while the route is on hold, in words.
    poured_on_hold: Option<String>,
    sigmas: BTreeMap<String, Sigma>,
    /// Values that are not kept yet, in the order in which they came.
    waiting: VecDeque<asking::Waiting>,
    question: Option<StopQuestion>,
    /// The latest value that the disk refused, while no other was kept in its place.
    unkept: Option<unkept::UnkeptValue>,
    /// A pour whose amount was lost during another question.
    lost: Option<(usize, CaptureNote)>,
    /// The question that was told last: its stop, what it is about, and its words.
    asked_aloud: Option<(usize, QuestionAbout, String)>,
    /// Earlier readings that are asked about next.
    doubted: Vec<Doubt>,
    undo: Option<asking::Undo>,
    /// Where the route stood when an earlier value was asked about; the route goes back there once
    /// that value is kept.
    returns_to: Option<usize>,
    /// A pour is being parted: nothing is kept before both parts are known.
    splitting: bool,
    /// The route was broken off before and goes on now.
    taken_up: bool,
    /// Whether the gauge has moved since the route came to the present stop.
    stirred: bool,
    zeros: zeroing::Zeros,
    plungers: plunger::Plungers,
    /// What the journal holds of the present chamber, before its reading.
    so_far: Option<ChamberSoFar>,
}

impl std::fmt::Debug for RouteRun {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Run")
            .field("walk", &self.walk)
            .field("on_hold", &self.on_hold)
            .finish()
    }
}

impl RouteRun {
    /// A run over `stops`; `walk` tells the present stop.
    pub fn new(
        stops: Vec<ArrangedStop>,
        walk: RouteWalk,
        sigmas: BTreeMap<String, Sigma>,
    ) -> RouteRun {
        let mut run = RouteRun {
            planned: stops.len(),
            stops,
            walk,
            actives: Vec::new(),
            on_hold: false,
            poured_on_hold: None,
            sigmas,
            waiting: VecDeque::new(),
            question: None,
            unkept: None,
            lost: None,
            asked_aloud: None,
            doubted: Vec::new(),
            undo: None,
            returns_to: None,
            splitting: false,
            taken_up: false,
            stirred: false,
            zeros: zeroing::Zeros::default(),
            plungers: plunger::Plungers::default(),
            so_far: None,
        };
        run.turn_to_stop();
        run
    }

    /// The route was broken off and goes on now: nobody saw what came to a gauge meanwhile.
    pub fn taken_up(&mut self) {
        self.taken_up = true;
        for active in &mut self.actives {
            active.told(capture::CaptureControl::TakenUp, 0, &mut Vec::new());
        }
    }

    /// The stops.
    pub fn stops(&self) -> &[ArrangedStop] {
        &self.stops
    }

    /// The stops that the route had when it was begun.
    pub fn planned(&self) -> &[ArrangedStop] {
        &self.stops[..self.planned]
    }

    /// Where the route stands.
    pub fn walk(&self) -> &RouteWalk {
        &self.walk
    }

    /// Whether `hold` stopped the taking of values.
    pub fn on_hold(&self) -> bool {
        self.on_hold
    }

    /// What was learned of a gauge's noise.
    pub fn sigma(&self, gauge: &str) -> Option<Sigma> {
        let live = self
            .actives
            .iter()
            .find(|a| a.gauge == gauge)
            .map(|a| a.capture.sigma());
        live.or_else(|| self.sigmas.get(gauge).cloned())
    }

    /// What the capture of `gauge` shows of it now.
    pub fn live(&self, gauge: &str) -> Option<capture::CaptureStatus> {
        self.actives
            .iter()
            .rfind(|a| a.gauge == gauge)
            .map(|a| a.capture.live())
    }

    /// The phase of the capture of `gauge` now.
    fn phase(&self, gauge: &str) -> Option<capture::CapturePhase> {
        let active = self.actives.iter().rfind(|a| a.gauge == gauge);
        active.map(|active| active.capture.phase())
    }

    /// Takes in one sample of `gauge`.
    pub fn sample(
        &mut self,
        gauge: &str,
        sample: &Sample,
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) {
        self.stay_on_hold(gauge);
        self.watch_plunger(gauge, sample, out);
        self.feed(gauge, keep, out, |active, events| {
            active.sample(sample, events)
        });
        self.notice_movement(gauge);
    }

    /// Samples of `gauge` were lost, or it went away.
    pub fn gap(
        &mut self,
        gauge: &str,
        at_us: u64,
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
    ) {
        self.feed(gauge, keep, out, |active, events| active.gap(at_us, events));
    }

    /// Hands something to every capture of `gauge` and deals with their events.
    fn feed(
        &mut self,
        gauge: &str,
        keep: &mut dyn RunJournal,
        out: &mut RunOutcome,
        mut hand: impl FnMut(&mut Active, &mut Vec<CaptureEvent>),
    ) {
        for index in 0..self.actives.len() {
            if self.actives[index].gauge != gauge {
                continue;
            }
            if let Some(expected) = self.expected_of(index, keep) {
                self.actives[index].capture.expect(expected);
            }
            let mut events = Vec::new();
            hand(&mut self.actives[index], &mut events);
            for event in events {
                if let Err(refusal) = self.on_event(index, event, keep, out) {
                    out.say(SaidAs::Again, words::not_kept(&refusal));
                }
            }
        }
        self.settle_waiting(keep, out);
        if out.moved {
            self.turn_to_stop();
        }
    }

    /// Makes sure that there is a capture for the present stop. A capture follows its gauge to the
    /// end of the route: one begun anew between two pours could take the refill for a pour.
    fn turn_to_stop(&mut self) {
        let wanted = self.walk.at().map(|stop| self.stops[stop].clone());
        let serves = |a: &Active| {
            wanted
                .as_ref()
                .is_some_and(|w| a.gauge == w.gauge && a.settings == w.settings)
        };
        if self.on_hold || self.actives.iter().any(serves) {
            return;
        }
        if let Some(wanted) = wanted {
            let sigma = self.sigmas.get(&wanted.gauge).cloned().unwrap_or_default();
            let mut active = Active {
                capture: capture::start(&wanted.settings, sigma),
                expects: None,
                gauge: wanted.gauge,
                settings: wanted.settings,
                outcomes: BTreeMap::new(),
                told: None,
                last_us: None,
                under_way: false,
                heard: Vec::new(),
            };
            if self.taken_up {
                active.told(capture::CaptureControl::TakenUp, 0, &mut Vec::new());
            }
            self.actives.push(active);
        }
    }
}

fn reading_of(became: StopOutcome) -> Option<u64> {
    match became {
        StopOutcome::Held(id) | StopOutcome::Taken(id) => Some(id),
        StopOutcome::Left | StopOutcome::Skipped => None,
    }
}
