//! Writing the document down: figures in the engine's units, means and spreads.

use std::collections::BTreeMap;

use super::document::{Counts, CylinderReport, Expanded, InputsUsed, Report, Share, Summary};
use super::measures::Measures;
use super::{deck, flow, lacking, words};
use crate::figure::{Dimension, Estimate, Figure, Identity, coverage_factor};
use crate::formula::volume;
use crate::known::{self, Known, State};
use crate::units::Unit;

/// Takes a dimension of a cylinder.
type Get<'a> = &'a dyn Fn(&Known) -> Option<Estimate>;

impl Measures<'_> {
    pub(super) fn document(&self, state: &State, stages: Vec<String>) -> Report {
        let built = &state.cylinders;
        let points = deck::points(&self.decks.means);
        let cylinders = built
            .iter()
            .map(|one| self.written(one, points.get(&one.number)))
            .collect();
        Report {
            engine: self.engine.name.clone(),
            invented: self.engine.invented,
            note: self.engine.note.clone(),
            units: self.units(),
            stage: self.current.stage.clone(),
            stages,
            cylinders,
            summary: self.summary(built),
            findings: self.findings(state),
            verdicts: self.verdicts(state),
            inputs: self.inputs(built),
            flow: flow::section(&state.flow, self.engine),
            flow_by_lift: flow::by_lift(&state.flow, self.engine),
            running_ports: flow::running(&state.flow, &state.cylinders, self.engine),
            bores: self.bore_reports(),
            valve_gaps: self.gap_reports(),
            measured: self.other_reports(),
            signs: words::SIGNS.map(str::to_owned).to_vec(),
            lacking: lacking::sentences(state),
            remarks: self.remarks(state),
            cautions: self.cautions(built),
        }
    }

    fn written(&self, built: &Known, points: Option<&deck::Points<'_>>) -> CylinderReport {
        let length = self.units().length();
        let cc = Unit::CubicCentimetre;
        let show = |estimate: &Option<Estimate>, unit| {
            estimate.as_ref().map(|estimate| estimate.figure(unit))
        };
        let ratio = built.ratio();
        let own = self.engine.overrides.get(&built.number);
        let expanded = ratio
            .as_ref()
            .and_then(|ratio| expanded_in(ratio, Unit::One));
        let budget = ratio
            .iter()
            .flat_map(Estimate::contributions)
            .map(|contribution| Share {
                source: contribution.source.id.to_string(),
                contribution: contribution.u.map(|u| Figure::bare(u, Unit::One)),
            });
        CylinderReport {
            cylinder: built.number,
            bank: self
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
            swept: volume::disc(&built.bore, &built.stroke).figure(cc),
            rock: show(&points.and_then(deck::rock), length),
            deck_from_parts: show(&self.deck_from_parts(built.number), length),
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

    fn summary(&self, built: &[Known]) -> Summary {
        let mut expanded = BTreeMap::new();
        let mut of = |name: &str, get: &dyn Fn(&Known) -> Option<Estimate>, unit: Unit| {
            let all: Vec<Estimate> = built.iter().filter_map(get).collect();
            let (mean, spread) = (Estimate::mean(&all), known::spread(&all));
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
        let length = self.units().length();
        let cc = Unit::CubicCentimetre;
        let (chamber_mean, chamber_spread, chamber) = of("chamber", &|one| one.chamber.clone(), cc);
        let (deck_mean, deck_spread, deck) = of("deck", &|one| one.deck.clone(), length);
        let (crown_mean, crown_spread, crown) = of("crown", &|one| one.crown.clone(), cc);
        let (compression_mean, compression_spread, compression) =
            of("compression", &Known::ratio, Unit::One);
        let swept = built.iter().map(|one| volume::disc(&one.bore, &one.stroke));
        Summary {
            chamber_mean,
            chamber_spread,
            deck_mean,
            deck_spread,
            crown_mean,
            crown_spread,
            compression_mean,
            compression_spread,
            expanded,
            spreads_of_equals: self.spreads_of_equals(built),
            displacement: swept.reduce(|sum, one| sum + one).map(|sum| sum.figure(cc)),
            counts: Counts {
                chamber,
                deck,
                crown,
                compression,
            },
        }
    }

    fn inputs(&self, built: &[Known]) -> InputsUsed {
        let length = self.units().length();
        let mean = |get: &dyn Fn(&Known) -> Option<Estimate>, unit| {
            let all: Option<Vec<Estimate>> = built.iter().map(get).collect();
            Estimate::mean(&all?).map(|mean| mean.figure(unit))
        };
        // A mean over cylinders that differ is none of theirs.
        let differs = |get: Get<'_>| {
            let values: Vec<f64> = built
                .iter()
                .filter_map(|one| Some(get(one)?.value()))
                .collect();
            values.iter().any(|value| *value != values[0])
        };
        let of: [(&str, Get<'_>); 5] = [
            ("bore", &|one| Some(one.bore.clone())),
            ("stroke", &|one| Some(one.stroke.clone())),
            ("gasket_bore", &|one| one.gasket_bore.clone()),
            ("gasket_thickness", &|one| one.gasket_thickness.clone()),
            ("crevice", &|one| one.crevice.clone()),
        ];
        InputsUsed {
            means_of_cylinders: of
                .iter()
                .filter(|(_, get)| differs(get))
                .map(|(name, _)| (*name).to_owned())
                .collect(),
            bore: mean(&|one| Some(one.bore.clone()), length).unwrap_or_else(|| {
                self.engine
                    .bore
                    .estimate(Identity::dimension(Dimension::Bore))
                    .figure(length)
            }),
            stroke: mean(&|one| Some(one.stroke.clone()), length).unwrap_or_else(|| {
                self.engine
                    .stroke
                    .estimate(Identity::dimension(Dimension::Stroke))
                    .figure(length)
            }),
            gasket_bore: mean(&|one| one.gasket_bore.clone(), length),
            gasket_thickness: mean(&|one| one.gasket_thickness.clone(), length),
            crevice: mean(&|one| one.crevice.clone(), Unit::CubicCentimetre),
            reference_depression: self.engine.flow.reference.map(|stated| {
                stated
                    .estimate("reference depression")
                    .figure(self.units().pressure())
            }),
        }
    }
}

/// The expanded uncertainty of an estimate for 95 %, with its coverage factor and degrees of
/// freedom; `None` where something is lacking.
fn expanded_in(estimate: &Estimate, unit: Unit) -> Option<Expanded> {
    let dof = estimate.dof();
    Some(Expanded {
        value: unit.difference_from_base(estimate.expanded(0.95)?),
        u: None,
        unit,
        k: coverage_factor(0.95, dof),
        dof: dof.is_finite().then_some(dof),
    })
}
