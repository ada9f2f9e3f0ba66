//! Draws of the errors of several values, and the spread that these errors alone would show.

use crate::figure::{Distribution, Estimate, NormalDraws, Scalar, Simulation};
use crate::stats::spread;

/// The errors of several values, drawn together.
pub(super) struct Errors {
    simulation: Simulation,
    values: usize,
}

impl Errors {
    /// `None` if an uncertainty is unknown, apart from errors that all values share alike (they
    /// cancel in a spread), or if there are fewer than two.
    pub(super) fn new(values: &[Estimate]) -> Option<Errors> {
        let mean = Estimate::mean(values)?;
        // A value less the mean no longer contains what all share, whether it is known or not.
        let own: Vec<Estimate> = values
            .iter()
            .map(|value| {
                let own = value - &mean;
                own.offset(-own.value())
            })
            .collect();
        let simulation = Simulation::new(&own, NormalDraws::ScaledT)?;
        (values.len() >= 2).then_some(Errors {
            simulation,
            values: values.len(),
        })
    }

    /// Draws the errors again and again.
    pub(super) fn draw(&self, trials: usize, seed: u64, visit: impl FnMut(&[f64])) {
        self.simulation.run(trials, seed, visit);
    }

    /// The spread of `parts` as they would be seen, again and again.
    pub(super) fn run(&self, parts: &[f64], trials: usize, seed: u64, mut visit: impl FnMut(f64)) {
        self.draw(trials, seed, |errors| {
            visit(spread(
                parts.iter().zip(errors).map(|(part, error)| part + error),
            ))
        });
    }

    pub(super) fn spreads_of_equals(&self, trials: usize, seed: u64) -> Distribution {
        let mut spreads = Vec::with_capacity(trials);
        let equal = vec![0.0; self.values];
        self.run(&equal, trials, seed, |spread| spreads.push(spread));
        Distribution::new(spreads)
    }
}
