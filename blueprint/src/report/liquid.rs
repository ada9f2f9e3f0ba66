//! Volumes measured with liquid: by weight, and at temperatures other than 20 °C.
//!
//! A burette's reading is a volume of its glass at 20 °C; what left it took the liquid's density
//! there, and fills a chamber at the chamber's temperature and density. Where the temperatures are
//! not stated nothing is corrected, and the report says so. Source: `docs/formulas.md`, section 7.

use crate::engine::{Engine, Liquid, Stated};
use crate::figure::{Estimate, Scalar};
use crate::formula::air::moist_air;
use crate::formula::liquid::{at_20_degrees, left_burette, moved_volume, water_density, z_factor};

/// Density of the air about a balance where the room's air is not stated, kg/m³, and its standard
/// uncertainty: it lies between 1.1 and 1.25 in most shops.
const AIR: (f64, f64) = (1.18, 0.05);

/// What the engine file says of the liquid, made ready.
pub(super) struct Liquids<'a> {
    engine: &'a Engine,
}

impl<'a> Liquids<'a> {
    pub(super) fn new(engine: &'a Engine) -> Liquids<'a> {
        Liquids { engine }
    }

    fn stated(&self) -> &Liquid {
        &self.engine.liquid
    }

    fn burette(&self) -> Option<Estimate> {
        self.stated()
            .temperature
            .map(|t| t.estimate("liquid temperature"))
    }

    fn chamber(&self) -> Option<Estimate> {
        self.stated()
            .chamber_temperature
            .map(|t| t.estimate("chamber temperature"))
    }

    /// Density at a temperature in °C: of water by Tanaka, of another liquid as stated at the
    /// liquid's temperature, with its expansion.
    fn density(&self, t: Option<&Estimate>) -> Option<Estimate> {
        if self.stated().water {
            return t.map(water_density);
        }
        let density = self.stated().density?.estimate("liquid density");
        let (Some(expansion), Some(t), Some(at)) = (self.stated().expansion, t, self.burette())
        else {
            return Some(density);
        };
        let expansion = expansion.estimate("liquid expansion");
        let warmer = t.clone() - at;
        Some(density * (-(expansion * warmer)).offset(1.0))
    }

    fn air(&self) -> Estimate {
        let bench = &self.engine.flow;
        let of = |stated: Option<Stated>, name: &str| Some(stated?.estimate(name));
        let known = || {
            let pressure = of(bench.air_pressure, "air pressure")?;
            let temperature = of(bench.air_temperature, "air temperature")?;
            let humidity = of(bench.humidity, "air humidity")?.scale(0.01);
            Some(moist_air(&pressure, &temperature, &humidity).density)
        };
        let unknown = || Estimate::input("density of the air", AIR.0, Some(AIR.1), f64::INFINITY);
        known().unwrap_or_else(unknown)
    }

    /// Volume of one gram on the balance, cc, at the temperature where the liquid is measured: the
    /// chamber's where it is stated, else the liquid's. `None` without a density.
    pub(super) fn per_gram(&self) -> Option<Estimate> {
        let t = self.chamber().or_else(|| self.burette());
        Some(z_factor(&self.density(t.as_ref())?, &self.air()))
    }

    /// A chamber's volume at 20 °C, as far as what is stated allows.
    pub(super) fn chamber_at_20(&self, read: &Estimate, weighed: bool) -> Estimate {
        let mut volume = read.clone();
        let (burette, chamber) = (self.burette(), self.chamber());
        if !weighed {
            if let (Some(glass), Some(t)) = (self.stated().glass, &burette) {
                volume = left_burette(&volume, &Estimate::exact(glass), t);
            }
            if let (Some(from), Some(to)) = (&burette, &chamber)
                && let (true, Some(here), Some(there)) = (
                    self.expands(),
                    self.density(Some(from)),
                    self.density(Some(to)),
                )
            {
                volume = moved_volume(&volume, &here, &there);
            }
        }
        if let (Some(metal), Some(t)) = (self.engine.head.expansion, &chamber) {
            volume = at_20_degrees(&volume, &Estimate::exact(metal), t);
        }
        volume
    }

    /// Whether it is known how the liquid's density changes with its temperature.
    fn expands(&self) -> bool {
        self.stated().water || self.stated().expansion.is_some()
    }

    /// What was corrected, in a sentence.
    pub(super) fn remark(&self) -> String {
        let mut parts = Vec::new();
        let (burette, chamber) = (self.burette(), self.chamber());
        if self.stated().glass.is_some() && burette.is_some() {
            parts.push("the burette's glass");
        }
        if self.expands() && burette.is_some() && chamber.is_some() {
            parts.push("the liquid between burette and chamber");
        }
        if self.engine.head.expansion.is_some() && chamber.is_some() {
            parts.push("the head's metal");
        }
        if parts.is_empty() {
            return "Chamber volumes are as read: the temperatures of liquid and head are not stated, so nothing is corrected to 20 degC.".to_owned();
        }
        format!(
            "Chamber volumes are at 20 degC, corrected for {}.",
            parts.join(", ")
        )
    }
}
