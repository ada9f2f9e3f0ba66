//! Writes the document: figures in the engine's units, means and spreads.

use std::collections::{BTreeMap, BTreeSet};

use super::dimensions::Dimensions;
use super::document::{
    BudgetShare, CylinderCounts, CylinderDimensions, CylinderReport, DimensionUsed,
    ExpandedUncertainty, InputsUsed, MeasuredReport, MeasuredTimes, Report, ReportSummary,
    StatedLimits,
};
use super::expanded::{expanded_in, known_in};
use super::pooled_readings::PooledReadings;
use super::{
    bores, contacts, deck, findings, flow, free, lacking, remarks, valve_gaps, verdicts, words,
};
use crate::decide::{MadeEqual, chamber_work, least_chamber_work};
use crate::engine_figures::{self, CylinderFigures, EngineFigures};
use crate::figure::{Estimate, Figure};
use crate::spot::{Spot, SpotFamily, SpotName};
use crate::units::Unit;

/// Takes a dimension of a cylinder.
type Get<'a> = &'a dyn Fn(&CylinderFigures) -> Option<Estimate>;

pub(super) fn document(
    readings: &PooledReadings<'_>,
    state: &EngineFigures,
    stages: Vec<String>,
) -> Report {
    let built = &state.cylinders;
    let points = deck::points(&readings.decks.means);
    let cylinders = built
        .iter()
        .map(|one| cylinder_report(readings, one, points.get(&one.number)))
        .collect();
    Report {
        engine: readings.engine.name.clone(),
        invented: readings.engine.invented,
        note: readings.engine.note.clone(),
        card: readings.engine.card.clone(),
        units: readings.units(),
        stage: readings.current.stage.clone(),
        stages,
        measured_times: measured_times(state),
        cylinders,
        summary: summary(readings, built),
        findings: findings::findings(readings, state),
        verdicts: verdicts::verdicts(readings.engine, state)
            .into_iter()
            .chain(free::verdicts(readings))
            .collect(),
        limits: StatedLimits::of(readings.engine),
        equal_chambers: chamber_work(state, MadeEqual::Chambers),
        least_chambers: readings
            .engine
            .tolerances
            .chamber_spread
            .and_then(|allowed| least_chamber_work(state, allowed.value)),
        inputs: inputs(readings, built),
        flow: flow::section(&state.flow, readings.engine),
        flow_by_lift: flow::by_lift(&state.flow, readings.engine),
        running_ports: flow::running(&state.flow, &state.cylinders, readings.engine),
        bores: bores::reports(readings),
        valve_gaps: valve_gaps::reports(readings),
        free: free::reports(readings),
        measured: other_reports(readings),
        ordered: Vec::new(),
        signs: words::SIGNS.map(str::to_owned).to_vec(),
        lacking: lacking::sentences(state)
            .into_iter()
            .chain(free::lacking(readings))
            .collect(),
        left_out: lacking::of_the_cylinders(state),
        remarks: remarks::remarks(readings, state),
        cautions: contacts::cautions(readings, built),
    }
}

