//! Checks of a gauge by several comparisons: with masters, with another gauge, by water.
//!
//! The check is a fact of the job first; then the register has the correction, the uncertainty and
//! the date. What a correction is worth is the blueprint's to say.

use benchhand_blueprint::check::{
    About, Correction, Point, Water, column_pressure, correction, uncorrected, volume_per_gram,
    weight_per_volume,
};
use benchhand_blueprint::engine::Stated;
use benchhand_blueprint::formula::liquid::{BOROSILICATE, SODA_LIME};
use benchhand_blueprint::units::Kind;
use benchhand_blueprint::{Estimate, Quantity, Unit};
use benchhand_wire::{
    Against, CompareGauge, Compared, ComparedPoint, Figure, GaugeShows, Reason, Refusal, Shows,
    WaterSaid,
};

use super::gauges::{decimals_written, in_unit};
use super::readings::{bad, quantity};
use super::shop::{ShopGauge, main_kind};
use super::{Answers, Desk};
use crate::live::corrections;
use crate::store::fact::{Check, CheckPoint, Fact};
use crate::store::gauges::{Calibration, Channel, Gauge};
use crate::store::view::JobView;

impl Answers<GaugeShows> for Desk {
    fn answer(&self, ask: GaugeShows, _: Option<&str>) -> Result<Shows, Refusal> {
        let channels = self.shows(&ask.name)?;
        Ok(Shows { channels })
    }
}

/// A gauge under check, with what its numbers are counted from.
struct Under<'a> {
    gauge: &'a ShopGauge,
    entry: Gauge,
    channel: u8,
    kind: Kind,
    unit: Unit,
    /// What the gauge showed at its zero in this job, in `unit`; counted from there.
    zero: Option<f64>,
    /// What its master was then, in `unit`.
    nominal: Option<f64>,
    /// Whether its values are differences.
    deliveries: bool,
}

