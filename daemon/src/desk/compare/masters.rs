//! The true values of a check's masters: as stated, by another gauge, or by water.

use benchhand_blueprint::check::{CheckWater, column_pressure, volume_per_gram, weight_per_volume};
use benchhand_blueprint::engine::StatedValue;
use benchhand_blueprint::formula::liquid::{BOROSILICATE, SODA_LIME};
use benchhand_blueprint::units::{QuantityKind, parted};
use benchhand_blueprint::{Estimate, Quantity};
use benchhand_wire::{Against, CompareGauge, Refusal, WaterSaid};

use super::size_base;
use super::under::{Masters, Under};
use crate::desk::Desk;
use crate::known::correcting::corrections;
use crate::known::kinds::main_kind;
use crate::known::quantities::{bad, quantity};
use crate::known::shop::ShopGauge;
use crate::store::gauges::RegisterEntry;
use crate::store::view::JobView;

impl Desk {
    /// The true values of the masters.
    pub(super) fn masters(
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
        // In the base unit of the gauge's kind, for each base unit of the masters' kind.
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
            // The uncertainty of water itself says nothing of the balance or the ruler.
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
}

/// Another gauge that gives the values of the masters.
struct Reference {
    correction: Option<crate::known::correcting::ChannelCorrection>,
    /// Standard uncertainty, in base units.
    u: Option<f64>,
}

impl Reference {
    fn new(other: &ShopGauge, view: &JobView) -> Result<Reference, Refusal> {
        let entry: RegisterEntry = toml::from_str(&other.text).map_err(bad)?;
        let known = crate::known::register::as_blueprint(&entry, main_kind(&other.profile))?;
        let rounding = known.resolution.map(|q| q / 12f64.sqrt());
        let u = known.u.map(|u| u.hypot(rounding.unwrap_or(0.0)));
        let correction = corrections(&entry, &other.setup.name, view)
            .first()
            .copied()
            .flatten();
        Ok(Reference { correction, u })
    }

    fn added(&self, shown: Quantity, delivered: bool) -> f64 {
        self.correction.map_or(0.0, |correction| {
            correction.at(shown.value, shown.unit, delivered)
        })
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

/// What water gives for one base unit of the masters' kind, in the base unit of the gauge.
fn by_water(gauge: QuantityKind, water: &CheckWater) -> Result<(QuantityKind, Estimate), Refusal> {
    match gauge {
        QuantityKind::Volume => Ok((QuantityKind::Mass, volume_per_gram(water))),
        QuantityKind::Mass => Ok((QuantityKind::Volume, weight_per_volume(water))),
        QuantityKind::Pressure => Ok((QuantityKind::Length, column_pressure(water))),
        _ => Err(bad(
            "only burettes, balances and manometers are checked by water",
        )),
    }
}

fn water(said: &WaterSaid) -> Result<CheckWater, Refusal> {
    let temperature =
        StatedValue::parse(&said.temperature, QuantityKind::Temperature).map_err(bad)?;
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
    Ok(CheckWater {
        temperature: (temperature.value, temperature.u),
        glass,
        air,
        gravity,
    })
}

/// `1013 hPa, 21 degC, 45 %RH` in any order.
fn air(text: &str) -> Result<(f64, f64, f64), Refusal> {
    let (mut pressure, mut t, mut humidity) = (None, None, None);
    for part in parted(text).map_err(bad)? {
        let one: Quantity = part.parse().map_err(bad)?;
        match one.unit.kind() {
            QuantityKind::Pressure => pressure = Some(one.base()),
            QuantityKind::Temperature => t = Some(one.base()),
            QuantityKind::Humidity => humidity = Some(one.base() / 100.0),
            _ => return Err(bad(format!("{part} says nothing of air"))),
        }
    }
    match (pressure, t, humidity) {
        (Some(pressure), Some(t), Some(humidity)) => Ok((pressure, t, humidity)),
        _ => Err(bad(format!("air {text:?}")).expected("as \"1013 hPa, 21 degC, 45 %RH\"")),
    }
}
