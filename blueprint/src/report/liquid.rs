//! Volumes measured with liquid: by weight, and at temperatures other than 20 °C.
//!
//! A burette's scale holds at 20 °C. The liquid leaves it at the liquid's temperature and fills a
//! chamber at the chamber's temperature. Where a temperature is not stated and nobody was asked,
//! nothing is corrected. Where somebody was asked and did not say, the uncertainty is widened. The
//! report says which. Source: `docs/formulas.md`, section 7.

mod said;
mod set_up;

pub(super) use said::remarks;

use std::sync::Arc;

use super::surroundings;
use crate::engine::Engine;
use crate::figure::{ErrorShape, ErrorSource, Estimate, Scalar, SourceId};
use crate::formula::air::moist_air;
use crate::formula::flow::RoomAir;
use crate::formula::liquid::{at_20_degrees, left_burette, moved_volume, water_density, z_factor};
use crate::readings::Reading;

/// Density of the air about a balance where the room's air is not stated, kg/m³, and its standard
/// uncertainty: it lies between 1.1 and 1.25 in most shops.
const AIR: (f64, f64) = (1.18, 0.05);
/// A shop is between 13 and 27 °C (common practice, no source).
const SHOP: (f64, f64) = (20.0, 7.0);
/// Liquid and part that stand in one shop are within 2 K of each other (common practice, no
/// source).
const APART: f64 = 2.0;
/// Cubic expansion per K of an unknown liquid: between that of water and that of spirits, from the
/// densities of `liquid_density.csv`.
const EXPANSION: (f64, f64) = (0.000_65, 0.000_45);
const BETWEEN: &str = "the liquid between burette and chamber";
const METAL: &str = "the head's metal";
const METAL_AS_LIQUID: &str = "the head's metal (taken to be as warm as the liquid)";

/// Volume of one gram on the balance for the readings of one spot, cc; `None` where the liquid of
/// one of them has no known density.
pub(super) fn per_gram(engine: &Engine, readings: &[&Reading]) -> Option<Estimate> {
    mean(engine, readings, |liquids| liquids.per_gram())
}

/// Volume of one gram on the balance as a burette would have read it under the same conditions, cc, for
/// a spot that was weighed and poured: what was poured is corrected with it afterwards.
pub(super) fn per_gram_as_read(engine: &Engine, readings: &[&Reading]) -> Option<Estimate> {
    let poured = mean(engine, readings, |liquids| Some(liquids.poured(false)))?;
    Some(per_gram(engine, readings)? / poured)
}

/// A chamber's volume at 20 °C from the mean of its readings, as far as what is known allows, less
/// what stands in the fill hole.
pub(super) fn chamber_at_20(
    engine: &Engine,
    readings: &[&Reading],
    read: &Estimate,
    weighed: bool,
) -> Estimate {
    let factor = mean(engine, readings, |liquids| Some(liquids.to_20(weighed)));
    let volume = factor.map_or_else(|| read.clone(), |factor| read * factor);
    match set_up::taken_off(readings) {
        Some(beside) => volume - beside,
        None => volume,
    }
}

/// A volume that was poured in the bore as it stood there, from the mean of its readings, as far as
/// what is known allows. The bore and the depth beside it are as warm: it is not brought to 20 °C.
pub(super) fn poured_in_bore(
    engine: &Engine,
    readings: &[&Reading],
    read: &Estimate,
    weighed: bool,
) -> Estimate {
    let factor = mean(engine, readings, |liquids| Some(liquids.poured(weighed)));
    factor.map_or_else(|| read.clone(), |factor| read * factor)
}

/// The mean over the readings of something that follows from the conditions of each.
fn mean(
    engine: &Engine,
    readings: &[&Reading],
    of: impl Fn(&Liquids<'_>) -> Option<Estimate>,
) -> Option<Estimate> {
    let all = readings.len() as f64;
    let mut sum = Estimate::exact(0.0);
    for (count, liquids) in Liquids::each(engine, readings) {
        sum = sum + of(&liquids)?.scale(count as f64 / all);
    }
    (!readings.is_empty()).then_some(sum)
}

/// The liquid, the temperatures and the air of readings that were made under the same conditions.
struct Liquids<'a> {
    engine: &'a Engine,
    what: What,
    /// Whether somebody was asked for what is not known.
    asked: bool,
    burette: Option<Estimate>,
    chamber: Option<Estimate>,
    air: Option<RoomAir<Estimate>>,
}

