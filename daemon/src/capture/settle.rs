//! One value each time the gauge comes to rest after it was moved.
//!
//! The module does not know where the gauge stands, nor which value is expected next.

use benchhand_drivers::Sample;

mod departing;
mod stops;

use super::creep::Rest;
use super::frozen::{repeats, thawing};
use super::intake::{Fed, Intake};
use super::left::Left;
use super::resting::{Resting, resting};
use super::settings::{SettleSettings, per_base};
use super::sigma::Sigma;
use super::still::{
    FittedLine, Point, is_still, range_quantile, seconds, suffix, teaches, working_sigma,
};
use super::{
    Capture, CaptureControl, CaptureEvent, CaptureMode, CaptureNote, CapturePhase, CaptureStatus,
    CapturedValue,
};

/// The state machine of the settle mode.
pub(crate) struct Settle {
    settings: SettleSettings,
    intake: Intake,
    sigma: Sigma,
    points: Vec<Point>,
    /// A value is wanted: the gauge was moved since the last value.
    armed: bool,
    /// The level of the last rest, while no value is wanted.
    rested: Option<f64>,
    /// The rest that the gauge left when a value became wanted, and the time of that.
    departed: Option<(f64, u64)>,
    /// What was seen of the gauge away from its last rest.
    away: Option<departing::Away>,
    /// Samples since the noise was last learned.
    fresh: usize,
    still: bool,
    paused: bool,
    /// What it showed before a key stopped the taking.
    stood: Option<f64>,
    /// A rest that was left before its value was taken, since a value became wanted.
    left: Left,
    count: u32,
    taken_any: bool,
    /// The gauge has repeated its last value for longer than a live gauge can.
    frozen: bool,
    /// The display goes on after it was frozen, and its level is not known yet.
    thaws: bool,
    said: Option<CaptureNote>,
}

/// With a smaller chance than this that a live gauge repeats itself so, its display is frozen: no
/// value is taken, and there is no movement.
const FROZEN: f64 = 1e-9;
const SUSPECT: f64 = 1e-4;

impl Settle {
    pub(crate) fn new(settings: SettleSettings, sigma: Sigma) -> Self {
        let intake = Intake::new(settings.channel, settings.gap_s).with_a_zero();
        Self {
            settings,
            intake,
            sigma,
            points: Vec::new(),
            armed: false,
            rested: None,
            departed: None,
            away: None,
            fresh: 0,
            still: false,
            paused: false,
            stood: None,
            left: Left::default(),
            count: 0,
            taken_any: false,
            frozen: false,
            thaws: false,
            said: None,
        }
    }

    fn fed(&mut self, fed: Fed, out: &mut Vec<CaptureEvent>) {
        match fed {
            Fed::Point(point) => self.point(point, out),
            Fed::Note(note) => out.push(CaptureEvent::Note(note)),
            Fed::Break => {
                // The plunger ran out of its travel, or the gauge shows no value: the gauge was
                // moved.
                self.forget();
                self.armed = true;
                self.left.lifted();
            }
            Fed::Gap(note) => {
                self.forget();
                out.push(CaptureEvent::Note(note));
            }
            Fed::Key(note) => self.key_pressed(note, out),
        }
    }

    /// Forgets all samples, so that older ones are not mixed with newer ones. Whether a value is
    /// wanted stays.
    fn forget(&mut self) {
        self.points.clear();
        self.away = None;
        self.fresh = 0;
        self.still = false;
        self.rested = None;
        self.departed = None;
    }

    fn point(&mut self, point: Point, out: &mut Vec<CaptureEvent>) {
        self.goes_on_by_itself(point, out);
        let frozen = repeats(&self.intake, &self.sigma, FROZEN);
        if std::mem::replace(&mut self.frozen, frozen) && !frozen {
            // The gauge may have moved unseen to where it stands now. Only what leaves this level
            // is movement.
            self.forget();
            self.thaws = !self.armed;
        }
        self.points.push(point);
        if self.thaws {
            match thawing(&self.points) {
                Some(level) => self.rested = Some(level),
                None => self.thaws = false,
            }
        }
        let longest = self.settings.longest_s;
        if self.points.len() > 64 && point.since(self.points[0].at_us) > 2.0 * longest {
            let keep = self
                .points
                .partition_point(|p| point.since(p.at_us) > longest);
            self.points.drain(..keep);
        }
        self.fresh += 1;
        self.judge(out);
    }

    fn judge(&mut self, out: &mut Vec<CaptureEvent>) {
        let q = self.intake.resolution();
        self.look_for_short_rests();
        let window = suffix(&self.points, self.settings.window_s, self.settings.window_n);
        let Some(window) = window else {
            self.still = false;
            return self.watch_departure();
        };
        let line = FittedLine::through(window);
        let sigma = working_sigma(&self.sigma, q, self.noisiest(), window);
        let frozen = self.frozen;
        self.still = !repeats(&self.intake, &self.sigma, SUSPECT) && is_still(window, sigma, q);
        if self.still && self.fresh >= window.len() && teaches(&line, sigma) {
            self.fresh = 0;
            self.sigma.learn(0.5 * line.steps, line.n);
        }
        if frozen && (self.armed || self.away.is_some()) {
            self.say(CaptureNote::RepeatsLastFrame, out);
        }
        match (self.armed, self.still, self.rested) {
            (true, true, _) if !self.paused => self.try_to_take(sigma, out),
            (false, true, None) => self.rested = Some(line.mean),
            // The gauge has moved from the first moment on: it was not at rest before.
            (false, false, None) if !frozen && !self.paused => {
                self.armed = line.range > 2.0 * range_quantile(line.n) * sigma + q;
            }
            _ => {}
        }
        self.watch_departure();
    }

