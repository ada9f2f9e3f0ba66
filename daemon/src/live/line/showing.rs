//! What a line shows to others: its state, its values, and what a route needs to know of the gauge.

use benchhand_drivers::Sample;
use benchhand_wire::{CapturePhase, ChannelShows, GaugeState, LiveValue, Reason, Refusal};
use jiff::Timestamp;

use super::GaugeLine;
use crate::capture::Sigma;
use crate::known::correcting::corrections;
use crate::known::words;
use crate::live::arrange::GaugeOnRoute;
use crate::live::link::LineState;
use crate::live::zeros::doubt;
use crate::store::gauges::RegisterEntry;
use crate::store::view::JobView;

impl GaugeLine {
    /// The mean of what each channel shows, and whether the channel rests.
    pub(in crate::live) fn shows(&self) -> Result<Vec<ChannelShows>, Refusal> {
        self.heard()?;
        let channels = self.profile.channels().iter().zip(&self.recent);
        let shows: Vec<ChannelShows> = channels
            .enumerate()
            .filter_map(|(index, (channel, recent))| {
                let sigma = if index == 0 {
                    self.sigma
                } else {
                    Sigma::default()
                };
                let (mean, rests) = recent.mean(sigma)?;
                Some(ChannelShows {
                    channel: channel.name.clone(),
                    value: mean.raw,
                    unit: mean.unit.symbol().to_owned(),
                    sd: mean.sd,
                    n: mean.n,
                    resolution: mean.resolution,
                    rests,
                })
            })
            .collect();
        // A pressure is heard for longer than the temperature beside it, and who asks counts the
        // channels from the first: a gap among them would shift the others.
        let mut expected = shows.iter().zip(self.profile.channels());
        let gap = expected.any(|(shown, channel)| shown.channel != channel.name);
        if shows.is_empty() || gap {
            let found = format!("{} was not heard for long enough", self.name);
            return Err(
                Refusal::new(Reason::Conflict, found).todo("wait two seconds and ask again")
            );
        }
        Ok(shows)
    }

    /// The gauge as it is shown.
    pub(in crate::live) fn state(&self) -> GaugeState {
        GaugeState {
            setup: self.setup.clone(),
            kind: self.kind.to_owned(),
            link: self.link.word().to_owned(),
            todo: self.todo.clone(),
            zero: self.zero.map(|(raw, unit)| format!("{raw} {unit}")),
            check: self.correction.clone(),
            live: self.live(),
        }
    }

    /// Notes what the first channel shows, at this time of the daemon's clock.
    pub(in crate::live) fn passes(&mut self, now_us: u64) {
        if let Some(sample) = self.latest.first().copied().flatten() {
            self.minute.shows(now_us, &sample);
        }
    }

    /// The latest value of each channel.
    pub(in crate::live) fn live(&self) -> Vec<LiveValue> {
        let channels = self.profile.channels().iter();
        let heard = channels
            .zip(&self.latest)
            .filter_map(|(c, s)| Some((c, s.as_ref()?)));
        heard
            .map(|(channel, sample)| self.live_value(&channel.name, sample))
            .collect()
    }

    fn live_value(&self, channel: &str, sample: &Sample) -> LiveValue {
        let main = sample.channel == 0;
        let capture = self.capture.filter(|_| main);
        let zeroed = self.zero.filter(|(_, unit)| main && *unit == sample.unit);
        LiveValue {
            channel: channel.to_owned(),
            value: sample.value,
            unit: sample.unit.symbol().to_owned(),
            decimals: u8::try_from(words::decimals_of(sample.resolution)).unwrap_or(6),
            zeroed: zeroed
                .and_then(|(zero, _)| Some(f64::from(self.setup.sense) * (zero - sample.value?))),
            poured: capture.and_then(|c| c.delivered),
            phase: capture.map_or(CapturePhase::Idle, |c| c.phase),
            stillness: match capture {
                Some(capture) => capture.stillness,
                None if self.main_steady().is_some() => 1.0,
                None => 0.0,
            },
            status: words::status(sample.status),
        }
    }

    /// Whether the gauge's port is there and open.
    pub(in crate::live) fn has_port(&self) -> bool {
        let open = [LineState::Open, LineState::Live, LineState::Silent];
        open.contains(&self.link) && self.shut.is_none()
    }

    /// What a route needs to know of the gauge.
    pub(in crate::live) fn on_route(&self, view: &JobView, now: Timestamp) -> GaugeOnRoute {
        let last = view
            .gauge(&self.name)
            .and_then(|record| record.zeros.last());
        let zero = last.and_then(|z| Some((z.what.raw, z.what.unit.parse().ok()?)));
        let capacity: Option<benchhand_blueprint::Quantity> = self
            .setup
            .capacity
            .as_ref()
            .and_then(|text| text.parse().ok());
        let entry: Option<RegisterEntry> = toml::from_str(&self.register_text).ok();
        let counts = entry.as_ref().and_then(|e| e.burette.as_ref()?.counts);
        GaugeOnRoute {
            name: self.name.clone(),
            sense: f64::from(self.setup.sense),
            by_eye: self.link == LineState::ByEye,
            channels: self
                .profile
                .channels()
                .iter()
                .map(|c| c.name.clone())
                .collect(),
            capacity_cc: capacity.map(benchhand_blueprint::Quantity::base),
            zero,
            zero_doubt: doubt(view, &self.name, self.off.at(), now),
            nominal: last.and_then(|z| z.what.nominal),
            hanging: last.and_then(|z| z.what.hanging),
            counts,
            corrections: entry.map_or_else(Vec::new, |e| corrections(&e, &self.name, view)),
        }
    }
}