/// Which liquid it is.
#[derive(Clone, Copy, PartialEq)]
enum What {
    Water,
    /// As the engine file states it.
    Stated,
    /// A liquid whose name does not tell its density.
    Unknown,
}

impl<'a> Liquids<'a> {
    /// For each set of conditions under which readings were made: how many, and what holds there.
    fn each(engine: &'a Engine, readings: &[&Reading]) -> Vec<(usize, Liquids<'a>)> {
        let mut groups: Vec<Vec<&Reading>> = Vec::new();
        for reading in readings {
            let same = |group: &&mut Vec<&Reading>| group[0].conditions == reading.conditions;
            match groups.iter_mut().find(same) {
                Some(group) => group.push(reading),
                None => groups.push(vec![reading]),
            }
        }
        groups
            .iter()
            .map(|group| (group.len(), Liquids::under(engine, group[0])))
            .collect()
    }

    fn under(engine: &'a Engine, reading: &Reading) -> Liquids<'a> {
        let stated = &engine.liquid;
        let said = reading.conditions.as_deref();
        let of = |said, stated, name| surroundings::mean_of(&[reading], said, stated, name);
        Liquids {
            engine,
            what: match said.and_then(|said| said.liquid.as_deref()) {
                Some("water") => What::Water,
                None if stated.water => What::Water,
                None => What::Stated,
                // The density in the engine file counts as that of the liquid that was said.
                Some(_) if !stated.water && stated.density.is_some() => What::Stated,
                Some(_) => What::Unknown,
            },
            asked: said.is_some_and(|said| said.asked),
            burette: of(
                |said| said.liquid_temperature.as_ref(),
                stated.temperature,
                "liquid temperature",
            ),
            chamber: of(
                |said| said.chamber_temperature.as_ref(),
                stated.chamber_temperature,
                "chamber temperature",
            ),
            air: surroundings::room(engine, &[reading]),
        }
    }

    /// The liquid's temperature; a shop's where it was asked for and not said.
    fn liquid_temperature(&self) -> Option<Estimate> {
        let unsaid = || limits("liquid temperature, not said", SHOP.0, SHOP.1);
        self.burette.clone().or_else(|| self.asked.then(unsaid))
    }

    /// The part's temperature; near the liquid's where it was asked for and not said.
    fn part_temperature(&self) -> Option<Estimate> {
        let unsaid = || {
            let liquid = self.liquid_temperature()?;
            Some(liquid + limits("part against liquid, not said", 0.0, APART))
        };
        self.chamber
            .clone()
            .or_else(|| self.asked.then(unsaid).flatten())
    }

    /// Density at a temperature in °C: of water by Tanaka, of another liquid as stated at the
    /// liquid's temperature, with its expansion.
    fn density(&self, t: Option<&Estimate>) -> Option<Estimate> {
        let stated = &self.engine.liquid;
        match self.what {
            What::Water => return t.map(water_density),
            What::Unknown => return None,
            What::Stated => {}
        }
        let density = stated
            .density?
            .measured(SourceId::condition("liquid density"));
        let at = stated
            .temperature
            .map(|t| t.measured(SourceId::condition("liquid temperature")));
        let (Some(expansion), Some(t), Some(at)) = (stated.expansion, t, at) else {
            return Some(density);
        };
        let expansion = expansion.measured(SourceId::condition("liquid expansion"));
        let warmer = t - at;
        Some(density * (-(expansion * warmer)).offset(1.0))
    }

    fn air_density(&self) -> Estimate {
        match &self.air {
            Some(room) => moist_air(&room.pressure, &room.temperature, &room.humidity).density,
            None => Estimate::input(
                SourceId::condition("density of the air"),
                AIR.0,
                Some(AIR.1),
                f64::INFINITY,
            ),
        }
    }

    /// Volume of one gram on the balance, cc, at the temperature where the liquid is measured: the
    /// chamber's where it is known, else the liquid's. `None` without a density.
    fn per_gram(&self) -> Option<Estimate> {
        let t = self.chamber.clone().or_else(|| self.liquid_temperature());
        // If nobody asked for the water's temperature, it still lies within a shop's range.
        let water = self.what == What::Water;
        let t = t.or_else(|| water.then(|| limits("liquid temperature, not said", SHOP.0, SHOP.1)));
        Some(z_factor(&self.density(t.as_ref())?, &self.air_density()))
    }

    /// The factor from the volume as read to the chamber's volume at 20 °C.
    fn to_20(&self, weighed: bool) -> Estimate {
        let volume = self.poured(weighed);
        match (self.engine.head.expansion, &self.part_temperature()) {
            (Some(metal), Some(t)) => at_20_degrees(&volume, &Estimate::exact(metal), t),
            _ => volume,
        }
    }

    /// The factor from the volume as read to the volume of the liquid where it was poured.
    fn poured(&self, weighed: bool) -> Estimate {
        let mut volume = Estimate::exact(1.0);
        let (burette, part) = (self.liquid_temperature(), self.part_temperature());
        if !weighed {
            if let (Some(glass), Some(t)) = (self.engine.liquid.glass, &burette) {
                volume = left_burette(&volume, &Estimate::exact(glass), t);
            }
            if let (Some(from), Some(to)) = (&burette, &part) {
                volume = self.moved(&volume, from, to);
            }
        }
        volume
    }

    /// A volume that was measured at one temperature and stands at another.
    fn moved(&self, volume: &Estimate, from: &Estimate, to: &Estimate) -> Estimate {
        let densities = (self.density(Some(from)), self.density(Some(to)));
        match densities {
            (Some(here), Some(there)) if self.expands() => moved_volume(volume, &here, &there),
            _ if self.asked => {
                let expansion = limits("expansion of the liquid, not said", EXPANSION.0, {
                    EXPANSION.1
                });
                volume * (expansion * (to - from)).offset(1.0)
            }
            _ => volume.clone(),
        }
    }

    /// Whether it is known how the liquid's density changes with its temperature.
    fn expands(&self) -> bool {
        match self.what {
            What::Water => true,
            What::Stated => self.engine.liquid.expansion.is_some(),
            What::Unknown => false,
        }
    }

    /// The corrections that are made. A weighed liquid did not pass a burette's glass.
    fn corrected(&self, weighed: bool) -> Vec<&'static str> {
        let mut parts = Vec::new();
        if weighed {
            parts.push("the buoyancy of the air");
        } else {
            if self.engine.liquid.glass.is_some() && self.burette.is_some() {
                parts.push("the burette's glass");
            }
            let both = self.burette.is_some() && self.chamber.is_some();
            if both && (self.expands() || self.asked) {
                parts.push(BETWEEN);
            }
        }
        match (&self.chamber, &self.burette) {
            _ if self.engine.head.expansion.is_none() => {}
            (Some(_), _) => parts.push(METAL),
            (None, Some(_)) if self.asked => {
                parts.push(METAL_AS_LIQUID);
            }
            _ => {}
        }
        parts
    }