impl Answers<CompareGauge> for Desk {
    fn answer(&self, ask: CompareGauge, key: Option<&str>) -> Result<Compared, Refusal> {
        let gauge = self.shop.gauge(&ask.name)?;
        if let Some(bench) = &self.bench {
            let name = ask.name.clone();
            bench.with(move |bench| bench.not_on_a_route(&name))??;
        }
        let (view, _) = self.keeper.view(&ask.job)?;
        let under = Under::new(&ask, &gauge, &view)?;
        let masters = self.masters(&ask, &under, &view)?;
        let points = under.points(&ask, &masters)?;
        let resolution = under.resolution(&ask)?;
        let about = About {
            resolution,
            roundings: if under.deliveries { 2.0 } else { 1.0 },
            shared: masters.shared,
            repeatability: size_in(gauge.setup.repeatability.as_deref(), under.unit)?,
        };
        let found = correction(&points, &about).ok_or_else(|| bad("no comparison was given"))?;
        // What a person reads off a length gauge and types is the figure itself: nothing is added
        // to it, so its error stays.
        let found = if gauge.by_eye() && under.kind == Kind::Length {
            uncorrected(&points, found)
        } else {
            found
        };
        let in_force = corrections(&under.entry, &ask.name, &view);
        let in_force = in_force.get(usize::from(under.channel)).copied().flatten();
        let added = |shown: f64| match (&in_force, under.drivers_unit()) {
            (Some(correction), Some(unit)) => correction.at(shown, unit, under.deliveries),
            _ => 0.0,
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
        let allow = given.unwrap_or_else(|| resolution.max(2.0 * found.u.unwrap_or(0.0)));
        let within = |error: f64| error.abs() <= allow * (1.0 + 1e-9);
        let (passed, taken_over) = (within(worst) && within(found.left), within(found.left));
        self.remember_gauge(&ask.job, Some(&ask.name))?;
        let against = masters.said.clone();
        let fact = Fact::Check(Check {
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
        let ack = self.keeper.append(&ask.job, fact, key)?;
        if taken_over {
            let how = format!("{against}, check {} of job {}", ack.seq, ask.job);
            self.give(&ask, &under, &found, how)?;
        }
        Ok(Compared {
            id: ack.seq,
            unit: under.unit.symbol().to_owned(),
            points: points
                .iter()
                .map(|p| under.compared(p, &found, added(p.shown)))
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
            marked: if passed { Vec::new() } else { ack.touched },
        })
    }
}

/// The masters' values in the unit of the gauge under check, and what is known of them.
struct Masters {
    values: Vec<f64>,
    /// What one unit of a point's own uncertainty is in the gauge's unit, by the unit that it is
    /// stated in: the kind of the masters and the factor.
    kind: Kind,
    factor: f64,
    shared: Option<f64>,
    said: String,
}

impl Desk {
    fn shows(&self, name: &str) -> Result<Vec<benchhand_wire::ChannelShows>, Refusal> {
        let name = name.to_owned();
        self.bench()?.with(move |bench| bench.shows(&name))?
    }

    /// What the masters truly were.
    fn masters(
        &self,
        ask: &CompareGauge,
        under: &Under<'_>,
        view: &JobView,
    ) -> Result<Masters, Refusal> {
        let (kind, each) = match (ask.against, &ask.water) {
            (Against::Masters, None) => (under.kind, None),
            (Against::Water, Some(said)) => {
                let (kind, each) = by_water(under.kind, &water(said)?)?;
                (kind, Some(each))
            }
            _ => {
                return Err(
                    bad("a check by water needs its temperature, and only that one does")
                        .todo("say it: --by-water \"21.5 degC\""),
                );
            }
        };
        // In the base unit of the gauge's kind for each base unit of the masters' kind.
        let factor = each.as_ref().map_or(1.0, Estimate::value);
        let own_unit = under.unit;
        let to_unit = |base: f64| match kind == under.kind {
            true => own_unit.from_base(base),
            false => own_unit.from_base(base * factor),
        };
        let other = ask
            .with
            .as_ref()
            .map(|name| self.shop.gauge(name))
            .transpose()?;
        let other = match &other {
            Some(other) => Some(Reference::new(other, view)?),
            None => None,
        };
        let mut values = Vec::new();
        for point in &ask.points {
            let mut master = quantity(&point.master, kind)?;
            if let Some(other) = &other {
                master.value += other.added(master, under.deliveries);
            }
            values.push(to_unit(master.base()));
        }
        let largest = values.iter().fold(0.0, |most: f64, v| most.max(v.abs()));
        let in_own = |base: f64| base * factor / own_unit.difference_to_base(1.0);
        let stated = match &ask.u {
            Some(text) => Some(in_own(size_base(text, kind)?)),
            None => None,
        };
        let parts = [
            stated,
            other.as_ref().and_then(|other| Some(in_own(other.u?))),
            each.as_ref()
                .and_then(|each| Some(largest * each.u()? / each.value())),
        ];
        let known = match ask.against {
            // Water's own share says nothing of the balance or the ruler.
            Against::Water => stated.is_some() || other.as_ref().is_some_and(|o| o.u.is_some()),
            Against::Masters => parts.iter().any(Option::is_some),
        };
        let squares = parts.iter().flatten().map(|u| u * u).sum::<f64>();
        let own = ask.points.iter().any(|point| point.u.is_some());
        Ok(Masters {
            shared: (known || own).then(|| squares.sqrt()),
            said: said(ask, values.len()),
            values,
            kind,
            factor,
        })
    }

    /// The register has what the check found from now on, and so has whoever listens to the gauge.
    fn give(
        &self,
        ask: &CompareGauge,
        under: &Under<'_>,
        found: &Correction,
        how: String,
    ) -> Result<(), Refusal> {
        // A person reads the register; what the digits beyond say is far below `u`.
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
                correction: Some(offset),
                scale: Some(scale).filter(|&scale| scale != 0.0),
                deliveries,
                checked: Some(today),
                how: Some(how),
            });
        })?;
        if let Some(bench) = &self.bench {
            bench.with(move |bench| bench.known_anew(gauge))?;
        }
        self.remember_gauge(&ask.job, Some(&ask.name))
    }
}

/// Another gauge that gives the masters' values.
struct Reference {
    correction: Option<crate::live::Correction>,
    /// Standard uncertainty, base units.
    u: Option<f64>,
}

