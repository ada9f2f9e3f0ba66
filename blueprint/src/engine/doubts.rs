//! What is odd about an engine as it is stated, before anything is measured: a slip of the pen, most
//! often.
//!
//! The bounds are outer bounds, far beyond what is wanted: common practice, no source. They ask for
//! a second look. No figure and no verdict rests on them.

#![allow(clippy::arithmetic_side_effects, reason = "sizes are floats")]

use super::{Engine, LengthUnits, NominalFigures};
use crate::figure::{Estimate, Scalar};
use crate::units::Unit;

/// Least and most of a compressed head gasket, mm.
pub(crate) const GASKET: [f64; 2] = [0.2, 4.0];
/// Of a gasket's opening over the bore.
pub(crate) const OPENING: [f64; 2] = [1.0, 1.1];
/// Of stroke over bore.
pub(crate) const STROKE: [f64; 2] = [0.4, 1.8];
/// Of a compression ratio.
pub(crate) const COMPRESSION: [f64; 2] = [6.0, 25.0];
/// Of gasket and deck together, mm.
pub(crate) const QUENCH: [f64; 2] = [0.3, 4.0];
/// So far the compression of the stated sizes may be from the target: a cut, another gasket or
/// another piston makes up for less.
const OFF_TARGET: f64 = 1.5;

/// How a size is written.
type Shown<'a> = &'a dyn Fn(f64) -> String;

impl Engine {
    /// What is odd about the sizes that are stated, a sentence for each; empty where nothing is.
    #[must_use]
    pub fn doubts(&self) -> Vec<String> {
        let nominal = NominalFigures::of(self);
        let over_bore = |size: Option<f64>| Some(size? / self.bore?.value);
        let number = |one: f64| format!("{one:.2}");
        let length = |mm: f64| match self.units {
            LengthUnits::Inch => format!("{:.4} in", Unit::Inch.from_base(mm)),
            LengthUnits::Metric => format!("{mm:.2} mm"),
        };
        let value = |one: &Option<Estimate>| one.as_ref().map(Scalar::value);
        let opening = over_bore(self.gasket.bore.map(|one| one.value));
        let stroke = over_bore(self.stroke.map(|one| one.value));
        let told: [(&str, Option<f64>, [f64; 2], Shown<'_>); 4] = [
            (
                "The gasket's thickness",
                self.gasket.thickness.map(|one| one.value),
                GASKET,
                &length,
            ),
            (
                "The gasket's opening over the bore",
                opening,
                OPENING,
                &number,
            ),
            ("Stroke over bore", stroke, STROKE, &number),
            ("The quench", value(&nominal.quench), QUENCH, &length),
        ];
        let mut doubts: Vec<String> = told
            .into_iter()
            .filter_map(|(name, value, [least, most], shown)| {
                let value = value.filter(|value| !(least..=most).contains(value))?;
                Some(format!(
                    "{name} is {}, far from the usual {} to {}.",
                    shown(value),
                    shown(least),
                    shown(most)
                ))
            })
            .collect();
        doubts.extend(self.compression_doubt(&nominal));
        doubts
    }

    /// A compression that no engine has, or that is far from its target.
    fn compression_doubt(&self, nominal: &NominalFigures) -> Option<String> {
        let ratio = nominal.compression.as_ref()?.value();
        let [least, most] = COMPRESSION;
        let Some(target) = self.targets.compression.map(|target| target.value) else {
            return (!(least..=most).contains(&ratio)).then(|| {
                format!(
                    "These sizes give a compression of {ratio:.2}, far from the usual {least:.0} to {most:.0}."
                )
            });
        };
        if (ratio - target).abs() <= OFF_TARGET {
            return None;
        }
        let told =
            format!("These sizes give a compression of {ratio:.2}, and the target is {target:.2}.");
        // What the chamber would have to be finds two digits that were exchanged.
        let chamber = self.head.nominal_chamber.map(|chamber| {
            let swept = nominal.swept.as_ref()?.value();
            let besides = nominal.clearance.as_ref()?.value() - chamber.value;
            let wanted = swept / (target - 1.0) - besides;
            (wanted > 0.0).then(|| {
                format!(
                    " With the other sizes a chamber of {wanted:.1} cc would give it; {} is stated.",
                    chamber.written
                )
            })
        });
        Some(told + &chamber.flatten().unwrap_or_default())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn engine(chamber: &str, target: &str, gasket: &str) -> Engine {
        let text = format!(
            "name = \"t\"\nunits = \"metric\"\ncylinders = 6\nbore = \"94.3 mm\"\nstroke = \"85 mm\"\n\
             [gasket]\nbore = \"96 mm\"\nthickness = \"{gasket}\"\n[piston]\ncrown = \"-5 cc\"\n\
             [head]\nnominal_chamber = \"{chamber}\"\n[targets]\ndeck = \"0.1 mm\"\n{target}"
        );
        Engine::from_toml(&text).expect("an engine file")
    }

    /// By hand: 94.3 mm by 85 mm sweep 593.65 cc; the gasket has 7.96 cc, the deck 0.70 cc, the dish
    /// 5 cc. With 48.8 cc that is 62.46 cc: 1 + 593.65/62.46 = 10.50.
    #[test]
    fn a_chamber_with_exchanged_digits_is_asked_about_with_the_one_that_fits() {
        let target = "compression = 10.5\n";
        assert!(engine("48.8 cc", target, "1.1 mm").doubts().is_empty());
        let odd = engine("25.0 cc", target, "1.1 mm").doubts();
        assert_eq!(odd.len(), 1, "{odd:?}");
        assert!(odd[0].contains("16.36, and the target is 10.50"), "{odd:?}");
        assert!(
            odd[0].contains("a chamber of 48.8 cc would give it; 25 cc is stated"),
            "{odd:?}"
        );
        // Without a target the same is no engine's that cannot be.
        assert!(engine("25.0 cc", "", "1.1 mm").doubts().is_empty());
        let none = engine("2.5 cc", "", "1.1 mm").doubts();
        assert!(none[0].contains("far from the usual 6 to 25"), "{none:?}");
    }

    #[test]
    fn a_gasket_of_ten_times_its_thickness_is_asked_about() {
        let odd = engine("48.8 cc", "", "11 mm").doubts();
        assert!(odd[0].contains("gasket's thickness is 11.00 mm"), "{odd:?}");
    }
}
