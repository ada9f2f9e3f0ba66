//! The mean over a window of a value that never rests, with several channels beside it.
//!
//! The module knows neither lifts nor orifices: a new level of any channel is a new reading.
//! Example: the blower holds the test pressure, so only the metering pressure shows that a valve
//! was opened.

use benchhand_drivers::Sample;

mod level;

use super::along::{Along, ratio};
use super::autocorr::Mean;
use super::drift::with_drift;
use super::intake::{Fed, Intake};
use super::settings::AverageSettings;
use super::sigma::Sigma;
use super::still::{Point, seconds};
use super::{
    Capture, CaptureControl, CaptureEvent, CaptureMode, CaptureNote, CapturePhase, CaptureStatus,
    CapturedValue,
};
use level::Climb;

/// A level that is off for so long at the end of its window has been left, s: the hand went on.
const GONE_S: f64 = 0.3;

/// The state machine of the average mode.
pub(crate) struct Average {
    settings: AverageSettings,
    intake: Intake,
    sigma: Sigma,
    points: Vec<Point>,
    along: Vec<Along>,
    armed: bool,
    /// Mean and spread of the last reading: a new level is told by them.
    last: Option<(f64, f64)>,
    /// When the first window was full, while a level does not hold yet.
    full_us: Option<u64>,
    /// Whether a person was told that nothing has changed since the last reading.
    reminded: bool,
    /// The time of the last reading.
    taken_us: u64,
    paused: bool,
    count: u32,
}

impl Average {
    pub(crate) fn new(settings: AverageSettings, sigma: Sigma) -> Self {
        let intake = Intake::new(settings.channel, settings.gap_s).keeping_spikes();
        let along = settings.along.iter();
        let along = along
            .map(|&channel| Along {
                channel,
                unit: None,
                resolution: 0.0,
                points: Vec::new(),
                last: None,
                ratio: None,
            })
            .collect();
        Self {
            settings,
            intake,
            sigma,
            points: Vec::new(),
            along,
            armed: true,
            last: None,
            full_us: None,
            reminded: false,
            taken_us: 0,
            paused: false,
            count: 0,
        }
    }

    fn fed(&mut self, fed: Fed, out: &mut Vec<CaptureEvent>) {
        match fed {
            Fed::Point(point) => self.point(point, out),
            Fed::Note(note) => out.push(CaptureEvent::Note(note)),
            Fed::Break => self.restart(),
            Fed::Gap(note) => {
                self.restart();
                out.push(CaptureEvent::Note(note));
            }
            // A key press needs no answer here: shut-off flow drops to zero as well.
            Fed::Key(_) => {}
        }
    }

    fn restart(&mut self) {
        self.points.clear();
        self.full_us = None;
        for along in &mut self.along {
            along.points.clear();
        }
    }

    fn drop_before(&mut self, at_us: u64) {
        self.points.retain(|p| p.at_us >= at_us);
        for along in &mut self.along {
            along.points.retain(|p| p.0 >= at_us);
        }
    }

    fn point(&mut self, point: Point, out: &mut Vec<CaptureEvent>) {
        if self.paused {
            return;
        }
        self.points.push(point);
        let span = point.since(self.points[0].at_us);
        let recent = self.recent_mean();
        if !self.armed {
            if self.has_departed() {
                self.armed = true;
                self.restart();
            } else if self.is_long_since(point.at_us) {
                self.reminded = true;
                out.push(CaptureEvent::Note(CaptureNote::AsBefore));
            }
            if span > self.settings.window_s {
                self.drop_before(point.at_us.saturating_sub(micros(self.settings.window_s)));
            }
            return;
        }
        if self.full_us.is_some()
            && let Some((from_us, left_s)) = self.leaving()
        {
            // Whether it goes for good is not known at once; nothing of it belongs to the mean.
            if left_s >= GONE_S {
                self.keep_before(from_us);
                let climb = self.still_climbs();
                self.take(climb, out);
            }
            return;
        }
        if !self.flows(recent) {
            return self.restart();
        }
        if span >= self.settings.least_s && (self.has_shifted() || self.begins_apart()) {
            let third = self.points[0].at_us + micros(span / 3.0);
            let second = self.points[0].at_us + micros(1.0);
            return self.drop_before(if self.has_shifted() { third } else { second });
        }
        if span < self.settings.window_s {
            return;
        }
        let full_us = *self.full_us.get_or_insert(point.at_us);
        let climb = self.still_climbs();
        if climb.is_some() && point.since(full_us) < self.settings.longest_wait_s {
            return self.drop_before(point.at_us.saturating_sub(micros(self.settings.window_s)));
        }
        self.take(climb, out);
    }

    /// Forgets the samples from a moment on.
    fn keep_before(&mut self, from_us: u64) {
        self.points.retain(|p| p.at_us < from_us);
        for along in &mut self.along {
            along.points.retain(|p| p.0 < from_us);
        }
    }

