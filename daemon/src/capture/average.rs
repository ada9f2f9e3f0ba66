//! The mean over a window of a value that never rests, with several channels beside it.
//!
//! The module knows neither lifts nor orifices: a new level of any channel is a new reading.
//! Example: the blower holds the test pressure, so only the metering pressure shows that a valve
//! was opened.

use benchhand_drivers::Sample;

use super::along::{Along, stays_off};
use super::autocorr::{Mean, mean_with_error};
use super::drift::with_drift;
use super::intake::{Fed, Intake};
use super::settings::AverageSettings;
use super::sigma::Sigma;
use super::still::{Point, seconds};
use super::{
    Capture, CaptureControl, CaptureEvent, CaptureMode, CaptureNote, CapturePhase, CaptureStatus,
    CapturedValue,
};

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
            } else if span > self.settings.window_s {
                self.drop_before(point.at_us.saturating_sub(micros(self.settings.window_s)));
            }
            return;
        }
        if recent.abs() < self.settings.least_counts * self.intake.resolution() {
            return self.restart();
        }
        if span >= self.settings.least_s && (self.has_shifted() || self.begins_apart()) {
            let third = self.points[0].at_us + micros(span / 3.0);
            let second = self.points[0].at_us + micros(1.0);
            return self.drop_before(if self.has_shifted() { third } else { second });
        }
        if span >= self.settings.window_s {
            self.take(out);
        }
    }

    /// Mean of the last second.
    fn recent_mean(&self) -> f64 {
        let Some(last) = self.points.last() else {
            return 0.0;
        };
        let start = self.points.partition_point(|p| last.since(p.at_us) > 1.0);
        let recent = &self.points[start..];
        recent.iter().map(|p| p.v).sum::<f64>() / recent.len() as f64
    }

    /// Whether a channel has left the level of the last reading.
    fn has_departed(&self) -> bool {
        let share = self.settings.depart_share;
        let Some((mean, sd)) = self.last else {
            return true;
        };
        let off = (share * mean.abs()).max(5.0 * sd);
        let own = self.points.iter().map(|p| (p.at_us, p.v));
        let least = self.settings.least_counts;
        let along = |along: &Along| {
            along.last.is_some_and(|(mean, sd)| {
                let off = (share * mean.abs()).max(5.0 * sd);
                let off = off.max(least * along.resolution);
                stays_off(along.points.iter().copied(), mean, off)
            })
        };
        stays_off(own, mean, off) || self.along.iter().any(along)
    }

    /// Whether the first and last third of a channel differ by more than surge explains: the level
    /// is still being set.
    fn has_shifted(&self) -> bool {
        let shifted = |values: Vec<f64>| {
            let third = values.len() / 3;
            if third < 4 {
                return false;
            }
            let (first, last) = (&values[..third], &values[values.len() - third..]);
            let (a, b) = (mean_with_error(first), mean_with_error(last));
            let se = a.se.unwrap_or(0.0).hypot(b.se.unwrap_or(0.0));
            let share = self.settings.shift_share * a.value.abs().max(b.value.abs());
            (a.value - b.value).abs() > share.max(self.settings.shift_errors * se)
        };
        let along = |along: &Along| shifted(along.points.iter().map(|p| p.1).collect());
        shifted(self.points.iter().map(|p| p.v).collect()) || self.along.iter().any(along)
    }

    /// Whether the first second lies apart from the level after it: the level was still being set.
    fn begins_apart(&self) -> bool {
        let from = self.points[0].at_us;
        let mut blocks: Vec<(f64, usize)> = Vec::new();
        for p in &self.points {
            let block = p.since(from) as usize;
            blocks.resize(blocks.len().max(block + 1), (0.0, 0));
            blocks[block].0 += p.v;
            blocks[block].1 += 1;
        }
        blocks.pop();
        let means: Vec<f64> = blocks
            .iter()
            .filter(|b| b.1 > 0)
            .map(|b| b.0 / b.1 as f64)
            .collect();
        let later = &means[means.len() / 3..];
        if later.len() < 2 {
            return false;
        }
        let n = later.len() as f64;
        let mean = later.iter().sum::<f64>() / n;
        let sd = (later.iter().map(|m| (m - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
        let share = self.settings.begin_share * mean.abs();
        (means[0] - mean).abs() > share.max(self.settings.shift_errors * sd)
    }

    fn take(&mut self, out: &mut Vec<CaptureEvent>) {
        let Some(unit) = self.intake.unit() else {
            return;
        };
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
            others: self.along.iter().filter_map(Along::mean).collect(),
            resolution: q,
            fills: Vec::new(),
            doubt: self.doubt(&mean),
            parts_at: None,
            expected: None,
        };
        self.last = Some((mean.value, mean.sd.unwrap_or(0.0)));
        for along in &mut self.along {
            let mean = along.mean();
            along.last = mean.map(|mean| (mean.value, mean.sd.unwrap_or(0.0)));
        }
        self.armed = false;
        self.restart();
        out.push(CaptureEvent::Final {
            pour: self.count,
            taken,
        });
        self.count += 1;
    }

    /// The question that a person must answer before the mean counts, if any.
    fn doubt(&self, mean: &Mean) -> Option<CaptureNote> {
        let least = self.settings.least_counts;
        let dead = |along: &&Along| {
            let mean = along.mean().map_or(0.0, |m| m.value);
            mean.abs() < least * along.resolution
        };
        let no_flow = self.along.iter().find(dead);
        let share = mean.sd.unwrap_or(0.0) / mean.value.abs();
        let pulsing = CaptureNote::Pulsing { share };
        no_flow
            .map(|along| CaptureNote::NoFlow {
                channel: along.channel,
            })
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
                if self.span() >= self.settings.least_s {
                    self.take(out);
                } else {
                    self.armed = true;
                    self.restart();
                    out.push(CaptureEvent::Note(CaptureNote::NothingToTake));
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
            | CaptureControl::ZeroStands => {}
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
            self.take(out);
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
