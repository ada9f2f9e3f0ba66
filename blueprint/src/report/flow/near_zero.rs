//! A metering pressure that is not clear of 0.
//!
//! The square root has no slope at 0: first-order propagation gives 0 ± 0 there. Near 0 the
//! uncertainty is that of the normal distribution of the pressure, taken through the root
//! (`docs/formulas.md`, section 14).

use crate::figure::{Estimate, Scalar};

/// A pressure below this many of its standard uncertainties is not clear of 0.
const CLEAR: f64 = 3.0;

/// Whether a pressure is not clear of 0.
pub(super) fn is_near_zero(pressure: &Estimate) -> bool {
    let value = pressure.value();
    value <= 0.0 || pressure.u().is_some_and(|u| value < CLEAR * u)
}

/// The pressure, unless it lies further below 0 than its uncertainty explains: a magnitude is never
/// negative.
pub(super) fn magnitude(pressure: &Estimate) -> Option<Estimate> {
    let value = pressure.value();
    let explained = pressure.u().map_or(0.0, |u| CLEAR * u);
    (value >= -explained).then(|| pressure.clone())
}

/// The square root of a ratio of pressures; 0 for a ratio below 0.
pub(super) fn root(ratio: &Estimate) -> Estimate {
    let value = ratio.value();
    match ratio.u() {
        Some(u) if u > 0.0 && value < CLEAR * u => {
            ratio.map(value.max(0.0).sqrt(), root_mean_square(value, u) / u)
        }
        _ if value > 0.0 => ratio.sqrt(),
        // The uncertainty is unknown or 0: keep the sources with slope 0.
        _ => ratio.map(0.0, 1.0),
    }
}

/// By how much √max(x, 0) misses the root of `value`, root mean square, where x is normal about
/// `value` with standard deviation `u`: the trapezoidal rule over eight u to either side.
fn root_mean_square(value: f64, u: f64) -> f64 {
    const STEPS: i32 = 1600;
    let middle = value.max(0.0).sqrt();
    let (mut sum, mut weights) = (0.0, 0.0);
    for step in -STEPS..=STEPS {
        let z = 8.0 * f64::from(step) / f64::from(STEPS);
        let weight = (-0.5 * z * z).exp();
        sum += weight * ((value + z * u).max(0.0).sqrt() - middle).powi(2);
        weights += weight;
    }
    (sum / weights).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::{NormalDraws, Simulation};

    /// Against the draws of √max(x, 0); where the pressure is clear of nothing against first order,
    /// which is 7 % too small just there.
    #[test]
    fn the_root_near_nothing_has_the_uncertainty_that_simulation_shows() {
        for value in [-0.02, 0.0, 0.03, 0.06, 0.1, 0.179, 0.181, 0.3, 4.0] {
            let pressure = Estimate::input("metering", value, Some(0.06), f64::INFINITY);
            let simulation = Simulation::new([&pressure], NormalDraws::Normal).expect("known");
            let middle = f64::max(value, 0.0).sqrt();
            let miss = |x: &[f64]| (x[0].max(0.0).sqrt() - middle).powi(2);
            let drawn = simulation.distribution(200_000, 7, miss).mean().sqrt();
            let found = root(&pressure).u().expect("known");
            let allowed = if value < 0.18 { 0.01 } else { 0.08 };
            assert!(
                (found / drawn - 1.0).abs() < allowed,
                "{value}: {found} {drawn}"
            );
        }
    }

    #[test]
    fn an_unknown_uncertainty_stays_unknown_at_nothing() {
        let pressure = Estimate::input("metering", 0.0, None, f64::INFINITY);
        assert_eq!((root(&pressure).value(), root(&pressure).u()), (0.0, None));
        assert!(magnitude(&Estimate::input("m", -5.0, Some(0.06), 9.0)).is_none());
        assert!(magnitude(&Estimate::input("m", -0.05, Some(0.06), 9.0)).is_some());
    }
}
