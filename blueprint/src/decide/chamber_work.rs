//! Chamber work with a grinder: only removal is possible, so every cylinder is brought to the one
//! that needs none.

use serde::{Deserialize, Serialize};

use crate::engine_figures::{CylinderFigures, EngineFigures};
use crate::figure::{Estimate, Figure, Scalar};
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
}

/// The work at one cylinder.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CylinderWork {
    /// The cylinder.
    pub cylinder: u32,
    /// Metal to take out of the chamber, cc; 0 at the one that the others are brought to.
    pub remove: Figure,
    /// Whether it is more than its expanded uncertainty; `None` if that is unknown. Less than
    /// that may be nothing.
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

/// What to take out of each chamber. `None` if fewer than two cylinders are known.
pub fn chamber_work(state: &EngineFigures, equal: MadeEqual) -> Option<ChamberWork> {
    let known: Vec<&CylinderFigures> = state
        .cylinders
        .iter()
        .filter(|known| match equal {
            MadeEqual::Chambers => known.chamber.is_some(),
            MadeEqual::Compression => known.ratio().is_some(),
        })
        .collect();
    if known.len() < 2 {
        return None;
    }
    // Metal cannot be put back, so the reference is the largest chamber, or the lowest ratio.
    let reference = known.iter().max_by(|a, b| {
        let key = |known: &CylinderFigures| match equal {
            MadeEqual::Chambers => known.chamber.as_ref().map(Scalar::value),
            MadeEqual::Compression => known.ratio().map(|ratio| -ratio.value()),
        };
        let (a, b) = (key(a).unwrap_or(f64::NAN), key(b).unwrap_or(f64::NAN));
        a.total_cmp(&b)
    })?;
    let goal = match equal {
        MadeEqual::Chambers => reference.chamber.clone()?,
        MadeEqual::Compression => reference.ratio()?,
    };
    let mut work = Vec::new();
    let (mut before, mut after) = (Vec::new(), Vec::new());
    for one in &known {
        let remove = match equal {
            MadeEqual::Chambers => &goal - one.chamber.as_ref()?,
            MadeEqual::Compression => one.swept()? / goal.offset(-1.0) - one.clearance()?,
        };
        let worth_it = remove.expanded_assumed().map(|all| remove.value() > all);
        if let (Some(ratio), Some(chamber)) = (one.ratio(), &one.chamber) {
            before.push(ratio);
            let ground = chamber + Estimate::exact(remove.value());
            after.extend(
                CylinderFigures {
                    chamber: Some(ground),
                    ..(*one).clone()
                }
                .ratio(),
            );
        }
        work.push(CylinderWork {
            cylinder: one.number,
            remove: remove.figure(Unit::CubicCentimetre),
            worth_it,
        });
    }
    let mean = |ratios: &[Estimate]| Estimate::mean(ratios).map(|mean| mean.figure(Unit::One));
    Some(ChamberWork {
        equal,
        reference: reference.number,
        work,
        compression_before: mean(&before),
        compression_after: mean(&after),
    })
}
