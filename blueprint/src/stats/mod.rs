//! Statistics of plain numbers: means, standard deviations, outliers, repeatability.
//!
//! No function deletes a value or says why it is unlike the others.

mod grr;
mod grubbs;
mod line;
mod range;
mod scatter;
mod variance;

pub use grr::{AnovaStudy, AnovaTable, GaugeStudy, RangeStudy, StudyError, StudyShares};
pub use grubbs::{UnlikeValue, grubbs_critical, unlike_brothers};
pub use line::{LinePrediction, StraightLine};
pub use range::{RangeConstants, range_constants};
pub use scatter::Scatter;
pub use variance::{OneWayAnova, f_quantile, f_tail, lag_one};

/// The mean, in two passes: the second takes out the rounding of the first. NaN for an empty list.
pub fn mean(values: impl IntoIterator<Item = f64>) -> f64 {
    let values: Vec<f64> = values.into_iter().collect();
    let n = values.len() as f64;
    let first = values.iter().sum::<f64>() / n;
    first + values.iter().map(|value| value - first).sum::<f64>() / n
}

/// The sample standard deviation with n − 1, by two passes (never the difference of sums of
/// squares, which loses all digits on NIST StRD NumAcc4). `None` for fewer than two values.
pub fn sd(values: &[f64]) -> Option<f64> {
    (values.len() >= 2)
        .then(|| sum_of_squares(values) / (values.len() - 1) as f64)
        .map(f64::sqrt)
}

/// The sum of squared differences from the mean.
pub fn sum_of_squares(values: &[f64]) -> f64 {
    let mean = mean(values.iter().copied());
    let n = values.len() as f64;
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    let left_over: f64 = values.iter().map(|value| value - mean).sum();
    squares - left_over * left_over / n
}

/// The spread: largest less smallest value. -∞ for an empty list.
pub fn spread(values: impl IntoIterator<Item = f64>) -> f64 {
    let ends = (f64::INFINITY, f64::NEG_INFINITY);
    let (least, most) = values
        .into_iter()
        .fold(ends, |(low, high), one| (low.min(one), high.max(one)));
    most - least
}

/// A standard deviation with its degrees of freedom.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PooledDeviation {
    /// The standard deviation.
    pub s: f64,
    /// Degrees of freedom.
    pub dof: f64,
}

impl PooledDeviation {
    /// Repeatability from sets of repeats, √(Σν·s²/Σν) (NIST/SEMATECH e-Handbook 2.4.3).
    /// `None` if no set has two values.
    pub fn of_sets<'a>(sets: impl IntoIterator<Item = &'a [f64]>) -> Option<PooledDeviation> {
        let (mut squares, mut dof) = (0.0, 0.0);
        for set in sets.into_iter().filter(|set| set.len() >= 2) {
            squares += sum_of_squares(set);
            dof += (set.len() - 1) as f64;
        }
        (dof > 0.0).then(|| PooledDeviation {
            s: (squares / dof).sqrt(),
            dof,
        })
    }

    /// Two independent estimates of one standard deviation, pooled.
    #[must_use]
    pub fn and(self, other: PooledDeviation) -> PooledDeviation {
        if self.dof.is_infinite() {
            return self;
        }
        if other.dof.is_infinite() {
            return other;
        }
        let dof = self.dof + other.dof;
        PooledDeviation {
            s: ((self.dof * self.s.powi(2) + other.dof * other.s.powi(2)) / dof).sqrt(),
            dof,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pooled_duplicates_follow_the_formula_for_differences() {
        // From duplicates: s = √(Σd²/2k).
        let sets: [&[f64]; 3] = [&[1.0, 1.2], &[5.0, 4.9], &[3.0, 3.3]];
        let pooled = PooledDeviation::of_sets(sets).unwrap();
        let expected = ((0.2f64.powi(2) + 0.1f64.powi(2) + 0.3f64.powi(2)) / 6.0).sqrt();
        assert!((pooled.s - expected).abs() < 1e-15);
        assert_eq!(pooled.dof, 3.0);
        assert!(PooledDeviation::of_sets([&[1.0][..]]).is_none());
    }

    #[test]
    fn a_known_repeatability_outweighs_an_estimated_one() {
        let known = PooledDeviation {
            s: 0.05,
            dof: f64::INFINITY,
        };
        assert_eq!(known.and(PooledDeviation { s: 0.2, dof: 8.0 }), known);
        let both = PooledDeviation { s: 1.0, dof: 4.0 }.and(PooledDeviation { s: 2.0, dof: 8.0 });
        assert!((both.s - 3f64.sqrt()).abs() < 1e-15);
        assert_eq!(both.dof, 12.0);
    }
}
