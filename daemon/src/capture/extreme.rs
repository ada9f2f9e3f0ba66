//! The turning point of a sweep, from several passes that agree.
//!
//! Examples: a piston turned over top dead centre, a bore gauge rocked through its smallest
//! reading. The module knows no crank angle. A moved bridge shows in the shape and speed of the
//! signal, and in a value beyond the turning point, which no crank can give.

use benchhand_drivers::Sample;

mod places;
mod stops;
mod taking;

use super::intake::{Fed, Intake};
use super::lift::{HangingRest, Lift, LiftedOff};
use super::settings::{ExtremeSettings, TurningPoint, per_base};
use super::sigma::Sigma;
use super::still::{Point, seconds, stillness};
use super::turn::{NotAPass, Pass, Shape, judge};
use super::{
    Capture, CaptureControl, CaptureEvent, CaptureMode, CaptureNote, CapturePhase, CaptureStatus,
};
use stops::Suspicion;

/// The state machine of the extreme mode.
pub(crate) struct Extreme {
    settings: ExtremeSettings,
    intake: Intake,
    sigma: Sigma,
    /// What was known of the gauge's noise at rest. Passes teach the scatter of a moving plunger,
    /// which says nothing of how still the gauge can be; so only this noise is handed on.
    at_rest: Sigma,
    /// The samples, with their sign changed where needed so that the turning point is a top.
    points: Vec<Point>,
    /// Index of the highest sample since the last low.
    top: usize,
    /// Index of the lowest sample since the last top.
    low: usize,
    /// Whether a rise of at least the least fall lies before `top`.
    risen: bool,
    passes: Vec<Pass>,
    /// The value that was taken at this place of the bridge.
    taken: Option<f64>,
    above: usize,
    lifted: LiftedOff,
    hung: HangingRest,
    /// The place before may still be the present one: its value, where the crank may have been
    /// jerked.
    jerked_at: Option<f64>,
    /// The place before was left before its value was taken: how many good passes it had.
    left: Option<usize>,
    /// Turns seen at this place, good or bad.
    turns: usize,
    /// Nobody saw what became of the bridge since the last value or pass.
    unseen: bool,
    /// The place is measured anew: whoever moves the bridge first leaves it without a value.
    anew: bool,
    /// A key of the gauge may have been pressed.
    suspicion: Option<Suspicion>,
    paused: bool,
    /// Taking stopped because the gauge has lost its zero.
    lost: bool,
    count: u32,
}

const MOST_POINTS: usize = 4_000;

impl Extreme {
    pub(crate) fn new(settings: ExtremeSettings, sigma: Sigma) -> Self {
        let intake = Intake::new(settings.channel, settings.gap_s).with_a_zero();
        Self {
            settings,
            intake,
            sigma,
            at_rest: sigma,
            points: Vec::new(),
            top: 0,
            low: 0,
            risen: false,
            passes: Vec::new(),
            taken: None,
            above: 0,
            lifted: LiftedOff::default(),
            hung: HangingRest::default(),
            jerked_at: None,
            left: None,
            turns: 0,
            unseen: false,
            anew: false,
            suspicion: None,
            paused: false,
            lost: false,
            count: 0,
        }
    }

    fn sign(&self) -> f64 {
        match self.settings.turn {
            TurningPoint::High => 1.0,
            TurningPoint::Low => -1.0,
        }
    }

    fn fall(&self) -> f64 {
        let q = self.intake.resolution();
        (self.settings.least_fall_mm * self.scale())
            .max(self.settings.least_fall_sigmas * self.sigma.at(q))
            .max(3.0 * q)
    }

    fn fed(&mut self, fed: Fed, out: &mut Vec<CaptureEvent>) {
        match fed {
            Fed::Point(p) => self.point(
                Point {
                    v: p.v * self.sign(),
                    ..p
                },
                out,
            ),
            Fed::Note(note) => out.push(CaptureEvent::Note(note)),
            Fed::Break => self.moved(out),
            Fed::Gap(note) => {
                self.looked_away();
                out.push(CaptureEvent::Note(note));
            }
            Fed::Key(note) => self.key_pressed(note, out),
        }
    }

