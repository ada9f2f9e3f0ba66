//! Checks of a gauge by several comparisons: with masters, with another gauge, by water.
//!
//! The check becomes a fact of the job first. Then the register gets the correction, the
//! uncertainty and the date. The blueprint decides what a correction is worth.

mod masters;
mod under;

use benchhand_blueprint::Unit;
use benchhand_blueprint::check::{
    ComparisonConditions, GaugeComparison, GaugeCorrection, correction, keeps_to, uncorrected,
};
use benchhand_blueprint::units::QuantityKind;
use benchhand_wire::{CompareGauge, Compared, Figure, GaugeShows, Refusal, Shows};

use super::gauges::in_unit;
use super::{Answers, Desk};
use crate::known::correcting::corrections;
use crate::known::quantities::{bad, quantity};
use crate::store::fact::{CheckPoint, CheckedGauge, Fact};
use crate::store::gauges::{Calibration, Channel};
use under::Under;

impl Answers<GaugeShows> for Desk {
    fn answer(&self, ask: GaugeShows, _: Option<&str>) -> Result<Shows, Refusal> {
        let channels = self.shows(&ask.name)?;
        Ok(Shows { channels })
    }
}

impl Answers<CompareGauge> for Desk {
    fn answer(&self, ask: CompareGauge, key: Option<&str>) -> Result<Compared, Refusal> {
        let gauge = self.shop.gauge(&ask.name)?;
        if let Some(station) = &self.station {
            let name = ask.name.clone();
            station.with(move |station| station.not_on_a_route(&name))??;
        }
        let (view, _) = self.keeper.view(&ask.job)?;
        let under = Under::new(&ask, &gauge, &view)?;
        let masters = self.masters(&ask, &under, &view)?;
        let points = under.points(&ask, &masters)?;
        let resolution = under.resolution(&ask)?;
        let about = ComparisonConditions {
            resolution,
            roundings: if under.deliveries { 2.0 } else { 1.0 },
            shared: masters.shared,
            repeatability: size_in(gauge.setup.repeatability.as_deref(), under.unit)?,
        };
        let found = correction(&points, &about).ok_or_else(|| bad("no comparison was given"))?;
        // A person who reads a length gauge by eye types the figure itself. Nothing is added to it,
        // so its error stays.
        let found = if gauge.by_eye() && under.kind == QuantityKind::Length {
            uncorrected(&points, found)
        } else {
            found
        };
        let in_force = corrections(&under.entry, &ask.name, &view);
        let in_force = in_force.get(usize::from(under.channel)).copied().flatten();
        let added = |shown: f64| {
            in_force.map_or(0.0, |correction| {
                correction.at(shown, under.unit, under.deliveries)
            })
        };
        let errors = points.iter().map(|p| p.shown + added(p.shown) - p.truth);
        let worst = errors.fold(
            0.0,
            |most: f64, e| if e.abs() > most.abs() { e } else { most },
        );
        let given = ask.allow.as_deref();
        let given = given
            .map(|text| in_unit(text, under.unit.symbol()))
            .transpose()?;
        let allow = given.unwrap_or_else(|| resolution.max(2.0 * found.explained.unwrap_or(0.0)));
        let within = |error: f64| keeps_to(error, allow, resolution);
        let (passed, taken_over) = (within(worst) && within(found.left), within(found.left));
        let against = masters.said.clone();
        let fact = Fact::Check(CheckedGauge {
            gauge: ask.name.clone(),
            channel: under.channel,
            result: worst,
            expected: None,
            unit: under.unit.symbol().to_owned(),
            passed: Some(passed),
            u: found.u.filter(|&u| u > 0.0),
            correction: taken_over.then_some(found.offset),
            against: against.clone(),
            scale: Some(found.scale).filter(|&scale| taken_over && scale != 0.0),
            allow: Some(allow),
            points: points.iter().map(check_point).collect(),
        });
        let ack =
            self.keep_with_gauges(&ask.job, [ask.name.as_str()], key, |_| Ok(fact.clone()))?;
        if taken_over {
            let how = format!("{against}, check {} of job {}", ack.seq, ask.job);
            self.give(&ask, &under, &found, how)?;
        }
        let marked = if passed { Vec::new() } else { ack.touched };
        Ok(Compared {
            id: ack.seq,
            marked_numbers: self.said_numbers(&ask.job, &marked)?,
            unit: under.unit.symbol().to_owned(),
            points: points
                .iter()
                .zip(&ask.points)
                .map(|(p, asked)| under.compared((p, asked), &found, added(p.shown)))
                .collect(),
            worst,
            left: found.left,
            allow,
            correction: figure(found.offset, found.u, under.unit),
            scale: Figure {
                value: found.scale,
                u: None,
                unit: "1".to_owned(),
            },
            repeat: found.repeat,
            passed,
            taken_over,
            counted: under.counted().to_owned(),
            marked,
        })
    }
}

