//! How deep to mill, flat or angled, from a known area or learned from cuts already made.
//!
//! Source: `docs/formulas.md`, section 2.

use serde::Serialize;

use super::solve;
use crate::figure::{Estimate, Figure, Scalar, Source};
use crate::known::{Known, State};
use crate::stats::Line;
use crate::units::Unit;

/// How a chamber shrinks with the depth of the cut.
#[derive(Debug, Clone, PartialEq)]
pub enum MillModel {
    /// By the area of its opening at the deck, mm².
    Area(Estimate),
    /// By what cuts already made have taken.
    Learned {
        /// Volume taken per depth, cc per mm, positive.
        slope: Estimate,
        /// How many pairs it rests on.
        pairs: usize,
        /// The depths between which it was learned, mm; chamber walls lean, so it does not hold
        /// far beyond them.
        depths: (f64, f64),
    },
}

/// Why there is no decision.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum MillError {
    /// No pair of depth and volume.
    #[error(
        "found {0} pairs of depth and volume taken, expected at least one with a depth that is not 0; measure a chamber before and after a cut"
    )]
    NoPairs(usize),
    /// The cuts took nothing.
    #[error(
        "the chambers did not shrink with the depth of the cuts; check the stages of the readings and the depths"
    )]
    NoSlope,
    /// No cylinder is known well enough.
    #[error("no cylinder has all that the target needs; see what is missing in the report")]
    NothingKnown,
    /// No depth reaches the target.
    #[error("no depth reaches the target; check the target and the chambers")]
    NoDepth,
}

/// What a cut is to reach.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Aim {
    /// This mean ratio of the cylinders that are cut.
    Ratio(f64),
    /// This mean chamber volume of them, cc.
    Chamber(f64),
}

/// How deep to mill, and what it changes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MillDecision {
    /// Depth at the centroid of the chambers' openings (everywhere, if flat). Positive: metal
    /// removed. Negative: the target is already passed and no cut reaches it.
    pub depth: Figure,
    /// Depth at the pivot line; for an angled cut only.
    pub depth_at_pivot: Option<Figure>,
    /// Volume taken from each chamber, cc.
    pub taken: Figure,
    /// What each cylinder has afterwards.
    pub after: Vec<CutEffect>,
    /// What else changes, and what to look at first.
    pub warnings: Vec<String>,
}

/// What a cylinder has after a cut.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CutEffect {
    /// The cylinder.
    pub cylinder: u32,
    /// Chamber volume, cc.
    pub chamber: Figure,
    /// Ratio; `None` where something that it needs is not known.
    pub compression: Option<Figure>,
}

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

impl MillModel {
    /// Volume taken per depth, cc per mm.
    fn slope(&self) -> Estimate {
        match self {
            MillModel::Area(area) => area.scale(1e-3),
            MillModel::Learned { slope, .. } => slope.clone(),
        }
    }

    fn warnings(&self, depth: f64) -> Vec<String> {
        let mut warnings = Vec::new();
        if let MillModel::Learned {
            pairs,
            depths: (least, most),
            ..
        } = self
        {
            if *pairs <= 2 {
                warnings.push(
                    "learned from one cut only: the slope has no error estimate, so leave some to take later"
                        .to_owned(),
                );
            }
            if depth > (most - least) * 1.5 {
                warnings.push(
                    "this is far deeper than the cuts that it was learned from; chamber walls lean, so measure after part of it"
                        .to_owned(),
                );
            }
        }
        warnings
    }
}

/// How deep to mill a head flat, for the cylinders of one bank or of the list given; chambers of
/// other cylinders stay. `most` is the most that may be cut, mm.
pub fn mill_flat(
    state: &State,
    cylinders: &[u32],
    model: &MillModel,
    aim: Aim,
    most: Option<f64>,
) -> Result<MillDecision, MillError> {
    let cut: Vec<&Known> = state
        .cylinders
        .iter()
        .filter(|known| cylinders.contains(&known.number))
        .collect();
    let taken = taken(&cut, aim)?;
    let depth = taken.clone() / model.slope();
    Ok(decision(state, &cut, model, &taken, &depth, None, most))
}

