//! A straight line through pairs, and what it predicts.
//!
//! Sources: JCGM 100:2008 (GUM) H.3; NIST/SEMATECH e-Handbook 2.3.6 (inverse prediction).

use super::mean;

/// y = intercept + slope·(x − origin), by least squares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StraightLine {
    /// The x that the intercept stands at.
    pub origin: f64,
    /// y at the origin.
    pub intercept: f64,
    /// Slope.
    pub slope: f64,
    /// Standard deviation about the line; `None` of two points, where nothing is left over.
    pub s: Option<f64>,
    /// Degrees of freedom of `s`.
    pub dof: f64,
    /// (mean of x) − origin.
    centre: f64,
    /// Sum of squared differences of x from its mean.
    spread: f64,
    n: f64,
}

/// A predicted value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LinePrediction {
    /// The value.
    pub value: f64,
    /// Standard uncertainty from the scatter about the line; `None` where that is not known.
    pub u: Option<f64>,
    /// Degrees of freedom of `u`.
    pub dof: f64,
}

impl StraightLine {
    /// Fits a line to pairs of x and y. `None` for fewer than two different x.
    pub fn fit(points: &[(f64, f64)], origin: f64) -> Option<StraightLine> {
        let n = points.len() as f64;
        let x_mean = mean(points.iter().map(|(x, _)| x - origin));
        let y_mean = mean(points.iter().map(|(_, y)| *y));
        let spread: f64 = points
            .iter()
            .map(|(x, _)| (x - origin - x_mean).powi(2))
            .sum();
        if points.len() < 2 || spread <= 0.0 {
            return None;
        }
        let products: f64 = points
            .iter()
            .map(|(x, y)| (x - origin - x_mean) * (y - y_mean))
            .sum();
        let slope = products / spread;
        let intercept = y_mean - slope * x_mean;
        let left: f64 = points
            .iter()
            .map(|(x, y)| (y - intercept - slope * (x - origin)).powi(2))
            .sum();
        let dof = n - 2.0;
        let s = (dof > 0.0).then(|| (left / dof).sqrt());
        Some(StraightLine {
            origin,
            intercept,
            slope,
            s,
            dof,
            centre: x_mean,
            spread,
            n,
        })
    }

    /// Standard uncertainty of the intercept.
    pub fn u_intercept(&self) -> Option<f64> {
        self.s
            .map(|s| s * (1.0 / self.n + self.centre.powi(2) / self.spread).sqrt())
    }

    /// Standard uncertainty of the slope.
    pub fn u_slope(&self) -> Option<f64> {
        self.s.map(|s| s / self.spread.sqrt())
    }

    /// Standard uncertainty that the slope would have if the points scattered by `s`.
    pub fn u_slope_of(&self, s: f64) -> f64 {
        s / self.spread.sqrt()
    }

    /// Correlation of intercept and slope.
    pub fn correlation(&self) -> f64 {
        -self.centre / (self.spread / self.n + self.centre.powi(2)).sqrt()
    }

    /// The line's own value at x.
    pub fn at(&self, x: f64) -> LinePrediction {
        let off = x - self.origin - self.centre;
        LinePrediction {
            value: self.intercept + self.slope * (x - self.origin),
            u: self
                .s
                .map(|s| s * (1.0 / self.n + off * off / self.spread).sqrt()),
            dof: self.dof,
        }
    }
}
