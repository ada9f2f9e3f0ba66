//! Readings as a scale shows them: parts and noise, rounded to the steps of the gauges.
//!
//! Rounding is no noise. A scale of 0.1 cc shows 64.0 for all that lies between 63.95 and 64.05, as
//! often as one looks; and where the parts stand between the steps is not known. So every place of
//! the steps is tried, and the one counts under which a wrong answer is likeliest. A reading that
//! is the difference of two displayed values is tried in both ways: begun each time from one mark
//! (the steps stand still), and begun anywhere (each reading has its steps elsewhere).

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::errors::Errors;
use crate::figure::{ErrorShape, ErrorSource, Estimate, Scalar};
use crate::stats::spread;

/// How many places of the steps are tried.
const PLACES: usize = 8;

/// Several values with the steps on which they were read.
pub(super) struct Lattice {
    /// All errors but the roundings.
    noise: Errors,
    rows: Vec<Row>,
}

/// The roundings of one value.
#[derive(Default)]
struct Row {
    /// The step of the value itself, in its unit: of all its readings that are rounded by equal
    /// steps together, since they may all be rounded the same way.
    step: f64,
    /// Whether a reading is the difference of two displayed values.
    difference: bool,
    /// Half-widths of the other, smaller roundings, and whether they are triangular.
    others: Vec<(f64, bool)>,
}

impl Lattice {
    /// `None` where [`Errors::new`] is.
    pub(super) fn new(values: &[Estimate]) -> Option<Lattice> {
        let shared = |source: &ErrorSource| {
            let with = values.iter().filter(|one| one.slope(&source.id) != 0.0);
            with.count() > 1
        };
        let mut rows = Vec::new();
        let mut noise = Vec::new();
        for value in values {
            let mut row = Row::default();
            let mut smooth = Estimate::exact(value.value());
            let mut grains: Vec<(f64, bool)> = Vec::new();
            for part in value.contributions() {
                let step = part.u.and_then(|u| match part.source.shape {
                    ErrorShape::Rectangular => Some((u * 12f64.sqrt(), false)),
                    ErrorShape::Triangular => Some((u * 6f64.sqrt(), true)),
                    _ => None,
                });
                match step.filter(|_| !shared(&part.source)) {
                    Some(grain) => grains.push(grain),
                    None => smooth = smooth.with(part.source.clone(), part.slope),
                }
            }
            row.sort(grains);
            rows.push(row);
            noise.push(smooth);
        }
        let noise = Errors::new(&noise)?;
        Some(Lattice { noise, rows })
    }

    /// The largest step among the values.
    pub(super) fn step(&self) -> f64 {
        self.rows.iter().map(|row| row.step).fold(0.0, f64::max)
    }

    /// In how many of `trials` the spread that is shown of `parts` fulfils `holds`, with the steps
    /// placed so that they are most.
    pub(super) fn likeliest(
        &self,
        parts: &[f64],
        trials: usize,
        seed: u64,
        holds: impl Fn(f64) -> bool,
    ) -> usize {
        let differences = self.rows.iter().any(|row| row.difference);
        let places = if self.step() > 0.0 { PLACES } else { 1 };
        let mut counts = vec![0usize; places * if differences { 2 } else { 1 }];
        let mut rng = ChaCha8Rng::seed_from_u64(seed ^ 0x9e37_79b9);
        let mut either_side = || rng.random::<f64>() - 0.5;
        let mut still = vec![0.0; parts.len()];
        let mut begun = vec![0.0; parts.len()];
        self.noise.draw(trials, seed, |errors| {
            for (at, row) in self.rows.iter().enumerate() {
                let others = row
                    .others
                    .iter()
                    .map(|(half, triangular)| match triangular {
                        false => 2.0 * half * either_side(),
                        true => half * (either_side() + either_side()),
                    });
                still[at] = parts[at] + errors[at] + others.sum::<f64>();
                begun[at] = row.step * either_side();
            }
            for (at, count) in counts.iter_mut().enumerate() {
                let place = (at % places) as f64 / places as f64;
                let anywhere = at >= places;
                let shown = self.rows.iter().enumerate().map(|(at, row)| {
                    let begun = if anywhere && row.difference {
                        begun[at]
                    } else {
                        0.0
                    };
                    row.shown(still[at] + begun, place)
                });
                *count += usize::from(holds(spread(shown)));
            }
        });
        counts.into_iter().max().unwrap_or(0)
    }
}

impl Row {
    /// Takes the roundings of equal steps that make up most as the steps of the value, the rest as
    /// roundings of their own.
    fn sort(&mut self, grains: Vec<(f64, bool)>) {
        let equal =
            |a: &(f64, bool), b: &(f64, bool)| (a.0 - b.0).abs() <= 1e-6 * a.0 && a.1 == b.1;
        let sum = |of: &(f64, bool)| -> f64 {
            let alike = grains.iter().filter(|one| equal(of, one));
            alike.map(|(step, _)| step).sum()
        };
        let most = grains.iter().max_by(|a, b| sum(a).total_cmp(&sum(b)));
        let Some(most) = most else { return };
        self.step = sum(most);
        self.difference = most.1;
        self.others = grains
            .iter()
            .filter(|one| !equal(most, one))
            .map(|(step, triangular)| (if *triangular { *step } else { step / 2.0 }, *triangular))
            .collect();
    }

    fn shown(&self, value: f64, place: f64) -> f64 {
        if self.step > 0.0 {
            (nearest(value / self.step + place) - place) * self.step
        } else {
            value
        }
    }
}

/// The nearest whole number: the sum has no digits behind the point (IEEE 754, round to nearest).
/// Many times faster than `f64::round`, which is called a million times for a report.
fn nearest(value: f64) -> f64 {
    const WHOLE: f64 = 6_755_399_441_055_744.0;
    (value + WHOLE) - WHOLE
}