    /// The corrections that a volume at 20 °C would need too, each with what is not stated.
    fn lacking(&self, weighed: bool) -> Vec<&'static str> {
        let mut parts = Vec::new();
        // An answer that nobody gave is taken within limits: it widens the uncertainty and is not
        // lacking.
        if !weighed && !self.asked {
            match (&self.burette, &self.chamber) {
                (Some(_), Some(_)) if self.expands() => {}
                (Some(_), Some(_)) => parts.push("the liquid (its expansion is not stated)"),
                (Some(_), None) => {
                    parts.push("the liquid (the chamber's temperature is not stated)")
                }
                (None, _) => parts.push("the liquid (its temperature is not stated)"),
            }
        }
        if self.engine.head.expansion.is_none() {
            parts.push("the head's metal (it is not stated)");
        } else if self.part_temperature().is_none() {
            parts.push("the head's metal (its temperature is not stated)");
        }
        parts
    }

    /// The conditions that nobody answered, by their names.
    fn unsaid(&self) -> Vec<&'static str> {
        let liquid = match self.what {
            What::Stated if self.engine.liquid.density.is_some() => "expansion of the liquid",
            _ => "liquid",
        };
        let all = [
            (liquid, !self.expands()),
            ("liquid/temperature", self.burette.is_none()),
            ("chamber/temperature", self.chamber.is_none()),
        ];
        let unsaid = |(name, unsaid): (_, bool)| (self.asked && unsaid).then_some(name);
        all.into_iter().filter_map(unsaid).collect()
    }
}

/// A value that lies within limits about a middle.
fn limits(name: &str, middle: f64, half_width: f64) -> Estimate {
    let source: Arc<ErrorSource> = ErrorSource::limits(
        SourceId::condition(name),
        half_width,
        ErrorShape::Rectangular,
        f64::INFINITY,
    );
    Estimate::new(middle, source)
}
