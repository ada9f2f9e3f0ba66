//! The figures of an engine as its file states it, before anything is measured.
//!
//! Figures appear as their inputs do; nothing is filled in. The formulas are those of the measured
//! engine (`docs/formulas.md`, sections 1 and 4).

#![allow(clippy::arithmetic_side_effects, reason = "estimates are floats")]

use super::{Engine, StatedValue};
use crate::figure::{EngineDimension, Estimate, Scalar, SourceId};
use crate::formula::compression::CylinderVolumes;
use crate::formula::crank::Crank;
use crate::formula::volume::disc;

/// The figures of a cylinder as stated. What lacks an input is `None`.
#[derive(Debug, Clone, PartialEq)]
pub struct NominalFigures {
    /// Swept volume of one cylinder, cc.
    pub swept: Option<Estimate>,
    /// Swept volume of all cylinders, cc.
    pub displacement: Option<Estimate>,
    /// Deck clearance, mm: from the parts where all are stated, else the one aimed at.
    pub deck: Option<Estimate>,
    /// Distance between piston and head at top dead centre, mm.
    pub quench: Option<Estimate>,
    /// Total at top dead centre, cc.
    pub clearance: Option<Estimate>,
    /// Compression ratio; `None` also where the total at top dead centre is not above 0.
    pub compression: Option<Estimate>,
    /// What the compression still lacks, in words, in the trade's order.
    pub lacking: Vec<&'static str>,
}

/// A cylinder cut along its axis, as far as it is stated. Lengths in mm.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct CylinderSection {
    /// Bore.
    pub bore: Option<f64>,
    /// Piston travel.
    pub stroke: Option<f64>,
    /// Deck clearance at top dead centre, positive below the deck.
    pub deck: Option<f64>,
    /// Diameter of the gasket's opening.
    pub gasket_bore: Option<f64>,
    /// Compressed thickness of the gasket.
    pub gasket_thickness: Option<f64>,
    /// Compression height of the piston.
    pub compression_height: Option<f64>,
    /// Depth of the chamber if it were as wide as the bore and flat.
    pub chamber: Option<f64>,
    /// Height of the dome, or depth of the dish (negative), if it were as wide as the bore and flat.
    pub crown: Option<f64>,
}

fn estimate(stated: Option<StatedValue>, what: EngineDimension) -> Option<Estimate> {
    stated.map(|stated| stated.estimate(SourceId::dimension(what)))
}

fn deck(engine: &Engine) -> Option<Estimate> {
    let of_parts = || {
        let stroke = estimate(engine.stroke, EngineDimension::Stroke)?;
        let rod = estimate(engine.rod, EngineDimension::Rod)?;
        let block = estimate(engine.block_height, EngineDimension::BlockHeight)?;
        let stated = engine.piston.compression_height;
        let height = estimate(stated, EngineDimension::CompressionHeight)?;
        let offset = estimate(engine.piston.pin_offset, EngineDimension::PinOffset)
            .unwrap_or_else(|| Estimate::exact(0.0));
        let crank = Crank::of_travel(&stroke, &rod, &offset);
        Some(block - crank.top() - height)
    };
    of_parts().or_else(|| Some(Estimate::exact(engine.targets.deck?.value)))
}

