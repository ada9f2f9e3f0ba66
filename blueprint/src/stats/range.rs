//! The range of n normal values: its mean and spread, and the constants that rest on them.
//!
//! d2 is the spread that n equal parts show on average, in standard deviations of one measurement.

use statrs::distribution::{Continuous, Normal};

use crate::figure::normal_cdf;

/// Constants for the range of `n` independent normal values of standard deviation one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RangeConstants {
    /// How many values.
    pub n: usize,
    /// Mean of the range.
    pub d2: f64,
    /// Standard deviation of the range.
    pub d3: f64,
}

impl RangeConstants {
    /// d2*, for a standard deviation from one range: √(d2² + d3²).
    pub fn d2_star(&self) -> f64 {
        self.d2.hypot(self.d3)
    }

    /// Upper limit of a range chart, times the mean range: 1 + 3·d3/d2.
    pub fn upper_limit(&self) -> f64 {
        1.0 + 3.0 * self.d3 / self.d2
    }

    /// Lower limit of a range chart, times the mean range; not below 0.
    pub fn lower_limit(&self) -> f64 {
        (1.0 - 3.0 * self.d3 / self.d2).max(0.0)
    }

    /// K1 of a gauge study: 1/d2, for the mean of many ranges.
    pub fn k1(&self) -> f64 {
        1.0 / self.d2
    }

    /// K2 or K3 of a gauge study: 1/d2*, for one range.
    pub fn k2(&self) -> f64 {
        1.0 / self.d2_star()
    }
}

/// The constants for `n` values, by numerical integration; `None` for fewer than two or more than
/// a hundred.
pub fn range_constants(n: usize) -> Option<RangeConstants> {
    if !(2..=100).contains(&n) {
        return None;
    }
    // Gauss-Legendre with five nodes over each of these panels.
    const NODES: [(f64, f64); 5] = [
        (-0.906_179_845_938_664, 0.236_926_885_056_189_1),
        (-0.538_469_310_105_683_1, 0.478_628_670_499_366_5),
        (0.0, 0.568_888_888_888_888_9),
        (0.538_469_310_105_683_1, 0.478_628_670_499_366_5),
        (0.906_179_845_938_664, 0.236_926_885_056_189_1),
    ];
    const PANEL: f64 = 0.25;
    const PANELS: u32 = 72;
    let wider = WiderThan::new(n);
    let (mut mean, mut square) = (0.0, 0.0);
    for panel in 0..PANELS {
        for (node, weight) in NODES {
            let width = (f64::from(panel) + 0.5 + 0.5 * node) * PANEL;
            let tail = 0.5 * PANEL * weight * wider.probability(width);
            mean += tail;
            square += 2.0 * width * tail;
        }
    }
    Some(RangeConstants {
        n,
        d2: mean,
        d3: (square - mean * mean).max(0.0).sqrt(),
    })
}

/// The probability that the range of n normal values is wider than something:
/// 1 − n·∫ φ(x)·(Φ(x + w) − Φ(x))^(n−1) dx.
struct WiderThan {
    n: i32,
    /// x, φ(x) and Φ(x) on a grid; its plain sum is exact to rounding, since the integrand is
    /// smooth and falls off like the normal tail.
    grid: Vec<(f64, f64, f64)>,
}

impl WiderThan {
    const STEP: f64 = 1.0 / 16.0;

    fn new(n: usize) -> WiderThan {
        let normal = Normal::standard();
        let at = |place: i32| {
            let x = f64::from(place) * WiderThan::STEP;
            (x, normal.pdf(x), normal_cdf(x))
        };
        WiderThan {
            n: n as i32,
            grid: (-160..=160).map(at).collect(),
        }
    }

    fn probability(&self, width: f64) -> f64 {
        let within: f64 = self
            .grid
            .iter()
            .map(|(x, density, below)| density * (normal_cdf(x + width) - below).powi(self.n - 1))
            .sum();
        1.0 - f64::from(self.n) * within * WiderThan::STEP
    }
}
