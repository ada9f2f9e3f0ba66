//! The volume that a depth removes, learned from cuts already made (`docs/formulas.md`, 2.3).

use super::{MillError, MillModel};
use crate::figure::{ErrorSource, Estimate, Scalar};
use crate::stats::{StraightLine, f_tail};

/// If the scatter about the line is less likely than this under the errors of the volumes, those
/// errors do not explain it: the walls lean, or a depth was not as stated.
const UNEXPLAINED: f64 = 0.05;

/// Learns from pairs of the depth of a cut (mm) and the volume of a chamber after it (cc); the
/// uncut chamber is a pair of depth 0. With two pairs there is a slope but no error estimate, so
/// that its uncertainty is unknown.
pub fn learn(pairs: &[(f64, f64)]) -> Result<MillModel, MillError> {
    let line = StraightLine::fit(pairs, 0.0).ok_or(MillError::NoPairs(pairs.len()))?;
    if line.slope >= 0.0 {
        return Err(MillError::NoSlope);
    }
    let u = line.u_slope();
    let dof = line.dof.max(1.0);
    let slope = Estimate::new(-line.slope, ErrorSource::new("cuts already made", u, dof));
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
    let source = ErrorSource::new("cuts already made", u, dof.max(1.0));
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

/// Learns like [`learn_within`] from chambers whose volumes come with their errors. The slope
/// carries these errors. Example: a chamber that reads large after the last cut makes the slope
/// small and the volume still to remove large; both make the next cut too deep. Scatter about the
/// line beyond these errors is added. As there, the uncertainty is unknown if nothing is left over
/// to judge the line by.
pub fn learn_from(series: &[Vec<(f64, Estimate)>]) -> Result<MillModel, MillError> {
    let plain: Vec<Vec<(f64, f64)>> = series
        .iter()
        .map(|one| one.iter().map(|(x, y)| (*x, y.value())).collect())
        .collect();
    let MillModel::Learned {
        slope: by_scatter,
        pairs,
        depths,
    } = learn_within(&plain)?
    else {
        return Err(MillError::NoSlope);
    };
    let Some(u_scatter) = by_scatter.u() else {
        return Ok(MillModel::Learned {
            slope: by_scatter,
            pairs,
            depths,
        });
    };
    let mean = |one: &[(f64, Estimate)]| crate::stats::mean(one.iter().map(|(x, _)| *x));
    let spread: f64 = series
        .iter()
        .map(|one| {
            one.iter()
                .map(|(x, _)| (x - mean(one)).powi(2))
                .sum::<f64>()
        })
        .sum();
    let weighed = series.iter().flat_map(|one| {
        let mean = mean(one);
        one.iter().map(move |(x, y)| y.scale((mean - x) / spread))
    });
    let Some(sum) = weighed.reduce(|sum, one| sum + one) else {
        return Err(MillError::NoPairs(pairs));
    };
    // Unknown errors of the volumes show only in their scatter.
    let mut slope = Estimate::exact(by_scatter.value());
    let mut unknown = false;
    let mut own = 0.0;
    for part in sum.contributions() {
        let Some(u) = part.u else {
            unknown = true;
            continue;
        };
        let carried = series
            .iter()
            .flatten()
            .filter(|(_, y)| y.slope(&part.source.id) != 0.0);
        if carried.count() == 1 {
            own += u * u;
        }
        slope = slope.with(part.source.clone(), part.slope);
    }
    let dof = by_scatter.dof();
    let explains = own > 0.0 && f_tail(u_scatter * u_scatter / own, dof, 1e6) > UNEXPLAINED;
    if unknown || !explains {
        let beyond = (u_scatter * u_scatter - own).max(0.0).sqrt();
        slope = slope.with(
            ErrorSource::new("cuts already made", Some(beyond), dof),
            1.0,
        );
    }
    Ok(MillModel::Learned {
        slope,
        pairs,
        depths,
    })
}