    fn restart(&mut self) {
        self.points.clear();
        self.top = 0;
        self.low = 0;
        self.risen = false;
        self.above = 0;
    }

    fn point(&mut self, point: Point, out: &mut Vec<CaptureEvent>) {
        if self.paused && !self.lost {
            return;
        }
        let lift = self.lift();
        let before = self.points.last();
        if let Some(&before) = before.filter(|&&before| lift.is_jump(before, point)) {
            self.set_down_again(before, point, out);
            self.moved(out);
        }
        self.watch_above(point, out);
        self.points.push(point);
        // Where nothing is known of this place, there is nothing to forget.
        let known = self.taken.is_some() || !self.passes.is_empty();
        if known {
            self.watch_lifts(lift, point, out);
        }
        self.hung.watch(&lift, &self.points);
        self.clear_suspicion(out);
        let i = self.points.len() - 1;
        let fall = self.fall();
        if self.points[i].v < self.points[self.low].v {
            self.low = i;
        }
        if self.risen {
            if self.points[i].v > self.points[self.top].v {
                self.top = i;
            } else if self.points[self.top].v - self.points[i].v >= fall {
                self.turned(i, out);
            }
        } else if self.points[i].v - self.points[self.low].v >= fall {
            self.risen = true;
            self.top = i;
        } else {
            self.watch_short_turns(fall, out);
        }
        if self.points.len() > MOST_POINTS {
            self.shorten();
        }
    }

    fn lift(&self) -> Lift {
        let q = self.intake.resolution();
        let noise = (self.sigma.at(q), q);
        Lift::new(&self.settings, self.scale(), noise, self.intake.period())
    }

    fn scale(&self) -> f64 {
        self.intake.unit().map_or(1.0, per_base)
    }

    fn shape(&self) -> Shape {
        let q = self.intake.resolution();
        Shape {
            fall: self.fall(),
            each_side: self.settings.near_each_side,
            sigma: self.sigma.at(q),
            resolution: q,
            period: self.intake.period(),
            finest: self.settings.finest_mm * self.scale(),
            least_s: self.settings.least_turn_s,
        }
    }

    /// Handles a whole turn: a rise and a fall about `self.top`. `i` is the first sample that has
    /// fallen far enough.
    fn turned(&mut self, i: usize, out: &mut Vec<CaptureEvent>) {
        let floor = self.points[self.top].v - self.fall();
        let start = self.points[..self.top]
            .iter()
            .rposition(|p| p.v <= floor)
            .unwrap_or(0);
        let judged = judge(&self.points[start..=i], &self.shape());
        self.risen = false;
        self.turns += 1;
        self.low = i;
        self.points.drain(..i);
        self.low = 0;
        self.top = 0;
        if self.lost {
            return out.push(CaptureEvent::Note(CaptureNote::PassesIgnored));
        }
        match judged {
            Ok(pass) => self.passed(pass, out),
            Err(NotAPass::TooFast(near)) => {
                let needed = self.settings.near_each_side;
                out.push(CaptureEvent::Note(CaptureNote::TooFast { near, needed }));
            }
            Err(NotAPass::Lost(seconds)) => {
                out.push(CaptureEvent::Note(CaptureNote::Gap { seconds }))
            }
            Err(NotAPass::Uneven) => out.push(CaptureEvent::Note(CaptureNote::UnevenTurn)),
            Err(NotAPass::Moved) => self.moved(out),
        }
    }

    /// Drops old samples: only the run since the last low is needed.
    fn shorten(&mut self) {
        let keep = self.points.len() - MOST_POINTS / 2;
        self.points.drain(..keep);
        self.low = self.low.saturating_sub(keep);
        self.top = self.top.saturating_sub(keep);
    }
}