impl Desk {
    fn shows(&self, name: &str) -> Result<Vec<benchhand_wire::ChannelShows>, Refusal> {
        let name = name.to_owned();
        self.station()?.with(move |station| station.shows(&name))?
    }

    /// The register, and the station that listens to the gauge, get the result of the check.
    fn give(
        &self,
        ask: &CompareGauge,
        under: &Under<'_>,
        found: &GaugeCorrection,
        how: String,
    ) -> Result<(), Refusal> {
        // People read the register; digits beyond these are far below `u`.
        let size = |value: f64| format!("{} {}", tidy(value), under.unit.symbol()).parse();
        let offset = size(found.offset).map_err(bad)?;
        let u = found
            .u
            .filter(|&u| u > 0.0)
            .map(size)
            .transpose()
            .map_err(bad)?;
        let today = self.keeper.clock().now_utc();
        let today = today.to_zoned(jiff::tz::TimeZone::UTC).date();
        let (channel, deliveries, scale) = (under.channel, under.deliveries, tidy(found.scale));
        let count = under.gauge.profile.channels().len();
        let names: Vec<String> = under
            .gauge
            .profile
            .channels()
            .iter()
            .map(|c| c.name.clone())
            .collect();
        let gauge = self.shop.change(&ask.name, |gauge| {
            let known = if channel == 0 {
                &mut gauge.calibration
            } else {
                while gauge.channels.len() < count {
                    let role = names[gauge.channels.len()].clone();
                    gauge.channels.push(Channel {
                        role,
                        ..Channel::default()
                    });
                }
                &mut gauge.channels[usize::from(channel)].calibration
            };
            *known = Some(Calibration {
                u,
                scale_u: None,
                repeatability: known.as_ref().and_then(|known| known.repeatability),
                repeatability_dof: known.as_ref().and_then(|known| known.repeatability_dof),
                correction: Some(offset),
                scale: Some(scale).filter(|&scale| scale != 0.0),
                deliveries,
                checked: Some(today),
                how: Some(how),
            });
        })?;
        if let Some(station) = &self.station {
            station.with(move |station| station.known_anew(gauge))?;
        }
        self.remember_gauge(&ask.job, &ask.name)
    }
}

/// A number rounded to six significant digits.
fn tidy(value: f64) -> f64 {
    format!("{value:.5e}").parse().unwrap_or(value)
}

fn figure(value: f64, u: Option<f64>, unit: Unit) -> Figure {
    Figure {
        value,
        u,
        unit: unit.symbol().to_owned(),
    }
}

fn check_point(point: &GaugeComparison) -> CheckPoint {
    CheckPoint {
        truth: point.truth,
        shown: point.shown,
        u: point.u,
    }
}

/// An uncertainty in the base unit of its kind.
fn size_base(text: &str, kind: QuantityKind) -> Result<f64, Refusal> {
    let size = quantity(text, kind)?;
    let base = size.unit.difference_to_base(size.value);
    if base < 0.0 {
        return Err(bad(format!("u = {text} is negative")));
    }
    Ok(base)
}

fn size_in(text: Option<&str>, unit: Unit) -> Result<Option<f64>, Refusal> {
    let Some(text) = text else { return Ok(None) };
    Ok(Some(
        size_base(text, unit.kind())? / unit.difference_to_base(1.0),
    ))
}
