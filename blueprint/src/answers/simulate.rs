//! The figures by simulation, next to those by first order (JCGM 101:2008, clause 7).

use serde::{Deserialize, Serialize};

use super::asked::SimulateAsked;
use super::context::Context;
use super::error::AskError;
use crate::engine_figures::{CylinderFigures, spread};
use crate::figure::{Distribution, Estimate, Figure, NormalDraws, Simulation};
use crate::stats;
use crate::units::Unit;

const TRIALS: usize = 100_000;
const SEED: u64 = 101;
/// With fewer draws an interval is noise; with more they fill the memory.
const ALLOWED: std::ops::RangeInclusive<usize> = 1_000..=2_000_000;

/// Figures by simulation.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SimulateAnswer {
    /// How many draws.
    pub trials: usize,
    /// Their seed: the same seed gives the same figures again.
    pub seed: u64,
    /// The figures.
    pub figures: Vec<SimulatedFigure>,
}

/// One figure by simulation.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SimulatedFigure {
    /// Which: `compression/3`, `compression_mean`, `compression_spread`, `chamber_spread`,
    /// `deck_spread`.
    pub about: String,
    /// By first order.
    pub first_order: Figure,
    /// Mean and standard deviation of the draws; `None` where an uncertainty is unknown.
    pub simulated: Option<Figure>,
    /// The middle 95 % of the draws, in the unit of the figure.
    pub interval: Option<(Figure, Figure)>,
}

pub(super) fn answer(
    context: &mut Context<'_>,
    asked: &SimulateAsked,
) -> Result<SimulateAnswer, AskError> {
    let trials = asked.trials.unwrap_or(TRIALS);
    if !ALLOWED.contains(&trials) {
        return Err(AskError::bad(
            format!("{trials} draws"),
            "1000 to 2000000 draws",
            "correct the number",
        ));
    }
    let run = Run {
        trials,
        seed: asked.seed.unwrap_or(SEED),
        length: context.length(),
    };
    let cylinders = &context.state.cylinders;
    let mut figures = Vec::new();
    let whole: Vec<&CylinderFigures> = cylinders
        .iter()
        .filter(|one| one.ratio().is_some())
        .collect();
    let ratios: Vec<Estimate> = whole.iter().filter_map(|one| one.ratio()).collect();
    figures.extend(run.compressions(&whole, &ratios));
    let chambers: Vec<Estimate> = cylinders
        .iter()
        .filter_map(|one| one.chamber.clone())
        .collect();
    let decks: Vec<Estimate> = cylinders
        .iter()
        .filter_map(|one| one.deck.clone())
        .collect();
    figures.extend(run.spread_of("chamber_spread", &chambers, Unit::CubicCentimetre));
    figures.extend(run.spread_of("deck_spread", &decks, run.length));
    if figures.is_empty() {
        return Err(context.nothing_known("a simulation", false));
    }
    context.say_unknown("some figures", ratios.iter().chain(&chambers).chain(&decks));
    context.remark(format!(
        "Simulated by {trials} draws from seed {}; a source with few degrees of freedom is drawn from a t distribution, which is wider than its u.",
        run.seed
    ));
    context.remark("A spread (largest less smallest) shows more than there is, because it takes the ends: its simulated mean lies above the spread that was seen.");
    Ok(SimulateAnswer {
        trials,
        seed: run.seed,
        figures,
    })
}

struct Run {
    trials: usize,
    seed: u64,
    length: Unit,
}

/// What the ratio of one cylinder is calculated from.
fn inputs_of(known: &CylinderFigures) -> Option<[Estimate; 8]> {
    let whole = known.whole()?;
    Some([
        whole.bore,
        whole.stroke,
        whole.chamber,
        whole.gasket_bore,
        whole.gasket_thickness,
        whole.deck,
        whole.crown,
        whole.crevice,
    ])
}

fn ratio_of(values: &[f64]) -> f64 {
    crate::formula::compression::CylinderVolumes {
        bore: values[0],
        stroke: values[1],
        chamber: values[2],
        gasket_bore: values[3],
        gasket_thickness: values[4],
        deck: values[5],
        crown: values[6],
        crevice: values[7],
    }
    .ratio()
}

impl Run {
    fn compressions(
        &self,
        whole: &[&CylinderFigures],
        ratios: &[Estimate],
    ) -> Vec<SimulatedFigure> {
        let inputs: Vec<Estimate> = whole
            .iter()
            .filter_map(|one| inputs_of(one))
            .flatten()
            .collect();
        let mut each: Vec<Vec<f64>> = vec![Vec::new(); ratios.len()];
        let (mut means, mut spreads) = (Vec::new(), Vec::new());
        if let Some(simulation) = Simulation::new(&inputs, NormalDraws::ScaledT) {
            simulation.run(self.trials, self.seed, |values| {
                let drawn: Vec<f64> = values.chunks(8).map(ratio_of).collect();
                means.push(stats::mean(drawn.iter().copied()));
                spreads.push(stats::spread(drawn.iter().copied()));
                for (all, one) in each.iter_mut().zip(drawn) {
                    all.push(one);
                }
            });
        }
        let mut figures = Vec::new();
        if let Some(mean) = Estimate::mean(ratios) {
            figures.push(self.figure("compression_mean".to_owned(), &mean, means, Unit::One));
        }
        if let Some(apart) = spread(ratios) {
            figures.push(self.figure("compression_spread".to_owned(), &apart, spreads, Unit::One));
        }
        for ((known, ratio), values) in whole.iter().zip(ratios).zip(each) {
            let about = format!("compression/{}", known.number);
            figures.push(self.figure(about, ratio, values, Unit::One));
        }
        figures
    }

    fn spread_of(&self, about: &str, values: &[Estimate], unit: Unit) -> Option<SimulatedFigure> {
        let apart = spread(values)?;
        let mut drawn = Vec::new();
        // Errors that all values share cancel, whether their size is known or not.
        let mean = Estimate::mean(values)?;
        let own: Vec<Estimate> = values.iter().map(|one| one - &mean).collect();
        if let Some(simulation) = Simulation::new(&own, NormalDraws::ScaledT) {
            simulation.run(self.trials, self.seed, |values| {
                drawn.push(stats::spread(values.iter().copied()))
            });
        }
        Some(self.figure(about.to_owned(), &apart, drawn, unit))
    }

    fn figure(
        &self,
        about: String,
        first: &Estimate,
        drawn: Vec<f64>,
        unit: Unit,
    ) -> SimulatedFigure {
        let to = |base: f64| unit.difference_from_base(base);
        let (simulated, interval) = if drawn.is_empty() {
            (None, None)
        } else {
            let found = Distribution::new(drawn);
            let (low, high) = found.symmetric(0.95);
            let figure = Figure::new(to(found.mean()), Some(to(found.sd())), unit);
            let [low, high] = [low, high].map(|end| Figure::bare(to(end), unit));
            (Some(figure), Some((low, high)))
        };
        SimulatedFigure {
            about,
            first_order: first.difference(unit),
            simulated,
            interval,
        }
    }
}