    fn noisiest(&self) -> f64 {
        self.settings.noisiest_mm * self.intake.unit().map_or(1.0, per_base)
    }

    fn resting(&self, sigma: f64) -> Option<Resting> {
        resting(
            &self.points,
            self.departed.map(|(level, _)| level),
            sigma,
            self.intake.resolution(),
            &self.settings,
        )
    }

    fn try_to_take(&mut self, sigma: f64, out: &mut Vec<CaptureEvent>) {
        let Some(Resting {
            start,
            since_s,
            rest,
        }) = self.resting(sigma)
        else {
            return;
        };
        // A value that came slowly is watched for as long as it took to come.
        let watched = self
            .points
            .last()
            .map_or(0.0, |p| p.since(self.points[start].at_us));
        if rest.risk > self.settings.risk || watched < since_s {
            return;
        }
        if self.is_back(rest.value, self.points[start].at_us) {
            self.armed = false;
            self.rested = Some(rest.value);
            return;
        }
        if self.hangs(rest.value) {
            return self.say(CaptureNote::Hanging, out);
        }
        self.take(start, rest, out);
    }

    fn hangs(&self, value: f64) -> bool {
        let Some(unit) = self.intake.unit() else {
            return false;
        };
        let within =
            (self.settings.hanging_within_mm * per_base(unit)).max(10.0 * self.intake.resolution());
        self.settings
            .hanging
            .is_some_and(|hanging| (value - hanging).abs() <= within)
    }

    fn take(&mut self, start: usize, rest: Rest, out: &mut Vec<CaptureEvent>) {
        let Some(unit) = self.intake.unit() else {
            return;
        };
        let window = &self.points[start..];
        let taken = CapturedValue {
            value: rest.value,
            unit,
            n: window.len(),
            sd: rest.sd,
            se: None,
            at_us: window[window.len() - 1].at_us,
            from_us: window[0].at_us,
            window: window.iter().map(|p| (p.at_us, p.v)).collect(),
            others: Vec::new(),
            resolution: self.intake.resolution(),
            fills: Vec::new(),
            doubt: self.left_too_soon(rest.value, unit),
            also: None,
            parts_at: None,
            expected: None,
        };
        self.left = Left::default();
        self.armed = false;
        self.rested = Some(rest.value);
        self.away = None;
        self.said = None;
        self.taken_any = true;
        out.push(CaptureEvent::Final {
            pour: self.count,
            taken,
        });
        self.count += 1;
    }

    fn say(&mut self, note: CaptureNote, out: &mut Vec<CaptureEvent>) {
        if self.said != Some(note) {
            self.said = Some(note);
            out.push(CaptureEvent::Note(note));
        }
    }

    fn drain(&mut self, fed: Vec<Fed>, out: &mut Vec<CaptureEvent>) {
        for one in fed {
            self.fed(one, out);
        }
    }
}

impl Capture for Settle {
    fn sample(&mut self, sample: &Sample, out: &mut Vec<CaptureEvent>) {
        let mut fed = Vec::new();
        let sigma = self.sigma.at(sample.resolution);
        self.intake.feed(sample, sigma, &mut fed);
        self.drain(fed, out);
    }

    fn control(&mut self, control: CaptureControl, _at_us: u64, out: &mut Vec<CaptureEvent>) {
        match control {
            CaptureControl::Take => {
                self.paused = false;
                let q = self.intake.resolution();
                match self.resting(self.sigma.at(q)) {
                    Some(Resting { start, rest, .. }) if self.still => self.take(start, rest, out),
                    _ => {
                        // A value is taken as soon as the gauge rests.
                        self.armed = true;
                        out.push(CaptureEvent::Note(CaptureNote::NotStill));
                    }
                }
            }
            CaptureControl::Again => {
                self.paused = false;
                self.left = Left::default();
                self.armed = false;
                if self.taken_any {
                    self.taken_any = false;
                    self.count -= 1;
                    let why = CaptureNote::Again;
                    out.push(CaptureEvent::Withdrawn {
                        pour: self.count,
                        why,
                    });
                }
            }
            CaptureControl::Hold => {
                self.paused = !self.is_stopped();
                if !self.paused {
                    self.adopt_unit();
                    self.forget();
                }
            }
            CaptureControl::Zeroed => {
                if self.is_stopped() {
                    self.paused = false;
                    self.adopt_unit();
                    self.forget();
                }
            }
            CaptureControl::MeasureAnew => {}
            CaptureControl::Kept
            | CaptureControl::Anew
            | CaptureControl::TakenUp
            | CaptureControl::Over
            | CaptureControl::FromHere => {}
            // Only a jump to 0 that was seen can have been the plunger's.
            CaptureControl::ZeroStands if !self.paused && !self.intake.was_set_down() => {}
            CaptureControl::ZeroStands => {
                self.intake.hangs_at_zero();
                self.settings.hanging.get_or_insert(0.0);
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
        self.drain(fed, out);
    }

    fn live(&self) -> CaptureStatus {
        let q = self.intake.resolution();
        let phase = match (self.is_stopped(), self.armed, self.still) {
            (true, ..) => CapturePhase::Paused,
            (_, true, false) => CapturePhase::Moving,
            (_, true, true) => CapturePhase::Still,
            (_, false, _) => CapturePhase::Waiting,
        };
        CaptureStatus {
            value: self.intake.latest(),
            delivered: None,
            unit: self.intake.unit(),
            phase,
            stillness: super::still::stillness(&self.points, self.sigma.at(q), q),
            sigma: self.sigma.at(q),
        }
    }

    fn sigma(&self) -> Sigma {
        self.sigma
    }

    fn mode(&self) -> CaptureMode {
        CaptureMode::Settle
    }
}
