//! Variation between and within groups, and along a series.

use statrs::distribution::{ContinuousCDF, FisherSnedecor};

use super::{mean, sum_of_squares};

/// Analysis of variance of groups of equal size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OneWayAnova {
    /// The mean of all values.
    pub mean: f64,
    /// Standard deviation of the groups' means, with `between_dof`.
    pub between: f64,
    /// Degrees of freedom between groups.
    pub between_dof: f64,
    /// Pooled standard deviation within the groups, with `within_dof`.
    pub within: f64,
    /// Degrees of freedom within groups.
    pub within_dof: f64,
    /// F: n·between²/within².
    pub f: f64,
}

impl OneWayAnova {
    /// From the means and standard deviations of groups of `size` values each. `None` for fewer
    /// than two groups or values, or if the groups' numbers differ.
    ///
    /// Source: JCGM 100:2008 (GUM) H.5.
    pub fn of_summaries(means: &[f64], sds: &[f64], size: usize) -> Option<OneWayAnova> {
        if means.len() < 2 || means.len() != sds.len() || size < 2 {
            return None;
        }
        let groups = means.len() as f64;
        let between = super::sd(means)?;
        let within = (sds.iter().map(|s| s * s).sum::<f64>() / groups).sqrt();
        Some(OneWayAnova {
            mean: mean(means.iter().copied()),
            between,
            between_dof: groups - 1.0,
            within,
            within_dof: groups * (size as f64 - 1.0),
            f: size as f64 * (between / within).powi(2),
        })
    }

    /// Standard uncertainty of the mean of all, from the groups' means.
    pub fn u_of_mean(&self) -> f64 {
        self.between / (self.between_dof + 1.0).sqrt()
    }
}

/// The quantile of F for `p`. NaN outside its range.
pub fn f_quantile(p: f64, above: f64, below: f64) -> f64 {
    FisherSnedecor::new(above, below).map_or(f64::NAN, |f| f.inverse_cdf(p))
}

/// The probability of an F as large as this or larger. NaN outside its range.
pub fn f_tail(f: f64, above: f64, below: f64) -> f64 {
    FisherSnedecor::new(above, below).map_or(f64::NAN, |distribution| distribution.sf(f))
}

/// Autocorrelation of a series with itself one step later. NaN if it does not vary.
pub fn lag_one(values: &[f64]) -> f64 {
    let centre = mean(values.iter().copied());
    let products: f64 = values
        .windows(2)
        .map(|pair| (pair[0] - centre) * (pair[1] - centre))
        .sum();
    products / sum_of_squares(values)
}