impl Reference {
    fn new(other: &ShopGauge, view: &JobView) -> Result<Reference, Refusal> {
        let entry: Gauge = toml::from_str(&other.text).map_err(bad)?;
        let known = super::register::as_blueprint(&entry, main_kind(&other.profile))?;
        let rounding = known.resolution.map(|q| q / 12f64.sqrt());
        let u = known.u.map(|u| u.hypot(rounding.unwrap_or(0.0)));
        let correction = corrections(&entry, &other.setup.name, view)
            .first()
            .copied()
            .flatten();
        Ok(Reference { correction, u })
    }

    fn added(&self, shown: Quantity, delivered: bool) -> f64 {
        let unit = shown.unit.symbol().parse();
        match (&self.correction, unit) {
            (Some(correction), Ok(unit)) => correction.at(shown.value, unit, delivered),
            _ => 0.0,
        }
    }
}

impl<'a> Under<'a> {
    fn new(ask: &CompareGauge, gauge: &'a ShopGauge, view: &JobView) -> Result<Under<'a>, Refusal> {
        let entry: Gauge = toml::from_str(&gauge.text).map_err(bad)?;
        let channels = gauge.profile.channels();
        let number = match &ask.channel {
            None => 0,
            Some(name) => channels
                .iter()
                .position(|c| c.name == *name)
                .ok_or_else(|| {
                    let names: Vec<&str> = channels.iter().map(|c| c.name.as_str()).collect();
                    Refusal::new(
                        Reason::NotFound,
                        format!("{} has no channel {name:?}", ask.name),
                    )
                    .expected(format!("one of {}", names.join(", ")))
                })?,
        };
        let first = ask.points.first().ok_or_else(|| {
            bad("no comparison was given").todo("give at least one; several tell more")
        })?;
        let shown: Quantity = first.shown.parse().map_err(bad)?;
        let measures = channels
            .get(number)
            .and_then(|channel| kind_of(channel.kind))
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
        let volumes = ask.against == Against::Water && measures == Kind::Mass;
        Ok(Under {
            entry,
            gauge,
            channel: u8::try_from(number).unwrap_or(u8::MAX),
            kind: measures,
            unit: shown.unit,
            zero: zero.filter(|_| measures == Kind::Length),
            nominal,
            deliveries: measures == Kind::Volume || volumes,
        })
    }

    fn drivers_unit(&self) -> Option<benchhand_drivers::Unit> {
        self.unit.symbol().parse().ok()
    }

    /// What the plunger is pushed in, where the gauge counts from a zero; else what is shown.
    fn counted_from_zero(&self, raw: f64) -> f64 {
        match self.zero {
            Some(zero) => f64::from(self.gauge.setup.sense) * (raw - zero),
            None => raw,
        }
    }

    fn counted(&self) -> &'static str {
        match (self.zero, self.deliveries) {
            (Some(_), _) => "what the plunger is pushed in from its zero",
            (None, true) => "what was delivered",
            (None, false) => "what it shows",
        }
    }

    fn points(&self, ask: &CompareGauge, masters: &Masters) -> Result<Vec<Point>, Refusal> {
        let pairs = ask.points.iter().zip(&masters.values);
        pairs
            .map(|(point, &master)| {
                let shown = quantity(&point.shown, self.kind)?;
                let shown = shown.to(self.unit).map_err(bad)?;
                // In a bore a plunger that is pushed in means a smaller diameter than the ring's.
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
                Ok(Point {
                    truth,
                    shown: self.counted_from_zero(shown),
                    u,
                })
            })
            .collect()
    }

    /// One count: as the register states it, as the profile does, or the last digit typed.
    fn resolution(&self, ask: &CompareGauge) -> Result<f64, Refusal> {
        let own = self.entry.channels.get(usize::from(self.channel));
        let stated = own
            .and_then(|channel| channel.resolution)
            .or(self.entry.resolution);
        if let Some(stated) = stated {
            return in_unit(&stated.to_string(), self.unit.symbol());
        }
        let typed = ask
            .points
            .iter()
            .map(|p| 10f64.powi(-decimals_written(&p.shown)));
        Ok(typed.fold(f64::INFINITY, f64::min))
    }

    fn compared(&self, point: &Point, found: &Correction, added: f64) -> ComparedPoint {
        ComparedPoint {
            truth: figure(point.truth, point.u, self.unit),
            shown: figure(point.shown, None, self.unit),
            error: point.shown + added - point.truth,
            left: point.shown + found.at(point.shown) - point.truth,
        }
    }
}

