//! A display that repeats its last frame, and the moment at which it goes on.
//!
//! A frozen display tells nothing of the gauge. The gauge may be moved unseen meanwhile, and its
//! first samples afterwards may be a spike or a knock. So a movement is told from the level at
//! which the samples stand once a knock would have died.

use super::intake::Intake;
use super::sigma::Sigma;
use super::still::{Point, frozen_run};

/// Samples at rest after which a gauge's noise is known well enough to call the gauge frozen.
const KNOWN: f64 = 30.0;
/// A knock dies within half a second; two samples more show the level after it.
const KNOCK_S: f64 = 0.7;

/// Whether the last samples are more alike than this gauge's samples are while it is alive. The
/// chance of a wrong answer is `chance`.
pub(super) fn repeats(intake: &Intake, sigma: &Sigma, chance: f64) -> bool {
    let known = sigma.samples();
    let sigma = sigma.at(intake.resolution()) * (1.0 - 1.0 / (2.0 * known).sqrt());
    known >= KNOWN
        && frozen_run(sigma, intake.count(), chance).is_some_and(|run| intake.same() >= run)
}

/// The level of a display that goes on: the median of its samples while they may still be a knock;
/// `None` after that.
pub(super) fn thawing(since: &[Point]) -> Option<f64> {
    let (first, last) = (since.first()?, since.last()?);
    if last.since(first.at_us) >= KNOCK_S {
        return None;
    }
    let mut values: Vec<f64> = since.iter().map(|point| point.v).collect();
    values.sort_by(f64::total_cmp);
    Some(values[values.len() / 2])
}
