//! How deep to mill, flat or angled, from a known area or learned from cuts already made.
//!
//! Source: `docs/formulas.md`, section 2.

mod learn;
mod tipped;

use serde::Serialize;

pub use learn::{learn, learn_from, learn_within};
use tipped::tipped;
pub use tipped::{DeepestPlace, TippedCut};

use super::solve;
use crate::engine_figures::{CylinderFigures, EngineFigures};
use crate::figure::{Estimate, Figure, Scalar};
use crate::formula::mill::depth_at;
use crate::report::words::told_apart;
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
        /// The depths between which it was learned, mm, counted from the face as it is now;
        /// chamber walls lean, so it does not hold beyond them.
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

/// The aim of a cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum MillAim {
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
    /// The deepest place of a tipped cut that is known.
    pub deepest: Option<(Figure, DeepestPlace)>,
    /// Why it cannot be made; `None` if it can.
    pub why_not: Option<String>,
    /// Volume to take from each chamber, cc.
    pub taken: Figure,
    /// Volume that the cut takes once it is made to the depth decided on, cc: its uncertainty is
    /// that of the area, of the angle and of the centroid.
    #[serde(skip)]
    pub cut: Estimate,
    /// Chamber and ratio of each cylinder after the cut.
    pub after: Vec<CutEffect>,
    /// Warnings: what else changes, and what to look at first.
    pub warnings: Vec<String>,
}

/// Chamber and ratio of a cylinder after a cut.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CutEffect {
    /// The cylinder.
    pub cylinder: u32,
    /// Chamber volume, cc.
    pub chamber: Figure,
    /// Ratio; `None` where something that it needs is not known.
    pub compression: Option<Figure>,
}

impl MillModel {
    /// Volume taken per depth, cc per mm.
    fn slope(&self) -> Estimate {
        match self {
            MillModel::Area(area) => area.scale(1e-3),
            MillModel::Learned { slope, .. } => slope.clone(),
        }
    }

    fn warnings(&self, depth: f64, length: Unit) -> Vec<String> {
        let mut warnings = Vec::new();
        if let MillModel::Learned {
            pairs,
            depths: (_, most),
            ..
        } = self
        {
            if *pairs <= 2 {
                warnings.push(
                    "learned from one cut only: the slope has no error estimate, so leave some to take later"
                        .to_owned(),
                );
            }
            // 1e-5 mm is rounding, not depth.
            if depth > most + 1e-5 {
                let beyond = length.from_base(depth - most);
                warnings.push(format!(
                    "this goes {beyond:.4} {length} deeper than any cut that it was learned from; chamber walls lean, so the slope may not hold there: take part of it, measure the chambers, and ask again"
                ));
            }
        }
        warnings
    }
}

/// How deep to mill a head flat, for the cylinders of one bank or of the list given; chambers of
/// other cylinders stay. `most` is the most that may be cut, mm.
pub fn mill_flat(
    state: &EngineFigures,
    cylinders: &[u32],
    model: &MillModel,
    aim: MillAim,
    most: Option<f64>,
) -> Result<MillDecision, MillError> {
    mill(state, cylinders, model, aim, most, None)
}

/// The same for a cut that is tipped; the deepest place that is known must keep to `most`.
pub fn mill_angled(
    state: &EngineFigures,
    cylinders: &[u32],
    model: &MillModel,
    aim: MillAim,
    most: Option<f64>,
    tip: &TippedCut,
) -> Result<MillDecision, MillError> {
    mill(state, cylinders, model, aim, most, Some(tip))
}

fn mill(
    state: &EngineFigures,
    cylinders: &[u32],
    model: &MillModel,
    aim: MillAim,
    most: Option<f64>,
    tip: Option<&TippedCut>,
) -> Result<MillDecision, MillError> {
    let cut: Vec<&CylinderFigures> = state
        .cylinders
        .iter()
        .filter(|known| cylinders.contains(&known.number))
        .collect();
    let taken = taken(&cut, aim)?;
    let depth = &taken / model.slope();
    let cut = Cut {
        state,
        cut,
        model,
        taken,
        depth,
    };
    Ok(decision(&cut, tip, most))
}

/// The volume to take from each of these chambers, cc.
fn taken(cut: &[&CylinderFigures], aim: MillAim) -> Result<Estimate, MillError> {
    match aim {
        MillAim::Chamber(volume) => {
            let chambers = cut.iter().filter_map(|known| known.chamber.as_ref());
            let mean = Estimate::mean(chambers).ok_or(MillError::NothingKnown)?;
            Ok(mean.offset(-volume))
        }
        MillAim::Ratio(ratio) => {
            let wholes: Vec<_> = cut.iter().filter_map(|known| known.whole()).collect();
            if wholes.is_empty() {
                return Err(MillError::NothingKnown);
            }
            let off = |taken: &Estimate| {
                let ratios: Vec<Estimate> = wholes
                    .iter()
                    .map(|whole| {
                        let mut after = whole.clone();
                        after.chamber = after.chamber - taken;
                        after.ratio()
                    })
                    .collect();
                Some(Estimate::mean(&ratios)?.offset(-ratio))
            };
            // Start from the volume that the mean cylinder needs: the rest is of second order.
            let mean =
                |of: fn(&crate::formula::compression::CylinderVolumes<Estimate>) -> Estimate| {
                    crate::stats::mean(wholes.iter().map(|whole| of(whole).value()))
                };
            let start = mean(|w| w.clearance()) - mean(|w| w.swept()) / (ratio - 1.0);
            solve(start, off).ok_or(MillError::NoDepth)
        }
    }
}

