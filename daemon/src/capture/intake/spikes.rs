//! Which sample is a spike: one that stands apart from those around it, at rest or beside an even run.
//!
//! What becomes of a spike is not known here.

use super::super::still::{Point, step_sigma};
use super::Intake;

impl Intake {
    pub(super) fn stands_apart(&self, point: Point, sigma: f64) -> bool {
        let Some(before) = self.recent.last() else {
            return true;
        };
        let step = point.v - before.v;
        let off_run = self.along_runs
            && self
                .run()
                .is_some_and(|run| (step - run).abs() > self.apart_from_run(sigma));
        step.abs() > self.apart(sigma) || off_run
    }

    /// The latest change from sample to sample, if it is known.
    pub(super) fn run(&self) -> Option<f64> {
        let [a, _, before] = self.recent.last_chunk::<3>()?;
        Some(0.5 * (before.v - a.v))
    }

    /// How far from an even run a spike stands at the least.
    fn apart_from_run(&self, sigma: f64) -> f64 {
        let bend = |w: &[Point]| (w[0].v - 2.0 * w[1].v + w[2].v).abs();
        let mut bends: Vec<f64> = self.recent.windows(3).map(bend).collect();
        bends.sort_by(f64::total_cmp);
        // The median of |N(0, 6σ²)| is 1.65 σ.
        let shaking = bends
            .get(bends.len() / 2)
            .map_or(0.0, |median| median / 1.65);
        (8.0 * sigma.max(shaking)).max(6.0 * self.resolution)
    }

    /// How far from its neighbours a spike stands at the least.
    pub(super) fn apart(&self, sigma: f64) -> f64 {
        let shaking = step_sigma(&self.recent);
        (8.0 * sigma.max(shaking)).max(6.0 * self.resolution)
    }

    /// Whether a single sample stands apart from both neighbours while the neighbours agree.
    pub(super) fn is_spike(&self, point: Point, next: Point, sigma: f64) -> bool {
        let Some(before) = self.recent.last() else {
            return false;
        };
        let (left, right) = (point.v - before.v, point.v - next.v);
        let alone = left * right > 0.0
            && left.abs().min(right.abs()) > self.apart(sigma)
            && (next.v - before.v).abs() < 0.25 * left.abs();
        alone || (self.along_runs && self.leaves_run(point, next, sigma))
    }

    /// Whether a single sample stands beside an even run that its successor continues.
    fn leaves_run(&self, point: Point, next: Point, sigma: f64) -> bool {
        let (Some(&[_, b, before]), Some(was)) = (self.recent.last_chunk::<3>(), self.run()) else {
            return false;
        };
        let apart = self.apart_from_run(sigma);
        let goes_on = 0.5 * (next.v - before.v);
        let beside = (point.v - before.v - goes_on).abs();
        let even = (0.3 * beside).min(0.5 * was.abs() + apart);
        beside > apart && (goes_on - was).abs() < even && (before.v - b.v - was).abs() < even
    }
}