impl Capture for Extreme {
    fn sample(&mut self, sample: &Sample, out: &mut Vec<CaptureEvent>) {
        let mut fed = Vec::new();
        self.intake
            .feed(sample, self.sigma.at(sample.resolution), &mut fed);
        for one in fed {
            self.fed(one, out);
        }
    }

    fn control(&mut self, control: CaptureControl, _at_us: u64, out: &mut Vec<CaptureEvent>) {
        match control {
            CaptureControl::Take => {
                (self.paused, self.lost) = (false, false);
                if self.taken.is_none() && !self.passes.is_empty() {
                    self.take(out);
                } else {
                    // The next turn is wanted, although the bridge still stands at the same place.
                    self.taken = None;
                    self.passes.clear();
                    out.push(CaptureEvent::Note(CaptureNote::NothingToTake));
                }
            }
            CaptureControl::Again => {
                (self.paused, self.lost) = (false, false);
                (self.unseen, self.anew) = (false, false);
                (self.left, self.jerked_at) = (None, None);
                if self.taken.take().is_some() {
                    self.count -= 1;
                    out.push(CaptureEvent::Withdrawn {
                        pour: self.count,
                        why: CaptureNote::Again,
                    });
                }
                self.passes.clear();
            }
            CaptureControl::Hold if self.is_stopped() => self.go_on(),
            CaptureControl::Hold => {
                self.paused = true;
                self.restart();
            }
            CaptureControl::Zeroed => self.zeroed(),
            CaptureControl::MeasureAnew => self.measure_anew(),
            CaptureControl::Kept
            | CaptureControl::Anew
            | CaptureControl::TakenUp
            | CaptureControl::Over
            | CaptureControl::FromHere => {}
            CaptureControl::ZeroStands if self.suspicion.is_none() && !self.paused => {}
            CaptureControl::ZeroStands => {
                self.intake.hangs_at_zero();
                self.suspicion = None;
            }
            CaptureControl::Add
            | CaptureControl::Split
            | CaptureControl::SplitFinal(_)
            | CaptureControl::Delivered
            | CaptureControl::Refilled => {
                out.push(CaptureEvent::Note(CaptureNote::NothingToTake));
            }
        }
    }

    fn gap(&mut self, at_us: u64, out: &mut Vec<CaptureEvent>) {
        let seconds = self.points.last().map_or(0.0, |p| seconds(p.at_us, at_us));
        self.intake.cut();
        self.fed(Fed::Gap(CaptureNote::Gap { seconds }), out);
    }

    fn end(&mut self, _at_us: u64, out: &mut Vec<CaptureEvent>) {
        let mut fed = Vec::new();
        self.intake.flush(&mut fed);
        for one in fed {
            self.fed(one, out);
        }
        if self.taken.is_none() && self.turns > 0 {
            let (good, needed) = (self.passes.len(), self.settings.passes);
            out.push(CaptureEvent::Note(CaptureNote::PassesMissing {
                good,
                needed,
            }));
        }
    }

    fn live(&self) -> CaptureStatus {
        let q = self.intake.resolution();
        let phase = match (self.is_stopped(), self.taken.is_some(), self.risen) {
            (true, ..) => CapturePhase::Paused,
            (_, true, _) => CapturePhase::Waiting,
            (_, _, true) => CapturePhase::Moving,
            _ if self.passes.is_empty() => CapturePhase::Waiting,
            _ => CapturePhase::Moving,
        };
        CaptureStatus {
            value: self.intake.latest(),
            delivered: None,
            unit: self.intake.unit(),
            phase,
            stillness: stillness(&self.points, self.sigma.at(q), q),
            sigma: self.sigma.at(q),
        }
    }

    #[expect(
        clippy::misnamed_getters,
        reason = "what passes taught is not handed on"
    )]
    fn sigma(&self) -> Sigma {
        self.at_rest
    }

    fn mode(&self) -> CaptureMode {
        CaptureMode::Extreme
    }
}
