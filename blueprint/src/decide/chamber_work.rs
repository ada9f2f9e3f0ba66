//! Chamber work with a grinder: only removal is possible, so every cylinder is brought to the one
//! that needs none, or no nearer to it than is allowed.

use serde::{Deserialize, Serialize};

use super::known_worse::{known_far_worse, largest_well_known};
use crate::engine_figures::{CylinderFigures, EngineFigures};
use crate::figure::{Estimate, Figure, Scalar, coverage_factor};
use crate::units::Unit;

/// The figures that are to be made equal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub enum MadeEqual {
    /// The chambers.
    Chambers,
    /// The compression ratios.
    Compression,
    /// Nothing: the chambers come within the spread that the engine file allows, by the least
    /// metal.
    Allowed,
}

/// The work at one cylinder.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CylinderWork {
    /// The cylinder.
    pub cylinder: u32,
    /// Metal to take out of the chamber, cc; 0 where it needs no work.
    pub remove: Figure,
    /// Whether it is more than its expanded uncertainty; `None` if that is unknown. Less than
    /// that may be nothing. Of the least metal: whether the chamber needs any; `None` where the chamber
    /// is known far worse than the others, so that it is to be measured again before any metal goes.
    pub worth_it: Option<bool>,
}

/// The work at every cylinder.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ChamberWork {
    /// What becomes equal.
    pub equal: MadeEqual,
    /// The cylinder that needs none.
    pub reference: u32,
    /// The work, cylinder by cylinder.
    pub work: Vec<CylinderWork>,
    /// Mean ratio before.
    pub compression_before: Option<Figure>,
    /// Mean ratio after all of it.
    pub compression_after: Option<Figure>,
}

/// What to take out of each chamber. `None` if fewer than two cylinders are known. Of
/// [`MadeEqual::Allowed`] it is as of [`MadeEqual::Chambers`]: see [`least_chamber_work`].
pub fn chamber_work(state: &EngineFigures, equal: MadeEqual) -> Option<ChamberWork> {
    let equal = match equal {
        MadeEqual::Compression => MadeEqual::Compression,
        MadeEqual::Chambers | MadeEqual::Allowed => MadeEqual::Chambers,
    };
    let known: Vec<&CylinderFigures> = state
        .cylinders
        .iter()
        .filter(|known| match equal {
            MadeEqual::Compression => known.ratio().is_some(),
            _ => known.chamber.is_some(),
        })
        .collect();
    if known.len() < 2 {
        return None;
    }
    // Metal cannot be put back, so the reference is the largest chamber, or the lowest ratio.
    let reference = known.iter().max_by(|a, b| {
        let key = |known: &CylinderFigures| match equal {
            MadeEqual::Compression => known.ratio().map(|ratio| -ratio.value()),
            _ => known.chamber.as_ref().map(Scalar::value),
        };
        let (a, b) = (key(a).unwrap_or(f64::NAN), key(b).unwrap_or(f64::NAN));
        a.total_cmp(&b)
    })?;
    let goal = match equal {
        MadeEqual::Compression => reference.ratio()?,
        _ => reference.chamber.clone()?,
    };
    let mut work = Vec::new();
    for one in &known {
        let remove = match equal {
            MadeEqual::Compression => one.swept()? / goal.offset(-1.0) - one.clearance()?,
            _ => &goal - one.chamber.as_ref()?,
        };
        let worth_it = remove.expanded_assumed().map(|all| remove.value() > all);
        work.push(CylinderWork {
            cylinder: one.number,
            remove: remove.figure(Unit::CubicCentimetre),
            worth_it,
        });
    }
    Some(whole(&known, equal, reference.number, work))
}

/// Amounts of metal are told to this much, cc.
const TOLD: f64 = 0.01;

/// The least metal by which the chambers come within `allowed` (cc) of the largest well-known one: only those that
/// are too small are opened, and no further than they must. `None` if fewer than two are known.
///
/// Two chambers are known against each other to a certain width. That width is left between an
/// opened chamber and the limit, half of what is allowed at the most, so that the next round can
/// show that the limit is kept to. A chamber that is known far worse than the others is not opened
/// by less than what is not known of it, and the others are not opened after it.
pub fn least_chamber_work(state: &EngineFigures, allowed: f64) -> Option<ChamberWork> {
    let known: Vec<&CylinderFigures> = state
        .cylinders
        .iter()
        .filter(|known| known.chamber.is_some())
        .collect();
    let chambers: Vec<&Estimate> = known
        .iter()
        .filter_map(|one| one.chamber.as_ref())
        .collect();
    let worse = known_far_worse(&chambers);
    let at = largest_well_known(&chambers).filter(|_| known.len() > 1)?;
    let (largest, most) = (known[at], chambers[at]);
    let usual = between(&chambers);
    let between = usual.min(0.5 * allowed);
    let floor = most - &Estimate::exact(allowed - between);
    let begins = most.value() - allowed + 0.5 * between;
    let work = known.iter().zip(&chambers).zip(&worse);
    let work = work.map(|((one, chamber), worse)| {
        let exactly = &floor - *chamber;
        let known_to = exactly.expanded_assumed().unwrap_or(0.0);
        let unsure = known_to > allowed.max(2.0 * usual) && exactly.value() < known_to;
        let worth_it = match chamber.value() < begins {
            true if unsure => None,
            // It may be the largest of all, or nothing of the kind.
            false if *worse && chamber.value() > most.value() => None,
            small => Some(small),
        };
        let remove = match worth_it {
            Some(true) => {
                // Told amounts are rounded up: less than needed would not do.
                let told = (exactly.value() / TOLD - 1e-6).ceil() * TOLD;
                let more = told - exactly.value();
                exactly.offset(more)
            }
            _ => Estimate::exact(0.0),
        };
        CylinderWork {
            cylinder: one.number,
            remove: remove.figure(Unit::CubicCentimetre),
            worth_it,
        }
    });
    let work = work.collect();
    Some(whole(&known, MadeEqual::Allowed, largest.number, work))
}

/// The width for 95 % of what is known of two chambers against each other: of neighbours in the
/// cylinders' order, the middle one.
fn between(chambers: &[&Estimate]) -> f64 {
    let neighbours = chambers.iter().zip(chambers.iter().skip(1));
    let width = |(one, other): (&&Estimate, &&Estimate)| {
        let apart = *one - *other;
        coverage_factor(0.95, apart.dof()) * apart.u_known()
    };
    let mut known: Vec<f64> = neighbours.map(width).filter(|width| *width > 0.0).collect();
    known.sort_by(f64::total_cmp);
    known.get(known.len() / 2).copied().unwrap_or(0.0)
}

/// The work with what becomes of the compression by it.
fn whole(
    known: &[&CylinderFigures],
    equal: MadeEqual,
    reference: u32,
    work: Vec<CylinderWork>,
) -> ChamberWork {
    let (mut before, mut after) = (Vec::new(), Vec::new());
    for one in known {
        let own = work.iter().find(|work| work.cylinder == one.number);
        let (Some(ratio), Some(chamber), Some(own)) = (one.ratio(), &one.chamber, own) else {
            continue;
        };
        before.push(ratio);
        let ground = chamber + Estimate::exact(own.remove.value);
        after.extend(
            CylinderFigures {
                chamber: Some(ground),
                ..(*one).clone()
            }
            .ratio(),
        );
    }
    let mean = |ratios: &[Estimate]| Estimate::mean(ratios).map(|mean| mean.figure(Unit::One));
    ChamberWork {
        equal,
        reference,
        work,
        compression_before: mean(&before),
        compression_after: mean(&after),
    }
}