    /// Takes the mean of the window; `climb` says what does not hold in it.
    fn take(&mut self, climb: Option<Climb>, out: &mut Vec<CaptureEvent>) {
        let Some(unit) = self.intake.unit() else {
            return;
        };
        let (doubt, told) = self.climb_told(climb);
        out.extend(told.map(CaptureEvent::Note));
        let values: Vec<f64> = self.points.iter().map(|p| p.v).collect();
        let (mean, drift) = with_drift(&self.points, &values, &self.settings);
        if let Some((over_window, se)) = drift {
            out.push(CaptureEvent::Note(CaptureNote::Drift {
                over_window,
                se,
                unit,
            }));
        }
        let q = self.intake.resolution();
        let taken = CapturedValue {
            value: mean.value,
            unit,
            n: values.len(),
            sd: mean.sd,
            se: mean.se,
            at_us: self.points[values.len() - 1].at_us,
            from_us: self.points[0].at_us,
            window: self.points.iter().map(|p| (p.at_us, p.v)).collect(),
            others: self
                .along
                .iter()
                .filter_map(|along| along.mean_beside(&self.points))
                .collect(),
            resolution: q,
            fills: Vec::new(),
            doubt: self.doubt(&mean, doubt),
            also: None,
            parts_at: None,
            expected: None,
        };
        self.last = Some((mean.value, mean.sd.unwrap_or(0.0)));
        for along in &mut self.along {
            let mean = along.mean(&self.points);
            along.last = mean.map(|mean| (mean.value, mean.sd.unwrap_or(0.0)));
            along.ratio = ratio(&self.points, &along.points);
        }
        self.armed = false;
        self.reminded = false;
        self.taken_us = self.points[values.len() - 1].at_us;
        self.restart();
        out.push(CaptureEvent::Final {
            pour: self.count,
            taken,
        });
        self.count += 1;
    }

    /// The question that a person must answer before the mean counts, if any.
    fn doubt(&self, mean: &Mean, climbs: Option<CaptureNote>) -> Option<CaptureNote> {
        let least = self.settings.least_counts;
        let dead = |along: &&Along| {
            let mean = along.mean(&self.points).map_or(0.0, |m| m.value);
            mean.abs() < least * along.resolution
        };
        let no_flow = self.along.iter().find(dead);
        let share = mean.sd.unwrap_or(0.0) / mean.value.abs();
        let pulsing = CaptureNote::Pulsing { share };
        no_flow
            .map(|along| CaptureNote::NoFlow {
                channel: along.channel,
            })
            .or(climbs)
            .or_else(|| (share > self.settings.pulsing_share).then_some(pulsing))
    }

    fn span(&self) -> f64 {
        match (self.points.first(), self.points.last()) {
            (Some(first), Some(last)) => last.since(first.at_us),
            _ => 0.0,
        }
    }
}

fn micros(seconds: f64) -> u64 {
    (seconds * 1e6) as u64
}

impl Capture for Average {
    fn sample(&mut self, sample: &Sample, out: &mut Vec<CaptureEvent>) {
        if let Some(along) = self.along.iter_mut().find(|a| a.channel == sample.channel) {
            let flawed = sample.status.overrange || sample.status.fault || sample.status.hold;
            if let Some(v) = sample.value.filter(|v| v.is_finite() && !flawed) {
                along.unit = Some(sample.unit);
                along.resolution = sample.resolution;
                along.points.push((sample.at_us, v));
            }
            if along.points.len() > 8_192 {
                along.points.drain(..4_096);
            }
        }
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
                self.paused = false;
                if self.armed && self.span() >= self.settings.least_s {
                    self.take(None, out);
                } else {
                    // What came before belongs to the reading that was taken.
                    self.armed = true;
                    self.restart();
                    out.push(CaptureEvent::Note(CaptureNote::FromNow));
                }
            }
            CaptureControl::Again => {
                self.paused = false;
                self.armed = true;
                self.restart();
                if self.last.take().is_some() {
                    self.count -= 1;
                    out.push(CaptureEvent::Withdrawn {
                        pour: self.count,
                        why: CaptureNote::Again,
                    });
                }
            }
            CaptureControl::Hold => {
                self.paused = !self.paused;
                self.restart();
            }
            CaptureControl::Kept
            | CaptureControl::Anew
            | CaptureControl::TakenUp
            | CaptureControl::Over
            | CaptureControl::FromHere
            | CaptureControl::Zeroed
            | CaptureControl::ZeroStands => {}
            CaptureControl::MeasureAnew => {
                self.armed = true;
                self.restart();
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
        if self.armed && !self.paused && self.span() >= self.settings.least_s {
            let climb = self.still_climbs();
            self.take(climb, out);
        }
    }

    fn live(&self) -> CaptureStatus {
        let phase = match (self.paused, self.armed, self.points.is_empty()) {
            (true, ..) => CapturePhase::Paused,
            (_, true, false) => CapturePhase::Moving,
            _ => CapturePhase::Waiting,
        };
        let stillness = (self.span() / self.settings.window_s).clamp(0.0, 1.0);
        CaptureStatus {
            value: self.intake.latest(),
            delivered: None,
            unit: self.intake.unit(),
            phase,
            stillness: if self.armed { stillness } else { 1.0 },
            sigma: self.sigma.at(self.intake.resolution()),
        }
    }

    fn sigma(&self) -> Sigma {
        self.sigma
    }

    fn mode(&self) -> CaptureMode {
        CaptureMode::Average
    }
}