fn cylinder_report(
    readings: &PooledReadings<'_>,
    built: &CylinderFigures,
    points: Option<&deck::Points<'_>>,
) -> CylinderReport {
    let length = readings.units().length();
    let cc = Unit::CubicCentimetre;
    let show =
        |estimate: &Option<Estimate>, unit| estimate.as_ref().map(|estimate| estimate.figure(unit));
    let ratio = built.ratio();
    let own = readings.engine.overrides.get(&built.number);
    let expanded = ratio
        .as_ref()
        .and_then(|ratio| expanded_in(ratio, Unit::One));
    let budget = ratio
        .iter()
        .flat_map(Estimate::contributions)
        .map(|contribution| BudgetShare {
            source: contribution.source.id.to_string(),
            contribution: contribution.u.map(|u| Figure::bare(u, Unit::One)),
        });
    CylinderReport {
        cylinder: built.number,
        bank: readings
            .engine
            .bank_of(built.number)
            .map_or(String::new(), |bank| bank.name.clone()),
        chamber: show(&built.chamber, cc),
        deck: show(&built.deck, length),
        crown: show(&built.crown, cc),
        clearance: show(&built.clearance(), cc),
        compression: show(&ratio, Unit::One),
        quench: show(&built.quench(), length),
        quench_nearest: show(&built.nearest_quench(), length),
        swept: show(&built.swept(), cc),
        dimensions: CylinderDimensions {
            bore: show(&built.bore, length),
            stroke: show(&built.stroke, length),
            gasket_bore: show(&built.gasket_bore, length),
            gasket_thickness: show(&built.gasket_thickness, length),
            crevice: show(&built.crevice, cc),
        },
        rock: show(&points.and_then(deck::rock), length),
        deck_from_parts: show(
            &Dimensions::of(readings, built.number).deck_from_parts(),
            length,
        ),
        piston_part: own.and_then(|own| own.piston_part.clone()),
        rod_part: own.and_then(|own| own.rod_part.clone()),
        deck_points: points
            .into_iter()
            .flatten()
            .filter(|(name, _)| !name.is_empty())
            .map(|(name, (_, estimate))| ((*name).to_owned(), estimate.figure(length)))
            .collect(),
        compression_expanded: expanded,
        compression_budget: budget.collect(),
    }
}

fn summary(readings: &PooledReadings<'_>, built: &[CylinderFigures]) -> ReportSummary {
    let mut expanded = BTreeMap::new();
    let mut of = |name: &str, get: &dyn Fn(&CylinderFigures) -> Option<Estimate>, unit: Unit| {
        let all: Vec<Estimate> = built.iter().filter_map(get).collect();
        let (mean, spread) = (Estimate::mean(&all), engine_figures::spread(&all));
        for (of, estimate) in [("mean", &mean), ("spread", &spread)] {
            let found = estimate.as_ref().and_then(|one| expanded_in(one, unit));
            expanded.extend(found.map(|found| (format!("{name}_{of}"), found)));
        }
        (
            mean.map(|mean| mean.figure(unit)),
            spread.map(|spread| spread.difference(unit)),
            all.len(),
        )
    };
    let length = readings.units().length();
    let cc = Unit::CubicCentimetre;
    let (chamber_mean, chamber_spread, chamber) = of("chamber", &|one| one.chamber.clone(), cc);
    let (deck_mean, deck_spread, deck) = of("deck", &|one| one.deck.clone(), length);
    let (crown_mean, crown_spread, crown) = of("crown", &|one| one.crown.clone(), cc);
    let (compression_mean, compression_spread, compression) =
        of("compression", &CylinderFigures::ratio, Unit::One);
    let swept: Option<Vec<Estimate>> = built.iter().map(CylinderFigures::swept).collect();
    ReportSummary {
        chamber_mean,
        chamber_spread,
        deck_mean,
        deck_spread,
        crown_mean,
        crown_spread,
        compression_mean,
        compression_spread,
        expanded,
        between_cylinders: between_cylinders(built, length),
        spreads_of_equals: verdicts::spreads_of_equals(built, readings.units()),
        displacement: swept
            .and_then(|each| each.into_iter().reduce(|sum, one| sum + one))
            .map(|sum| sum.figure(cc)),
        counts: CylinderCounts {
            chamber,
            deck,
            crown,
            compression,
        },
    }
}

/// How often the spots of each family were measured, in the families' order; of free spots, each
/// name by itself.
fn measured_times(state: &EngineFigures) -> Vec<MeasuredTimes> {
    let of = |family: SpotFamily, free: Option<&SpotName>| {
        let counts = state.counts.iter();
        let counts = counts.filter(|(spot, _)| spot.family() == family && spot.free_name() == free);
        let counts: Vec<usize> = counts.map(|(_, count)| *count).collect();
        Some(MeasuredTimes {
            family: free.map_or(family.name(), SpotName::as_str).to_owned(),
            spots: counts.len(),
            least: *counts.iter().min()?,
            most: *counts.iter().max()?,
        })
    };
    let free: BTreeSet<&SpotName> = state.counts.keys().filter_map(Spot::free_name).collect();
    let free = free.into_iter().map(|name| (SpotFamily::Free, Some(name)));
    let families = SpotFamily::ALL.iter().map(|family| (*family, None));
    families
        .chain(free)
        .filter_map(|(family, free)| of(family, free))
        .collect()
}

