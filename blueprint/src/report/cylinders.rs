//! The figures of every cylinder, from its dimensions and its deck points.

use std::sync::Arc;

use super::dimensions::Dimensions;
use super::document::{Finding, FindingKind};
use super::finding::finding;
use super::pooled_readings::PooledReadings;
use super::{deck, flow, unlike_points, words};
use crate::engine::LengthUnits;
use crate::engine_figures::{CylinderFigures, EngineFigures};
use crate::figure::{ErrorSource, Estimate};
use crate::spot::{GasketPart, Spot};

/// All cylinders and ports, with how many readings each spot's figure rests on; and a finding for
/// each figure that cannot be. Such a figure is left out.
pub(super) fn engine_figures(readings: &PooledReadings<'_>) -> (EngineFigures, Vec<Finding>) {
    let counts = readings
        .all()
        .flat_map(|pool| &pool.counts)
        .map(|(spot, count)| ((*spot).clone(), *count))
        .collect();
    let (cylinders, impossible) = cylinders(readings);
    let figures = EngineFigures {
        stage: readings.current.stage.clone(),
        units: readings.units(),
        cylinders,
        counts,
        flow: flow::known(
            &readings.current.spots,
            readings.engine,
            &readings.ports.means,
        ),
    };
    (figures, impossible)
}

fn cylinders(readings: &PooledReadings<'_>) -> (Vec<CylinderFigures>, Vec<Finding>) {
    let points = deck::points(&readings.decks.means);
    let unlike = unlike_points::of(&readings.decks, readings.units());
    let mut impossible = Vec::new();
    let cylinders = (1..=readings.engine.cylinders)
        .map(|number| {
            let scatter = unlike_points::scatter(&unlike, number);
            let mut one = cylinder(readings, number, points.get(&number), scatter);
            impossible.extend(leave_out_impossible(&mut one, readings.units()));
            one
        })
        .collect();
    (cylinders, impossible)
}

fn cylinder(
    readings: &PooledReadings<'_>,
    number: u32,
    points: Option<&deck::Points<'_>>,
    scatter: Option<Arc<ErrorSource>>,
) -> CylinderFigures {
    let dimensions = Dimensions::of(readings, number);
    let bore = dimensions.bore();
    let chamber = Spot::Chamber { cylinder: number };
    let bank = readings.engine.bank_of(number);
    CylinderFigures {
        number,
        bank: bank.map_or_else(String::new, |bank| bank.name.clone()),
        stroke: dimensions.stroke(),
        chamber: readings.chambers.means.get(&chamber).cloned(),
        deck: points
            .and_then(deck::clearance)
            .map(|clearance| match scatter {
                Some(scatter) => clearance.with(scatter, 1.0),
                None => clearance,
            }),
        deck_low: points.and_then(deck::low),
        crown: dimensions.crown(bore.as_ref()),
        gasket_bore: dimensions.gasket(GasketPart::Bore),
        gasket_thickness: dimensions.gasket(GasketPart::Thickness),
        crevice: dimensions.crevice(),
        rod: dimensions.rod(),
        block_height: dimensions.block_height(),
        compression_height: dimensions.compression_height(),
        bore,
    }
}

/// Takes figures that cannot be out of a cylinder, and says why.
fn leave_out_impossible(built: &mut CylinderFigures, units: LengthUnits) -> Vec<Finding> {
    let number = built.number;
    let mut findings = Vec::new();
    let mut left_out = |spot: Spot, text: String| {
        findings.push(finding(&spot, FindingKind::Impossible, text));
    };
    let gasket = |part| Spot::Gasket {
        part,
        cylinder: Some(number),
    };
    let not_above_zero = |value: &Option<Estimate>| {
        let value = value.as_ref().map(Estimate::value);
        value.filter(|value| *value <= 0.0)
    };
    if let Some(thickness) = not_above_zero(&built.gasket_thickness) {
        let found = words::length(thickness, units);
        built.gasket_thickness = None;
        left_out(
            gasket(GasketPart::Thickness),
            format!("found {found}, expected more than 0; it is left out"),
        );
    }
    let value = |one: &Option<Estimate>| one.as_ref().map(Estimate::value);
    if let (Some(opening), Some(bore)) = (value(&built.gasket_bore), value(&built.bore))
        && opening < bore
    {
        let [found, bore] = words::lengths([opening, bore], units);
        built.gasket_bore = None;
        left_out(
            gasket(GasketPart::Bore),
            format!(
                "found {found}, expected not less than the bore of cylinder {number}, {bore}; it is left out"
            ),
        );
    }
    if let Some(chamber) = not_above_zero(&built.chamber) {
        let found = words::volume(chamber);
        built.chamber = None;
        left_out(
            Spot::Chamber { cylinder: number },
            format!("found {found}, expected more than 0; it is left out"),
        );
    }
    let clearance = built
        .whole()
        .map(|whole| (whole.clearance().value(), whole));
    if let Some((clearance, whole)) = clearance.filter(|(clearance, _)| *clearance <= 0.0) {
        left_out(
            Spot::Chamber { cylinder: number },
            format!(
                "cylinder {number} would have a total volume at TDC of {clearance:.2} cc, expected more than 0; found chamber {:.2} cc, gasket {:.2} cc, deck {:.2} cc, volume above the top ring {:.2} cc and dome {:.2} cc (a dish is negative); it has no compression before the wrong one is put right",
                whole.chamber.value(),
                whole.gasket().value(),
                whole.deck_volume().value(),
                whole.crevice.value(),
                whole.crown.value(),
            ),
        );
    }
    findings
}