/// A number to six significant digits.
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

fn check_point(point: &Point) -> CheckPoint {
    CheckPoint {
        truth: point.truth,
        shown: point.shown,
        u: point.u,
    }
}

fn said(ask: &CompareGauge, points: usize) -> String {
    let with = ask
        .with
        .as_ref()
        .map_or_else(String::new, |name| format!(" by {name}"));
    match (ask.against, points) {
        (Against::Water, _) => format!("water{with}, {points} points"),
        (Against::Masters, 1) => format!("one master{with}"),
        (Against::Masters, _) => format!("{points} masters{with}"),
    }
}

/// What water gives for one base unit of what is measured of it, in the base unit of the gauge.
fn by_water(gauge: Kind, water: &Water) -> Result<(Kind, Estimate), Refusal> {
    match gauge {
        Kind::Volume => Ok((Kind::Mass, volume_per_gram(water))),
        Kind::Mass => Ok((Kind::Volume, weight_per_volume(water))),
        Kind::Pressure => Ok((Kind::Length, column_pressure(water))),
        _ => Err(bad(
            "only burettes, balances and manometers are checked by water",
        )),
    }
}

fn water(said: &WaterSaid) -> Result<Water, Refusal> {
    let temperature = Stated::parse(&said.temperature, Kind::Temperature).map_err(bad)?;
    if !(0.0..=40.0).contains(&temperature.value) {
        return Err(bad(format!("water of {}", said.temperature)).expected("0 to 40 degC"));
    }
    let glass = match said.glass.as_deref() {
        None => 0.0,
        Some("borosilicate") => BOROSILICATE,
        Some("soda-lime") => SODA_LIME,
        Some(number) => number
            .parse()
            .ok()
            .filter(|g| (0.0..1e-2).contains(g))
            .ok_or_else(|| {
                bad(format!("glass {number:?}"))
                    .expected("borosilicate, soda-lime, or its cubic expansion per K")
            })?,
    };
    let air = said.air.as_deref().map(air).transpose()?;
    let gravity = match said.gravity.as_deref() {
        None => None,
        Some(text) => {
            let number = text.trim_end_matches("m/s2").trim().parse().ok();
            let real = number.filter(|g| (9.7..9.9).contains(g));
            Some(
                real.ok_or_else(|| bad(format!("gravity {text:?}")).expected("9.78 to 9.83 m/s2"))?,
            )
        }
    };
    Ok(Water {
        temperature: (temperature.value, temperature.u),
        glass,
        air,
        gravity,
    })
}

/// `1013 hPa, 21 degC, 45 %RH` in any order.
fn air(text: &str) -> Result<(f64, f64, f64), Refusal> {
    let (mut pressure, mut t, mut humidity) = (None, None, None);
    for part in text.split(',') {
        let one: Quantity = part.parse().map_err(bad)?;
        match one.unit.kind() {
            Kind::Pressure => pressure = Some(one.base()),
            Kind::Temperature => t = Some(one.base()),
            Kind::Humidity => humidity = Some(one.base() / 100.0),
            _ => return Err(bad(format!("{part} says nothing of air"))),
        }
    }
    match (pressure, t, humidity) {
        (Some(pressure), Some(t), Some(humidity)) => Ok((pressure, t, humidity)),
        _ => Err(bad(format!("air {text:?}")).expected("as \"1013 hPa, 21 degC, 45 %RH\"")),
    }
}

/// The size of an uncertainty in the base unit of its kind.
fn size_base(text: &str, kind: Kind) -> Result<f64, Refusal> {
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

fn kind_of(kind: benchhand_drivers::Kind) -> Option<Kind> {
    use benchhand_drivers::Kind as Own;
    Some(match kind {
        Own::Length => Kind::Length,
        Own::Volume => Kind::Volume,
        Own::Mass => Kind::Mass,
        Own::Pressure => Kind::Pressure,
        Own::Temperature => Kind::Temperature,
        Own::Humidity => Kind::Humidity,
        Own::Angle => Kind::Angle,
        Own::Flow => Kind::Flow,
        Own::Number => return None,
    })
}
