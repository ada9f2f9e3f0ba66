//! The figures of every cylinder, from its dimensions and its deck points.

use std::sync::Arc;

use super::dimensions::Dimensions;
use super::pooled_readings::PooledReadings;
use super::{ReportError, deck, deck_doubts, flow, words};
use crate::engine::LengthUnits;
use crate::engine_figures::{CylinderFigures, EngineFigures};
use crate::figure::ErrorSource;
use crate::spot::{GasketPart, Spot};

/// All cylinders and ports, with how many readings each spot's figure rests on.
///
/// # Errors
/// Where a measured dimension or a clearance volume is impossible.
pub(super) fn engine_figures(readings: &PooledReadings<'_>) -> Result<EngineFigures, ReportError> {
    let counts = readings
        .all()
        .into_iter()
        .flat_map(|pool| &pool.counts)
        .map(|(spot, count)| ((*spot).clone(), *count))
        .collect();
    Ok(EngineFigures {
        stage: readings.current.stage.clone(),
        units: readings.units(),
        cylinders: cylinders(readings)?,
        counts,
        flow: flow::known(
            &readings.current.spots,
            readings.engine,
            &readings.ports.means,
        ),
    })
}

fn cylinders(readings: &PooledReadings<'_>) -> Result<Vec<CylinderFigures>, ReportError> {
    let points = deck::points(&readings.decks.means);
    let doubts = deck_doubts::doubts(&readings.decks, readings.units());
    (1..=readings.engine.cylinders)
        .map(|number| {
            let scatter = deck_doubts::scatter(&doubts, number);
            cylinder(readings, number, points.get(&number), scatter)
        })
        .collect()
}

fn cylinder(
    readings: &PooledReadings<'_>,
    number: u32,
    points: Option<&deck::Points<'_>>,
    scatter: Option<Arc<ErrorSource>>,
) -> Result<CylinderFigures, ReportError> {
    let dimensions = Dimensions::of(readings, number);
    let bore = dimensions.bore();
    let chamber = Spot::Chamber { cylinder: number };
    let bank = readings.engine.bank_of(number);
    let known = CylinderFigures {
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
        crown: dimensions.crown(&bore),
        gasket_bore: dimensions.gasket(GasketPart::Bore),
        gasket_thickness: dimensions.gasket(GasketPart::Thickness),
        crevice: dimensions.crevice(),
        rod: dimensions.rod(),
        block_height: dimensions.block_height(),
        compression_height: dimensions.compression_height(),
        bore,
    };
    possible(&known, readings.units())?;
    if let Some(whole) = known
        .whole()
        .filter(|whole| whole.clearance().value() <= 0.0)
    {
        return Err(ReportError::Clearance {
            cylinder: number,
            clearance: whole.clearance().value(),
            chamber: whole.chamber.value(),
            gasket: whole.gasket().value(),
            deck: whole.deck_volume().value(),
            crevice: whole.crevice.value(),
            crown: whole.crown.value(),
        });
    }
    Ok(known)
}

/// Measured dimensions that cannot be are refused like stated ones.
fn possible(built: &CylinderFigures, units: LengthUnits) -> Result<(), ReportError> {
    let absurd = |spot: String, found: f64, expected: String| {
        let found = words::length(found, units);
        Err(ReportError::Absurd {
            spot,
            found,
            expected,
        })
    };
    let number = built.number;
    for (what, value) in [("bore", &built.bore), ("stroke", &built.stroke)] {
        if value.value() <= 0.0 {
            return absurd(
                format!("{what}/{number}"),
                value.value(),
                "more than 0".to_owned(),
            );
        }
    }
    if let Some(thickness) = built.gasket_thickness.as_ref().filter(|t| t.value() <= 0.0) {
        let spot = "gasket/thickness".to_owned();
        return absurd(spot, thickness.value(), "more than 0".to_owned());
    }
    if let Some(gasket) = &built.gasket_bore
        && gasket.value() < built.bore.value()
    {
        let [found, bore] = words::lengths([gasket.value(), built.bore.value()], units);
        return Err(ReportError::Absurd {
            spot: "gasket/bore".to_owned(),
            found,
            expected: format!("not less than the bore of cylinder {number}, {bore}"),
        });
    }
    if let Some(chamber) = built
        .chamber
        .as_ref()
        .filter(|chamber| chamber.value() <= 0.0)
    {
        return Err(ReportError::Absurd {
            spot: format!("chamber/{number}"),
            found: words::volume(chamber.value()),
            expected: "more than 0".to_owned(),
        });
    }
    Ok(())
}