impl NominalFigures {
    /// The figures of an engine file.
    #[must_use]
    pub fn of(engine: &Engine) -> NominalFigures {
        let bore = estimate(engine.bore, EngineDimension::Bore);
        let stroke = estimate(engine.stroke, EngineDimension::Stroke);
        let gasket_bore = estimate(engine.gasket.bore, EngineDimension::GasketBore);
        let thickness = estimate(engine.gasket.thickness, EngineDimension::GasketThickness);
        let crown = engine.piston.crown.or(engine.piston.nominal_crown);
        let crown = estimate(crown, EngineDimension::Crown);
        let chamber = engine.head.nominal_chamber.or(engine.targets.chamber);
        let chamber = chamber.map(|chamber| chamber.estimate("chamber as stated"));
        let deck = deck(engine);
        let lacking = [
            ("bore", bore.is_none()),
            ("stroke", stroke.is_none()),
            ("gasket opening", gasket_bore.is_none()),
            ("gasket thickness", thickness.is_none()),
            (
                "deck, or block height, rod and compression height",
                deck.is_none(),
            ),
            ("dome or dish", crown.is_none()),
            ("chamber", chamber.is_none()),
        ];
        let swept = bore.as_ref().zip(stroke.as_ref()).map(|(b, s)| disc(b, s));
        let each = f64::from(engine.cylinders);
        let crevice = estimate(engine.piston.crevice, EngineDimension::Crevice);
        let whole = || {
            Some(CylinderVolumes {
                bore: bore.clone()?,
                stroke: stroke.clone()?,
                chamber: chamber.clone()?,
                gasket_bore: gasket_bore.clone()?,
                gasket_thickness: thickness.clone()?,
                deck: deck.clone()?,
                crown: crown.clone()?,
                crevice: crevice.clone().unwrap_or_else(|| Estimate::exact(0.0)),
            })
        };
        let whole = whole();
        let possible = whole
            .as_ref()
            .filter(|whole| whole.clearance().value() > 0.0);
        NominalFigures {
            displacement: swept.as_ref().map(|swept| swept.scale(each)),
            swept,
            quench: deck
                .as_ref()
                .zip(thickness.as_ref())
                .map(|(deck, t)| deck + t),
            deck: deck.clone(),
            clearance: whole.as_ref().map(CylinderVolumes::clearance),
            compression: possible.map(CylinderVolumes::ratio),
            lacking: lacking
                .into_iter()
                .filter(|(_, absent)| *absent)
                .map(|(name, _)| name)
                .collect(),
        }
    }
}

impl CylinderSection {
    /// The section of an engine file.
    #[must_use]
    pub fn of(engine: &Engine) -> CylinderSection {
        let value = |stated: Option<StatedValue>| stated.map(|stated| stated.value);
        let bore = value(engine.bore);
        // A volume in cc spread over the bore, as a height in mm.
        let over_bore = |volume: Option<StatedValue>| Some(volume?.value / disc(&bore?, &1.0));
        CylinderSection {
            bore,
            stroke: value(engine.stroke),
            deck: deck(engine).map(|deck| deck.value()),
            gasket_bore: value(engine.gasket.bore),
            gasket_thickness: value(engine.gasket.thickness),
            compression_height: value(engine.piston.compression_height),
            chamber: over_bore(engine.head.nominal_chamber.or(engine.targets.chamber)),
            crown: over_bore(engine.piston.crown.or(engine.piston.nominal_crown)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn engine(lines: &str) -> Engine {
        let text = format!("name = \"t\"\nunits = \"metric\"\ncylinders = 4\n{lines}");
        Engine::from_toml(&text).expect("an engine file")
    }

    /// By hand: 100 mm bore and stroke sweep π/4·100²·100 mm³ = 785.398 cc. A chamber of 60 cc, a
    /// gasket of 104 mm by 1 mm (8.495 cc), a deck of 0.2 mm (1.571 cc) and a dish of 5 cc make
    /// 75.066 cc: 1 + 785.398/75.066 = 11.463.
    #[test]
    fn compression_of_what_is_stated_as_by_hand() {
        let lines = "bore = \"100 mm\"\nstroke = \"100 mm\"\nrod = \"150 mm\"\n\
            block_height = \"240.2 mm\"\n[gasket]\nbore = \"104 mm\"\nthickness = \"1 mm\"\n\
            [piston]\ncompression_height = \"40 mm\"\ncrown = \"-5 cc\"\n\
            [head]\nnominal_chamber = \"60 cc\"\n";
        let figures = NominalFigures::of(&engine(lines));
        let value = |one: Option<Estimate>| one.expect("all is stated").value();
        assert!((value(figures.deck) - 0.2).abs() < 1e-9);
        assert!((value(figures.displacement) - 3141.593).abs() < 1e-3);
        assert!((value(figures.clearance) - 75.066).abs() < 1e-3);
        assert!((value(figures.compression) - 11.463).abs() < 1e-3);
        assert!(figures.lacking.is_empty());
    }

    #[test]
    fn figures_appear_as_their_inputs_do() {
        let heads = NominalFigures::of(&engine(""));
        assert_eq!(heads.lacking.len(), 7);
        assert_eq!((heads.swept, heads.compression), (None, None));
        let some = NominalFigures::of(&engine("bore = \"80 mm\"\nstroke = \"90 mm\"\n"));
        assert!(some.displacement.is_some() && some.compression.is_none());
        assert_eq!(some.lacking.first(), Some(&"gasket opening"));
    }
}