/// The same for a cut at an angle (degrees), tipped about a pivot line. `centroid` is the distance
/// of the centroids of the chambers' openings from the pivot line, mm, positive toward the deep
/// side.
pub fn mill_angled(
    state: &State,
    cylinders: &[u32],
    model: &MillModel,
    aim: Aim,
    most: Option<f64>,
    (angle, centroid): (f64, &Estimate),
) -> Result<MillDecision, MillError> {
    let cut: Vec<&Known> = state
        .cylinders
        .iter()
        .filter(|known| cylinders.contains(&known.number))
        .collect();
    let taken = taken(&cut, aim)?;
    let depth = taken.clone() / model.slope();
    let at_pivot = depth.clone() - centroid.scale(angle.to_radians().tan());
    let mut decision = decision(state, &cut, model, &taken, &depth, Some(at_pivot), most);
    decision.warnings.push(
        "a tipped cut changes the valves' angle to the bore; their clearance must be measured anew"
            .to_owned(),
    );
    Ok(decision)
}

/// The volume to take from each of these chambers, cc.
fn taken(cut: &[&Known], aim: Aim) -> Result<Estimate, MillError> {
    match aim {
        Aim::Chamber(volume) => {
            let chambers = cut.iter().filter_map(|known| known.chamber.as_ref());
            let mean = Estimate::mean(chambers).ok_or(MillError::NothingKnown)?;
            Ok(mean.offset(-volume))
        }
        Aim::Ratio(ratio) => {
            let wholes: Vec<_> = cut.iter().filter_map(|known| known.whole()).collect();
            if wholes.is_empty() {
                return Err(MillError::NothingKnown);
            }
            let off = |taken: &Estimate| {
                let ratios: Vec<Estimate> = wholes
                    .iter()
                    .map(|whole| {
                        let mut after = whole.clone();
                        after.chamber = after.chamber - taken.clone();
                        after.ratio()
                    })
                    .collect();
                Some(Estimate::mean(&ratios)?.offset(-ratio))
            };
            // Begin with what the mean cylinder needs: the rest is of second order.
            let mean = |of: fn(&crate::formula::compression::Cylinder<Estimate>) -> Estimate| {
                crate::stats::mean(wholes.iter().map(|whole| of(whole).value()))
            };
            let start = mean(|w| w.clearance()) - mean(|w| w.swept()) / (ratio - 1.0);
            solve(start, off).ok_or(MillError::NoDepth)
        }
    }
}

fn decision(
    state: &State,
    cut: &[&Known],
    model: &MillModel,
    taken: &Estimate,
    depth: &Estimate,
    at_pivot: Option<Estimate>,
    most: Option<f64>,
) -> MillDecision {
    let length = state.units.length();
    let cc = Unit::CubicCentimetre;
    let mut warnings = vec![
        "the least deck thickness that the head's maker allows comes first".to_owned(),
        "quench does not change; valve-to-piston clearance shrinks by the depth along the bore, pushrods stand longer, and on a V engine the intake manifold no longer fits unless it is cut too"
            .to_owned(),
    ];
    if depth.value() < 0.0 {
        warnings.insert(
            0,
            "the target lies on the other side: no cut reaches it".to_owned(),
        );
    }
    if let Some(most) = most.filter(|most| depth.value() > *most) {
        warnings.insert(
            0,
            format!(
                "deeper than the {:.4} {length} that may be cut",
                length.from_base(most)
            ),
        );
    }
    warnings.extend(model.warnings(depth.value()));
    // The cut is made to the depth decided on: what is not known of the chambers stays unknown.
    let cut_to = Estimate::exact(depth.value()) * model.slope();
    let after = cut
        .iter()
        .filter_map(|known| {
            let chamber = known.chamber.clone()? - cut_to.clone();
            let now = Known {
                chamber: Some(chamber.clone()),
                ..(*known).clone()
            };
            Some(CutEffect {
                cylinder: known.number,
                chamber: chamber.figure(cc),
                compression: now.ratio().map(|ratio| ratio.figure(Unit::One)),
            })
        })
        .collect();
    MillDecision {
        depth: depth.figure(length),
        depth_at_pivot: at_pivot.map(|depth| depth.figure(length)),
        taken: taken.figure(cc),
        after,
        warnings,
    }
}
