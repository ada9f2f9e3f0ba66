//! What a depth takes, learned from cuts already made (`docs/formulas.md`, 2.3).

use super::{MillError, MillModel};
use crate::figure::{Estimate, Source};
use crate::stats::Line;

/// Learns from pairs of the depth of a cut (mm) and the volume of a chamber after it (cc); the
/// uncut chamber is a pair of depth 0. With two pairs there is a slope but no error estimate, so
/// that its uncertainty is unknown.
pub fn learn(pairs: &[(f64, f64)]) -> Result<MillModel, MillError> {
    let line = Line::fit(pairs, 0.0).ok_or(MillError::NoPairs(pairs.len()))?;
    if line.slope >= 0.0 {
        return Err(MillError::NoSlope);
    }
    let u = line.u_slope();
    let dof = line.dof.max(1.0);
    let slope = Estimate::new(-line.slope, Source::new("cuts already made", u, dof));
    let depths = pairs.iter().map(|(depth, _)| *depth);
    let depths = (
        depths.clone().fold(f64::INFINITY, f64::min),
        depths.fold(f64::NEG_INFINITY, f64::max),
    );
    Ok(MillModel::Learned {
        slope,
        pairs: pairs.len(),
        depths,
    })
}

/// Learns from several chambers, each cut by its own depths: one slope for all, each chamber having
/// a volume of its own to begin with. The uncertainty of the slope is unknown if nothing is left
/// over to judge it by (one cut of one chamber).
pub fn learn_within(series: &[Vec<(f64, f64)>]) -> Result<MillModel, MillError> {
    let pairs: usize = series.iter().map(Vec::len).sum();
    let (mut spread, mut products) = (0.0, 0.0);
    let mut centred = Vec::new();
    for one in series {
        let x_mean = crate::stats::mean(one.iter().map(|(x, _)| *x));
        let y_mean = crate::stats::mean(one.iter().map(|(_, y)| *y));
        for (x, y) in one {
            let (x, y) = (x - x_mean, y - y_mean);
            spread += x * x;
            products += x * y;
            centred.push((x, y));
        }
    }
    if spread <= 0.0 {
        return Err(MillError::NoPairs(pairs));
    }
    let slope = products / spread;
    if slope >= 0.0 {
        return Err(MillError::NoSlope);
    }
    let dof = pairs as f64 - series.len() as f64 - 1.0;
    let left: f64 = centred.iter().map(|(x, y)| (y - slope * x).powi(2)).sum();
    let u = (dof > 0.0).then(|| (left / dof / spread).sqrt());
    let source = Source::new("cuts already made", u, dof.max(1.0));
    let depths = series.iter().flatten().map(|(depth, _)| *depth);
    let depths = (
        depths.clone().fold(f64::INFINITY, f64::min),
        depths.fold(f64::NEG_INFINITY, f64::max),
    );
    Ok(MillModel::Learned {
        slope: Estimate::new(-slope, source),
        pairs,
        depths,
    })
}
