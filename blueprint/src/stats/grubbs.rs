//! Values that are unlike the others, among a few.
//!
//! Sources: NIST/SEMATECH e-Handbook 1.3.5.17.1 (Grubbs), 1.3.5.17.3 (the generalised test of
//! Rosner, so that two unlike values do not hide each other); ASTM E178.

use super::{mean, sd};
use crate::figure::student_quantile;

/// The critical value of G = max|x − mean|/s at level `alpha`, one-sided or two-sided.
/// NaN for fewer than three values.
pub fn grubbs_critical(n: usize, alpha: f64, two_sided: bool) -> f64 {
    if n < 3 {
        return f64::NAN;
    }
    let count = n as f64;
    let tail = alpha / if two_sided { 2.0 * count } else { count };
    let t = student_quantile(1.0 - tail, count - 2.0);
    (count - 1.0) / count.sqrt() * (t * t / (count - 2.0 + t * t)).sqrt()
}

/// A value that is unlike the others.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UnlikeValue {
    /// Place in the list.
    pub index: usize,
    /// How far it lies from the mean of those that are alike.
    pub distance: f64,
    /// The largest number of standard deviations from the mean, G.
    pub g: f64,
    /// What G would have had to stay below.
    pub critical: f64,
}

/// The values unlike the others, two-sided at level `alpha`, at most a quarter of them.
///
/// Fewer than four values give none: with three, G can hardly exceed its critical value.
pub fn unlike_brothers(values: &[f64], alpha: f64) -> Vec<UnlikeValue> {
    let n = values.len();
    if n < 4 {
        return Vec::new();
    }
    let mut left: Vec<usize> = (0..n).collect();
    let mut candidates = Vec::new();
    let mut unlike = 0;
    for step in 0..(n / 4).max(1) {
        let kept: Vec<f64> = left.iter().map(|&index| values[index]).collect();
        let centre = mean(kept.iter().copied());
        let Some(s) = sd(&kept).filter(|&s| s > 0.0) else {
            break;
        };
        let far = (0..left.len()).max_by(|&a, &b| {
            (kept[a] - centre)
                .abs()
                .total_cmp(&(kept[b] - centre).abs())
        });
        let Some(far) = far else { break };
        let g = (kept[far] - centre).abs() / s;
        let critical = grubbs_critical(kept.len(), alpha, true);
        candidates.push((left.remove(far), g, critical));
        if g > critical {
            unlike = step + 1;
        }
    }
    candidates.truncate(unlike);
    let alike = (0..n).filter(|index| candidates.iter().all(|(unlike, ..)| unlike != index));
    let centre = mean(alike.map(|index| values[index]));
    candidates
        .into_iter()
        .map(|(index, g, critical)| UnlikeValue {
            index,
            distance: values[index] - centre,
            g,
            critical,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_handbook_example_has_one_unlike_value() {
        // NIST/SEMATECH e-Handbook 1.3.5.17.1, data of Tietjen and Moore 1972.
        let values = [
            199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57,
        ];
        let unlike = unlike_brothers(&values, 0.05);
        assert_eq!(unlike.len(), 1);
        assert_eq!(unlike[0].index, 7);
        assert!((unlike[0].g - 2.468765).abs() < 5e-7);
        assert!((grubbs_critical(8, 0.05, false) - 2.031652).abs() < 5e-7);
        assert!((unlike[0].critical - 2.126645).abs() < 5e-7);
    }

    #[test]
    fn two_unlike_values_do_not_hide_each_other() {
        let values = [64.0, 64.1, 63.9, 64.05, 66.0, 64.02, 63.95, 66.1];
        let mut found: Vec<usize> = unlike_brothers(&values, 0.05)
            .iter()
            .map(|unlike| unlike.index)
            .collect();
        found.sort_unstable();
        assert_eq!(found, [4, 7]);
    }

    #[test]
    fn equal_values_are_alike() {
        assert!(unlike_brothers(&[64.0; 8], 0.05).is_empty());
        assert!(unlike_brothers(&[64.0, 64.0, 99.0], 0.05).is_empty());
    }
}
