//! Verdicts on spreads, by simulation.
//!
//! A spread (largest less smallest) is biased: equal parts show one too. It is not smooth either,
//! so U = 2u on it proves nothing. Whether a spread lies within a tolerance is answered by asking
//! how often these gauges would show what was seen if the true spread were exactly at the
//! tolerance, with the parts arranged in the way that makes a wrong answer most likely.
//!
//! A scale shows steps (module `lattice`): four equal readings do not prove four equal
//! parts. The parts are put before the simulated gauge and what it shows is rounded to its steps.

use serde::Serialize;

use super::errors::Errors;
use super::known_worse::well_known;
use super::lattice::Lattice;
use super::verdict::VerdictAnswer;
use crate::figure::{Estimate, Scalar};

/// The largest chance of a wrong "within", and of a wrong "outside".
const LEVEL: f64 = 0.025;

/// A verdict on a spread.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SpreadVerdict {
    /// The spread that was seen.
    pub spread: f64,
    /// The tolerance.
    pub tolerance: f64,
    /// The answer.
    pub answer: VerdictAnswer,
    /// The spread that these gauges would show on equal parts: half of the time less, half of the
    /// time more; `None` if unknown.
    pub of_equals: Option<f64>,
    /// How often equal parts would show a spread as large as the one that was seen or larger.
    pub chance_if_equal: Option<f64>,
    /// How often a spread this small would be seen if the true one were at the tolerance.
    pub chance_if_outside: Option<f64>,
    /// How often a spread this large would be seen if the true one were at the tolerance.
    pub chance_if_within: Option<f64>,
}

/// The spread that these gauges would show on equal parts: the median, for a scatter that was
/// found from one pair of repeats has no mean. `None` if an uncertainty is unknown or there are
/// fewer than two.
pub fn expected_spread_of_equals(values: &[Estimate], trials: usize, seed: u64) -> Option<f64> {
    let errors = Errors::new(values)?;
    Some(errors.spreads_of_equals(trials, seed).quantile(0.5))
}

/// The verdict on the spread of several values. `None` for fewer than two.
pub fn spread_verdict(
    values: &[Estimate],
    tolerance: f64,
    trials: usize,
    seed: u64,
) -> Option<SpreadVerdict> {
    let plain: Vec<f64> = values.iter().map(Scalar::value).collect();
    if plain.len() < 2 {
        return None;
    }
    let ranks = ranks(&plain);
    // Take two different parts even if values are equal: one part cannot stand at both ends.
    let (least, most) = (ranks[0], ranks[plain.len() - 1]);
    let spread = plain[most] - plain[least];
    let unknown = SpreadVerdict {
        spread,
        tolerance,
        answer: VerdictAnswer::CannotTell,
        of_equals: None,
        chance_if_equal: None,
        chance_if_outside: None,
        chance_if_within: None,
    };
    let (Some(errors), Some(lattice)) = (Errors::new(values), Lattice::new(values)) else {
        return Some(unknown);
    };
    // Least likely to look wide: two parts at the ends, all others in the middle.
    let mut narrow = vec![0.0; plain.len()];
    narrow[most] = tolerance / 2.0;
    narrow[least] = -tolerance / 2.0;
    // Both counts are raised by one, since a simulation never proves a chance of 0.
    let share = |count: usize| (count + 1) as f64 / (trials + 1) as f64;
    // The spread that was seen stands on the gauges' steps, as the simulated ones do: a quarter of
    // a step keeps equal ones equal.
    let slack = 0.25 * lattice.step();
    let small = lattice.likeliest(&narrow, trials, seed, |shown| shown <= spread + slack);
    let of_all = share(as_large(
        &lattice,
        &ranks,
        (spread, tolerance),
        trials,
        seed,
    ));
    // The spread of all is no less than that of some: one part that is hardly known cannot hide that
    // two others are too far apart. Two questions are asked then, so that each has half of the level.
    let of_some = well_known(values).and_then(|some| {
        let some: Vec<Estimate> = some.into_iter().cloned().collect();
        let plain: Vec<f64> = some.iter().map(Scalar::value).collect();
        let ranks = self::ranks(&plain);
        let spread = plain[ranks[plain.len() - 1]] - plain[ranks[0]];
        let lattice = Lattice::new(&some)?;
        Some(share(as_large(
            &lattice,
            &ranks,
            (spread, tolerance),
            trials,
            seed,
        )))
    });
    let chance_if_outside = share(small);
    let chance_if_within = of_some.map_or(of_all, |some| (2.0 * some.min(of_all)).min(1.0));
    let answer = if spread <= tolerance && chance_if_outside <= LEVEL {
        VerdictAnswer::Within
    } else if spread >= tolerance && chance_if_within <= LEVEL {
        VerdictAnswer::Outside
    } else {
        VerdictAnswer::CannotTell
    };
    let equals = errors.spreads_of_equals(trials, seed);
    let by_chance = equals.share(|shown| shown >= spread) * trials as f64;
    Some(SpreadVerdict {
        answer,
        of_equals: Some(equals.quantile(0.5)),
        chance_if_equal: Some(share(by_chance.round() as usize)),
        chance_if_outside: Some(chance_if_outside),
        chance_if_within: Some(chance_if_within),
        ..unknown
    })
}

/// The places of the values, from the least to the most.
fn ranks(plain: &[f64]) -> Vec<usize> {
    let mut ranks: Vec<usize> = (0..plain.len()).collect();
    ranks.sort_by(|a, b| plain[*a].total_cmp(&plain[*b]));
    ranks
}

/// How often the gauges would show a spread as large as the one that was seen if the true one were at
/// the tolerance, with the parts where they are most likely to look wide: half of them at one end,
/// half at the other.
fn as_large(
    lattice: &Lattice,
    ranks: &[usize],
    (seen, tolerance): (f64, f64),
    trials: usize,
    seed: u64,
) -> usize {
    let mut wide = vec![0.0; ranks.len()];
    for (rank, at) in ranks.iter().enumerate() {
        wide[*at] = if 2 * rank < ranks.len() {
            -tolerance / 2.0
        } else {
            tolerance / 2.0
        };
    }
    let slack = 0.25 * lattice.step();
    lattice.likeliest(&wide, trials, seed, |shown| shown >= seen - slack)
}