/// A cut that is wanted.
struct Cut<'a> {
    state: &'a EngineFigures,
    cut: Vec<&'a CylinderFigures>,
    model: &'a MillModel,
    taken: Estimate,
    depth: Estimate,
}

impl Cut<'_> {
    /// The figures of each cylinder after this volume is removed.
    fn after(&self, taken: &Estimate) -> Vec<CylinderFigures> {
        let after = |known: &&CylinderFigures| CylinderFigures {
            chamber: known.chamber.clone().map(|chamber| chamber - taken),
            ..(*known).clone()
        };
        self.cut.iter().map(after).collect()
    }

    fn show(&self, mm: f64) -> String {
        let length = self.state.units.length();
        format!("{:.4} {length}", length.from_base(mm))
    }

    /// Whether the depth is less than its own ±: then the target may be reached already.
    fn lost_in_width(&self) -> bool {
        let width = self.depth.expanded_assumed();
        width.is_some_and(|width| self.depth.value().abs() <= width)
    }

    /// The same in words. The ± that is shown may be smaller, where it is of what is known alone.
    fn lost_in_words(&self) -> String {
        let shown = self.depth.figure(Unit::Millimetre).expanded_known();
        if shown.is_some_and(|shown| self.depth.value().abs() <= shown) {
            return "the depth is less than its own ±: you may be there already".to_owned();
        }
        let width = self.depth.expanded_assumed().unwrap_or(f64::INFINITY);
        format!(
            "with what nobody stated at its usual width, the depth's ± is {}: you may be there \
             already. State it, or measure it",
            self.show(width)
        )
    }

    /// Why the cut cannot be made, if it cannot.
    fn why_not(
        &self,
        most: Option<f64>,
        deepest: Option<(&Estimate, DeepestPlace)>,
    ) -> Option<String> {
        if self.depth.value() < 0.0 {
            return Some(match self.lost_in_width() {
                true => {
                    "you are there: the target lies within the ± of what was measured".to_owned()
                }
                false => "the target lies on the other side: no cut reaches it".to_owned(),
            });
        }
        let most = most?;
        let (deep, place) = match deepest {
            Some((deep, place)) => (deep.value(), format!(" {}", place.words())),
            None => (self.depth.value(), String::new()),
        };
        if deep <= most {
            return None;
        }
        let length = self.state.units.length();
        let both = [deep, most.max(0.0)].map(|mm| length.from_base(mm));
        let [deep, allowed] = told_apart(both, 4).map(|shown| format!("{shown} {length}"));
        let mut why = format!("it takes {deep}{place}, deeper than the {allowed} that may be cut");
        if deepest.is_none() {
            let all = Estimate::exact(most.max(0.0)) * self.model.slope();
            let ratios: Vec<Estimate> = self
                .after(&all)
                .iter()
                .filter_map(CylinderFigures::ratio)
                .collect();
            if let Some(mean) = Estimate::mean(&ratios) {
                why += &format!(
                    "; all of that gives a mean compression of {:.2}",
                    mean.value()
                );
            }
        }
        Some(why)
    }
}

fn decision(cut: &Cut<'_>, tip: Option<&TippedCut>, most: Option<f64>) -> MillDecision {
    let length = cut.state.units.length();
    let cc = Unit::CubicCentimetre;
    let depth = &cut.depth;
    let tipped = tip.map(|tip| tipped(cut, tip));
    let deepest = tipped.as_ref().map(|one| (&one.deepest.0, one.deepest.1));
    let why_not = cut.why_not(most, deepest);
    let mut warnings = Vec::new();
    if why_not.is_none() {
        if cut.lost_in_width() {
            warnings.push(cut.lost_in_words());
        }
        warnings
            .push("the least deck thickness that the head's maker allows comes first".to_owned());
        let manifold = match cut.state.has_banks() {
            true => {
                ", and where the banks stand in a V, the intake manifold between them no longer fits \
                 unless it is cut too"
            }
            false => "",
        };
        warnings.push(format!("quench does not change; piston-to-valve clearance shrinks by the depth along the bore, and pushrods stand longer{manifold}"));
        warnings.extend(cut.model.warnings(depth.value(), length));
        warnings.extend(tipped.iter().flat_map(|one| one.warnings.clone()));
    }
    // The cut is made to the depth decided on. The errors of the chambers stay, and so do those of
    // the volume that the depth removes.
    let made = match (tip, &tipped) {
        (Some(tip), Some(one)) => {
            let pivot = Estimate::exact(one.pivot.value());
            depth_at(&pivot, &tip.angle, &tip.centroid)
        }
        _ => Estimate::exact(depth.value()),
    };
    let taken = made * cut.model.slope();
    let after = cut
        .after(&taken)
        .iter()
        .filter_map(|now| {
            Some(CutEffect {
                cylinder: now.number,
                chamber: now.chamber.as_ref()?.figure(cc),
                compression: now.ratio().map(|ratio| ratio.figure(Unit::One)),
            })
        })
        .collect();
    MillDecision {
        depth: depth.figure(length),
        depth_at_pivot: tipped.as_ref().map(|one| one.pivot.figure(length)),
        deepest: tipped.map(|one| (one.deepest.0.figure(length), one.deepest.1)),
        why_not,
        taken: cut.taken.figure(cc),
        cut: taken,
        after,
        warnings,
    }
}
