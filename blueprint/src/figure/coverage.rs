//! Degrees of freedom and coverage factors.
//!
//! Sources: JCGM 100:2008 (GUM) G.2b (Welch-Satterthwaite), G.6.4 (effective degrees of freedom
//! are truncated to a whole number before the t quantile is taken).

use statrs::distribution::{Continuous, ContinuousCDF, Normal, StudentsT};
use statrs::function::gamma::{gamma_lr, gamma_ur};

/// Effective degrees of freedom by Welch-Satterthwaite, from pairs of a contribution |c·u| and its
/// degrees of freedom. Infinite if no contribution has finite ones; valid for independent sources
/// only.
pub fn effective_dof(contributions: impl IntoIterator<Item = (f64, f64)>) -> f64 {
    let (mut variance, mut below) = (0.0, 0.0);
    for (contribution, dof) in contributions {
        let square = contribution * contribution;
        variance += square;
        if dof.is_finite() && square > 0.0 {
            below += square * square / dof;
        }
    }
    if below > 0.0 {
        variance * variance / below
    } else {
        f64::INFINITY
    }
}

/// The quantile of Student's t for `p` with `dof` degrees of freedom; of the normal distribution
/// if `dof` is infinite or beyond a million.
///
/// `p` lies strictly between 0 and 1 and `dof` is positive, otherwise the answer is NaN.
pub fn student_quantile(p: f64, dof: f64) -> f64 {
    if !(p > 0.0 && p < 1.0) {
        return f64::NAN;
    }
    if dof > 1e6 {
        let normal = Normal::standard();
        let mut z = normal.inverse_cdf(p);
        for _ in 0..2 {
            z -= (normal_cdf(z) - p) / normal.pdf(z);
        }
        return z;
    }
    let Ok(distribution) = StudentsT::new(0.0, 1.0, dof) else {
        return f64::NAN;
    };
    // The library's inverse is good to about 1e-9; two Newton steps bring it to rounding.
    let mut t = distribution.inverse_cdf(p);
    for _ in 0..2 {
        let slope = distribution.pdf(t);
        if slope > 0.0 {
            t -= (distribution.cdf(t) - p) / slope;
        }
    }
    t
}

/// The probability that Student's t with `dof` degrees of freedom lies above `t`. NaN unless `dof`
/// is positive and finite.
pub(crate) fn student_tail(t: f64, dof: f64) -> f64 {
    StudentsT::new(0.0, 1.0, dof).map_or(f64::NAN, |distribution| distribution.sf(t))
}

/// The two-sided coverage factor for a level of confidence such as 0.95, with the degrees of
/// freedom truncated (but not below one).
pub fn coverage_factor(level: f64, dof: f64) -> f64 {
    let dof = if dof.is_finite() {
        dof.floor().max(1.0)
    } else {
        dof
    };
    student_quantile((1.0 + level) / 2.0, dof)
}

/// The level of confidence of [`coverage`]: that of twice the standard deviation of a normal
/// distribution.
pub const LEVEL: f64 = 0.954_499_736_103_642;

/// The coverage factor of every ± and every verdict: 2, and with few degrees of freedom more (JCGM
/// 100:2008, table G.2, the column for 95.45 %).
pub fn coverage(dof: f64) -> f64 {
    coverage_factor(LEVEL, dof)
}

/// The normal distribution by the incomplete gamma function, to rounding: the error function of
/// the statistics library is good to 5e-11 only.
pub(crate) fn normal_cdf(x: f64) -> f64 {
    let half_square = 0.5 * x * x;
    if half_square == 0.0 {
        0.5
    } else if x < 0.0 {
        0.5 * gamma_ur(0.5, half_square)
    } else {
        0.5 + 0.5 * gamma_lr(0.5, half_square)
    }
}
