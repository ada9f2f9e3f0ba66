//! One press on the gauge, or one typed value, is one reading.
//!
//! It does not know whether the value is sensible.

use benchhand_drivers::Sample;

use super::settings::PressSettings;
use super::sigma::Sigma;
use super::still::seconds;
use super::{
    Capture, CaptureControl, CaptureEvent, CaptureMode, CaptureNote, CapturePhase, CaptureStatus,
    CapturedValue,
};

/// The state machine of the press mode.
pub(crate) struct Press {
    settings: PressSettings,
    sigma: Sigma,
    latest: Option<Sample>,
    pressed: Option<(u64, f64)>,
    paused: bool,
    count: u32,
    taken_any: bool,
}

impl Press {
    pub(crate) fn new(settings: PressSettings, sigma: Sigma) -> Self {
        Self {
            settings,
            sigma,
            latest: None,
            pressed: None,
            paused: false,
            count: 0,
            taken_any: false,
        }
    }

    fn take(&mut self, sample: &Sample, value: f64, out: &mut Vec<CaptureEvent>) {
        let taken = CapturedValue {
            value,
            unit: sample.unit,
            n: 1,
            sd: None,
            se: None,
            at_us: sample.at_us,
            from_us: sample.at_us,
            window: vec![(sample.at_us, value)],
            others: Vec::new(),
            resolution: sample.resolution,
            fills: Vec::new(),
            also: None,
            parts_at: None,
            expected: None,
            doubt: None,
        };
        out.push(CaptureEvent::Final {
            pour: self.count,
            taken,
        });
        self.count += 1;
        self.taken_any = true;
    }
}

impl Capture for Press {
    fn sample(&mut self, sample: &Sample, out: &mut Vec<CaptureEvent>) {
        if sample.channel != self.settings.channel {
            return;
        }
        let status = &sample.status;
        let refused = match (status.overrange, status.fault) {
            (true, _) => Some(CaptureNote::Overrange),
            (_, true) => Some(CaptureNote::Fault),
            _ => None,
        };
        let value = sample.value.filter(|v| v.is_finite() && refused.is_none());
        self.latest = value.map(|_| *sample);
        if !status.button || self.paused {
            return;
        }
        let Some(value) = value else {
            return out.push(CaptureEvent::Note(
                refused.unwrap_or(CaptureNote::NothingToTake),
            ));
        };
        let bounced = self.pressed.is_some_and(|(at, v)| {
            v == value && seconds(at, sample.at_us) < self.settings.bounce_s
        });
        self.pressed = Some((sample.at_us, value));
        if !bounced {
            self.take(sample, value, out);
        }
    }

    fn control(&mut self, control: CaptureControl, at_us: u64, out: &mut Vec<CaptureEvent>) {
        match control {
            CaptureControl::Take => {
                let fresh = self
                    .latest
                    .filter(|s| seconds(s.at_us, at_us) <= self.settings.fresh_s)
                    .and_then(|s| s.value.map(|v| (s, v)));
                match fresh {
                    Some((sample, value)) => self.take(&sample, value, out),
                    None => out.push(CaptureEvent::Note(CaptureNote::NothingToTake)),
                }
            }
            CaptureControl::Again if self.taken_any => {
                self.taken_any = false;
                self.count -= 1;
                out.push(CaptureEvent::Withdrawn {
                    pour: self.count,
                    why: CaptureNote::Again,
                });
            }
            CaptureControl::Kept
            | CaptureControl::Anew
            | CaptureControl::TakenUp
            | CaptureControl::Over
            | CaptureControl::FromHere
            | CaptureControl::ZeroStands
            | CaptureControl::Zeroed
            | CaptureControl::MeasureAnew => {}
            CaptureControl::Again
            | CaptureControl::Add
            | CaptureControl::Split
            | CaptureControl::SplitFinal(_)
            | CaptureControl::Delivered
            | CaptureControl::Refilled => {
                out.push(CaptureEvent::Note(CaptureNote::NothingToTake));
            }
            CaptureControl::Hold => self.paused = !self.paused,
        }
    }

    fn gap(&mut self, _at_us: u64, _out: &mut Vec<CaptureEvent>) {
        // A gauge that sends only when pressed has no gaps; an old value is known by its time.
        self.latest = None;
    }

    fn end(&mut self, _at_us: u64, _out: &mut Vec<CaptureEvent>) {}

    fn live(&self) -> CaptureStatus {
        CaptureStatus {
            value: self.latest.and_then(|s| s.value),
            delivered: None,
            unit: self.latest.map(|s| s.unit),
            phase: if self.paused {
                CapturePhase::Paused
            } else {
                CapturePhase::Waiting
            },
            stillness: if self.latest.is_some() { 1.0 } else { 0.0 },
            sigma: self.latest.map_or(0.0, |s| self.sigma.at(s.resolution)),
        }
    }

    fn sigma(&self) -> Sigma {
        self.sigma
    }

    fn mode(&self) -> CaptureMode {
        CaptureMode::Press
    }
}
