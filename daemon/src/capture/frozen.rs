//! A display that repeats its last frame, and the moment at which it goes on.
//!
//! Frozen it tells nothing of the gauge. Where it goes on it may have come to unseen, and its
//! first samples may be a spike or a knock: the level from which a movement is told is that of the
//! samples since, once a knock would have died.

use super::intake::Intake;
use super::sigma::Sigma;
use super::still::{Point, frozen_run};

/// Samples at rest from which its noise is known well enough to call a gauge frozen.
const KNOWN: f64 = 30.0;
/// A knock dies within half a second, and two samples more show where it died to.
const KNOCK_S: f64 = 0.7;

/// Whether the last samples are more alike than this gauge's are while it is alive, but for
/// `chance`.
pub(super) fn repeats(intake: &Intake, sigma: &Sigma, chance: f64) -> bool {
    let known = sigma.samples();
    let sigma = sigma.at(intake.resolution()) * (1.0 - 1.0 / (2.0 * known).sqrt());
    known >= KNOWN
        && frozen_run(sigma, intake.count(), chance).is_some_and(|run| intake.same() >= run)
}

/// Where a display that goes on stands: the middle one of its samples, as long as they may be a
/// knock; `None` after that.
pub(super) fn thawing(since: &[Point]) -> Option<f64> {
    let (first, last) = (since.first()?, since.last()?);
    if last.since(first.at_us) >= KNOCK_S {
        return None;
    }
    let mut values: Vec<f64> = since.iter().map(|point| point.v).collect();
    values.sort_by(f64::total_cmp);
    Some(values[values.len() / 2])
}
