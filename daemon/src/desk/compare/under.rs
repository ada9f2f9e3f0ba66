//! A gauge under check: the zero of its numbers, and its comparisons.

use benchhand_blueprint::check::{GaugeComparison, GaugeCorrection};
use benchhand_blueprint::units::QuantityKind;
use benchhand_blueprint::{Quantity, Unit};
use benchhand_wire::{Against, CompareGauge, ComparePoint, ComparedPoint, Refusal};

use super::{figure, size_base};
use crate::desk::gauges::{in_unit, typed_step};
use crate::known::kinds::counts_from_a_zero;
use crate::known::quantities::{bad, quantity};
use crate::known::shop::ShopGauge;
use crate::store::gauges::RegisterEntry;
use crate::store::view::JobView;

/// The masters' values in the unit of the gauge under check, and what is known of them.
pub(super) struct Masters {
    pub(super) values: Vec<f64>,
    /// The unit kind of the masters, and the factor from their unit to the gauge's. They convert
    /// the uncertainty that a point has of its own.
    pub(super) kind: QuantityKind,
    pub(super) factor: f64,
    pub(super) shared: Option<f64>,
    pub(super) said: String,
}

/// A gauge under check, with the zero of its numbers.
pub(super) struct Under<'a> {
    pub(super) gauge: &'a ShopGauge,
    pub(super) entry: RegisterEntry,
    pub(super) channel: u8,
    pub(super) kind: QuantityKind,
    pub(super) unit: Unit,
    /// What the gauge showed at its zero in this job, in `unit`; its numbers count from there.
    pub(super) zero: Option<f64>,
    /// The size of the master at that zero, in `unit`.
    pub(super) nominal: Option<f64>,
    /// Whether the gauge's values are differences.
    pub(super) deliveries: bool,
}

impl<'a> Under<'a> {
    pub(super) fn new(
        ask: &CompareGauge,
        gauge: &'a ShopGauge,
        view: &JobView,
    ) -> Result<Under<'a>, Refusal> {
        let entry: RegisterEntry = toml::from_str(&gauge.text).map_err(bad)?;
        let channels = gauge.profile.channels();
        let number = gauge.channel_number(ask.channel.as_deref())?;
        let first = ask.points.first().ok_or_else(|| {
            bad("no comparison was given").todo("give at least one; several tell more")
        })?;
        let shown: Quantity = first.shown.parse().map_err(bad)?;
        let measures = channels
            .get(number)
            .map(|channel| channel.kind)
            .filter(|kind| *kind != QuantityKind::Number)
            .unwrap_or(shown.unit.kind());
        let shown = shown.expect(measures).map_err(bad)?;
        let last = (number == 0)
            .then(|| view.gauge(&ask.name)?.zeros.last())
            .flatten();
        let zero_unit: Option<Unit> = match last {
            Some(zero) => Some(zero.what.unit.parse().map_err(bad)?),
            None => None,
        };
        let from_zero = |value: f64| {
            let unit = zero_unit.unwrap_or(shown.unit);
            Quantity { value, unit }.to(shown.unit).map_err(bad)
        };
        let zero = last.map(|zero| from_zero(zero.what.raw)).transpose()?;
        let nominal = last.and_then(|zero| zero.what.nominal);
        let nominal = nominal.map(from_zero).transpose()?;
        let volumes = ask.against == Against::Water && measures == QuantityKind::Mass;
        Ok(Under {
            entry,
            gauge,
            channel: u8::try_from(number).unwrap_or(u8::MAX),
            kind: measures,
            unit: shown.unit,
            zero: zero.filter(|_| counts_from_a_zero(measures)),
            nominal,
            deliveries: measures == QuantityKind::Volume || volumes,
        })
    }

    /// How far the plunger is pushed in, where the gauge counts from a zero; otherwise the shown
    /// value.
    pub(super) fn counted_from_zero(&self, raw: f64) -> f64 {
        match self.zero {
            Some(zero) => f64::from(self.gauge.setup.sense) * (raw - zero),
            None => raw,
        }
    }

    pub(super) fn counted(&self) -> &'static str {
        match (self.zero, self.deliveries) {
            (Some(_), _) => "what the plunger is pushed in from its zero",
            (None, true) => "what was delivered",
            (None, false) => "what it shows",
        }
    }

    pub(super) fn points(
        &self,
        ask: &CompareGauge,
        masters: &Masters,
    ) -> Result<Vec<GaugeComparison>, Refusal> {
        let pairs = ask.points.iter().zip(&masters.values);
        pairs
            .map(|(point, &master)| {
                let shown = quantity(&point.shown, self.kind)?;
                let shown = shown.to(self.unit).map_err(bad)?;
                // In a bore, a plunger that is pushed in further means a smaller diameter than the
                // ring's.
                let truth = match (self.zero, self.nominal) {
                    (Some(_), Some(ring)) => ring - master,
                    _ => master,
                };
                let u = match &point.u {
                    None => None,
                    Some(text) => {
                        let base = size_base(text, masters.kind)? * masters.factor;
                        Some(base / self.unit.difference_to_base(1.0)).filter(|&u| u > 0.0)
                    }
                };
                Ok(GaugeComparison {
                    truth,
                    shown: self.counted_from_zero(shown),
                    u,
                })
            })
            .collect()
    }

    /// One count: from the register, from the profile, or from the last digit typed.
    pub(super) fn resolution(&self, ask: &CompareGauge) -> Result<f64, Refusal> {
        let own = self.entry.channels.get(usize::from(self.channel));
        let stated = own
            .and_then(|channel| channel.resolution)
            .or(self.entry.resolution);
        if let Some(stated) = stated {
            return in_unit(&stated.to_string(), self.unit.symbol());
        }
        // A mean that was read live has more digits than the gauge shows.
        let counts = ask.points.iter().map(|point| match &point.live {
            Some(live) => in_unit(&live.count, self.unit.symbol()),
            None => Ok(typed_step(&point.shown, self.unit)),
        });
        counts
            .into_iter()
            .try_fold(f64::INFINITY, |least, count| Ok(count?.min(least)))
    }

    /// What the samples of a comparison scattered by, in `unit`; nothing is known of a typed one.
    pub(super) fn scatter(&self, point: &ComparePoint) -> Option<f64> {
        let live = point.live.as_ref()?;
        in_unit(&live.scatter, self.unit.symbol()).ok()
    }

    pub(super) fn compared(
        &self,
        (point, asked): (&GaugeComparison, &ComparePoint),
        found: &GaugeCorrection,
        added: f64,
    ) -> ComparedPoint {
        ComparedPoint {
            truth: figure(point.truth, point.u, self.unit),
            shown: figure(point.shown, None, self.unit),
            error: point.shown + added - point.truth,
            left: point.shown + found.at(point.shown) - point.truth,
            scatter: self.scatter(asked),
        }
    }
}