/// The expanded uncertainties of differences between cylinders, by the figures' names.
fn between_cylinders(
    built: &[CylinderFigures],
    length: Unit,
) -> BTreeMap<String, ExpandedUncertainty> {
    let of: [(&str, Get<'_>, Unit); 6] = [
        ("chamber", &|one| one.chamber.clone(), Unit::CubicCentimetre),
        ("deck", &|one| one.deck.clone(), length),
        ("crown", &|one| one.crown.clone(), Unit::CubicCentimetre),
        ("quench_nearest", &CylinderFigures::nearest_quench, length),
        (
            "clearance",
            &CylinderFigures::clearance,
            Unit::CubicCentimetre,
        ),
        ("compression", &CylinderFigures::ratio, Unit::One),
    ];
    let middle = |(name, get, unit): &(&str, Get<'_>, Unit)| {
        let all: Vec<Estimate> = built.iter().filter_map(get).collect();
        let neighbours = all.windows(2).map(|pair| &pair[0] - &pair[1]);
        let mut known: Vec<ExpandedUncertainty> = neighbours
            .map(|difference| known_in(&difference, *unit))
            .filter(|one| one.value > 0.0)
            .collect();
        known.sort_by(|a, b| a.value.total_cmp(&b.value));
        let one = known.get(known.len() / 2)?;
        Some(((*name).to_owned(), *one))
    };
    of.iter().filter_map(middle).collect()
}

fn inputs(readings: &PooledReadings<'_>, built: &[CylinderFigures]) -> InputsUsed {
    let length = readings.units().length();
    let mean = |get: &dyn Fn(&CylinderFigures) -> Option<Estimate>, unit| {
        let all: Option<Vec<Estimate>> = built.iter().map(get).collect();
        Estimate::mean(&all?).map(|mean| mean.figure(unit))
    };
    // If cylinders differ, their mean is the value of none of them.
    let differs = |get: Get<'_>| {
        let values: Vec<f64> = built
            .iter()
            .filter_map(|one| Some(get(one)?.value()))
            .collect();
        values.iter().any(|value| *value != values[0])
    };
    let of: [(DimensionUsed, Get<'_>); 5] = [
        (DimensionUsed::Bore, &|one| one.bore.clone()),
        (DimensionUsed::Stroke, &|one| one.stroke.clone()),
        (DimensionUsed::GasketBore, &|one| one.gasket_bore.clone()),
        (DimensionUsed::GasketThickness, &|one| {
            one.gasket_thickness.clone()
        }),
        (DimensionUsed::Crevice, &|one| one.crevice.clone()),
    ];
    InputsUsed {
        means_of_cylinders: of
            .iter()
            .filter(|(_, get)| differs(get))
            .map(|(name, _)| *name)
            .collect(),
        bore: mean(&|one| one.bore.clone(), length),
        stroke: mean(&|one| one.stroke.clone(), length),
        gasket_bore: mean(&|one| one.gasket_bore.clone(), length),
        gasket_thickness: mean(&|one| one.gasket_thickness.clone(), length),
        crevice: mean(&|one| one.crevice.clone(), Unit::CubicCentimetre),
        reference_depression: readings.engine.flow.reference.map(|stated| {
            stated
                .estimate("reference depression")
                .figure(readings.engine.pressure_unit())
        }),
    }
}

/// Every other spot that was measured.
pub(super) fn other_reports(readings: &PooledReadings<'_>) -> Vec<MeasuredReport> {
    let length = readings.units().length();
    [&readings.parts, &readings.ports, &readings.runners]
        .into_iter()
        .flat_map(|pool| &pool.means)
        .map(|(spot, mean)| MeasuredReport {
            spot: (*spot).clone(),
            figure: match readings.engine.kind_of(spot) {
                crate::units::QuantityKind::Volume => mean.figure(crate::Unit::CubicCentimetre),
                _ => mean.figure(length),
            },
            readings: [&readings.parts, &readings.ports, &readings.runners]
                .into_iter()
                .find_map(|pool| pool.counts.get(spot).copied())
                .unwrap_or(0),
        })
        .collect()
}
