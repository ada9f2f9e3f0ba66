//! Which piston and which rod belong in which bore, so that the spread of the compression is least.
//!
//! The answer is exact if the search ends within its steps. Otherwise it is the best that was
//! found, and not called the least. The clearance volume of a bore with a piston and a rod is a sum
//! of what the bore has, of the piston (crown volume and compression height both count) and of the
//! rod's length, the lengths times the bore's own area; sorting is right only where all bores are
//! alike. Of several best answers the one is given whose list of pistons, then of rods, comes first
//! in dictionary order.
//!
//! Method: the least ratio of the answer is one of the possible ones. For each of them, from a good
//! first answer on, it is asked whether a narrower set of ratios above it can be built; the search
//! takes the bore with the fewest choices first and stops where a piston or rod has none left.

mod search;

use serde::{Deserialize, Serialize};

use crate::engine_figures::spread;
use crate::figure::{Estimate, Figure, Scalar};
use crate::formula::compression::CylinderVolumes;
use crate::units::Unit;
use search::Problem;

/// Which side of the engine a part can be built into.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PartSide {
    /// Either.
    Any,
    /// The bank of this number, from 0: pistons by their pockets and pin offset, rods by their
    /// chamfer.
    Only(usize),
}

impl PartSide {
    fn allows(self, side: usize) -> bool {
        self == PartSide::Any || self == PartSide::Only(side)
    }
}

/// A bore with all that does not depend on the piston and the rod.
#[derive(Debug, Clone, PartialEq)]
pub struct BoreToFill {
    /// The cylinder.
    pub cylinder: u32,
    /// Side, for pistons and rods that fit one side only.
    pub side: usize,
    /// Bore, mm.
    pub bore: Estimate,
    /// Piston travel, mm.
    pub stroke: Estimate,
    /// Height of the deck above the crank's axis, mm.
    pub block_height: Estimate,
    /// Throw of the crank, mm.
    pub throw: Estimate,
    /// Chamber volume, cc.
    pub chamber: Estimate,
    /// Diameter of the gasket's opening, mm.
    pub gasket_bore: Estimate,
    /// Compressed thickness of the gasket, mm.
    pub gasket_thickness: Estimate,
    /// Volume above the top ring, cc.
    pub crevice: Estimate,
    /// The piston that is already fitted and stays, by its place in the list.
    pub fitted_piston: Option<usize>,
    /// The rod that is already fitted and stays, by its place in the list.
    pub fitted_rod: Option<usize>,
}

/// A piston to be placed.
#[derive(Debug, Clone, PartialEq)]
pub struct PistonPart {
    /// Name.
    pub name: String,
    /// Crown volume, cc, dome positive.
    pub crown: Estimate,
    /// Compression height, mm.
    pub height: Estimate,
    /// Offset of its pin, mm, to either side: the piston then stands a little lower at the top.
    pub pin_offset: Estimate,
    /// The side that it fits.
    pub side: PartSide,
}

/// A rod to be placed.
#[derive(Debug, Clone, PartialEq)]
pub struct RodPart {
    /// Name.
    pub name: String,
    /// Length, centre to centre, mm.
    pub length: Estimate,
    /// The side that it fits.
    pub side: PartSide,
}

/// One bore with its parts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PlacedParts {
    /// The cylinder.
    pub cylinder: u32,
    /// The piston.
    pub piston: String,
    /// The rod.
    pub rod: String,
    /// Deck clearance with them.
    pub deck: Figure,
    /// Ratio with them.
    pub compression: Figure,
}

/// An assignment.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Assignment {
    /// The bores in their order.
    pub placed: Vec<PlacedParts>,
    /// Mean ratio.
    pub mean: Figure,
    /// Spread of the ratios.
    pub spread: Figure,
    /// Whether this is proven to be the least spread; if not, the search was ended before.
    pub proven: bool,
    /// The rule by which ties were broken.
    pub ties: String,
}

/// The most steps of the search, a few seconds of them; twelve bores take about a tenth.
const STEPS: u64 = 1_000_000;

const TIES: &str = "of equal spreads, the pistons in the order of their list, then the rods in the order of theirs";

/// Why there is no assignment.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum AssignmentError {
    /// The numbers of bores and parts differ.
    #[error("found {bores} bores, {pistons} pistons and {rods} rods; expected as many of each")]
    Counts {
        /// Bores.
        bores: usize,
        /// Pistons.
        pistons: usize,
        /// Rods.
        rods: usize,
    },
    /// There are more than can be tried.
    #[error("found {0} bores, expected 1 to 16 for an exact answer")]
    TooMany(usize),
    /// Some combination has no clearance volume.
    #[error(
        "cylinder {cylinder} with piston {piston} and rod {rod} would have no volume left at TDC; check the dimensions"
    )]
    NoClearance {
        /// The cylinder.
        cylinder: u32,
        /// The piston.
        piston: String,
        /// The rod.
        rod: String,
    },
    /// The sides and the fitted parts allow no assignment.
    #[error(
        "the parts cannot all be built in: the sides that they fit and the parts already fitted leave no way; check them"
    )]
    Impossible,
}

fn cylinder(bore: &BoreToFill, piston: &PistonPart, rod: &RodPart) -> CylinderVolumes<Estimate> {
    let reach = &bore.throw + &rod.length;
    // The pin's height at top dead centre (`docs/formulas.md`, 4.3); without offset it is the reach.
    let reach = match piston.pin_offset.value() {
        0.0 => reach,
        _ => (reach.square() - piston.pin_offset.square()).sqrt(),
    };
    let deck = &bore.block_height - reach - &piston.height;
    CylinderVolumes {
        bore: bore.bore.clone(),
        stroke: bore.stroke.clone(),
        chamber: bore.chamber.clone(),
        gasket_bore: bore.gasket_bore.clone(),
        gasket_thickness: bore.gasket_thickness.clone(),
        deck,
        crown: piston.crown.clone(),
        crevice: bore.crevice.clone(),
    }
}

fn problem(
    bores: &[BoreToFill],
    pistons: &[PistonPart],
    rods: &[RodPart],
) -> Result<Problem, AssignmentError> {
    let n = bores.len();
    if pistons.len() != n || rods.len() != n {
        return Err(AssignmentError::Counts {
            bores: n,
            pistons: pistons.len(),
            rods: rods.len(),
        });
    }
    if n == 0 || n > 16 {
        return Err(AssignmentError::TooMany(n));
    }
    let mut ratios = vec![f64::NAN; n * n * n];
    for (at, bore) in bores.iter().enumerate() {
        for (p, piston) in pistons.iter().enumerate() {
            let elsewhere = bores
                .iter()
                .any(|other| other.fitted_piston == Some(p) && other.cylinder != bore.cylinder);
            let fits = piston.side.allows(bore.side)
                && bore.fitted_piston.is_none_or(|fitted| fitted == p)
                && !elsewhere;
            for (r, rod) in rods.iter().enumerate() {
                let elsewhere = bores
                    .iter()
                    .any(|other| other.fitted_rod == Some(r) && other.cylinder != bore.cylinder);
                let fits = fits
                    && rod.side.allows(bore.side)
                    && bore.fitted_rod.is_none_or(|fitted| fitted == r)
                    && !elsewhere;
                if !fits {
                    continue;
                }
                let whole = plain(&cylinder(bore, piston, rod));
                if whole.clearance() <= 0.0 {
                    return Err(AssignmentError::NoClearance {
                        cylinder: bore.cylinder,
                        piston: piston.name.clone(),
                        rod: rod.name.clone(),
                    });
                }
                ratios[(at * n + p) * n + r] = whole.ratio();
            }
        }
    }
    Ok(Problem::new(n, ratios, STEPS))
}

fn plain(whole: &CylinderVolumes<Estimate>) -> CylinderVolumes<f64> {
    CylinderVolumes {
        bore: whole.bore.value(),
        stroke: whole.stroke.value(),
        chamber: whole.chamber.value(),
        gasket_bore: whole.gasket_bore.value(),
        gasket_thickness: whole.gasket_thickness.value(),
        deck: whole.deck.value(),
        crown: whole.crown.value(),
        crevice: whole.crevice.value(),
    }
}

/// The assignment with the least spread of the ratios.
pub fn assign(
    bores: &[BoreToFill],
    pistons: &[PistonPart],
    rods: &[RodPart],
    length: Unit,
) -> Result<Assignment, AssignmentError> {
    let found = problem(bores, pistons, rods)?
        .solve()
        .ok_or(AssignmentError::Impossible)?;
    Ok(Assignment {
        proven: found.proven,
        ..written(bores, pistons, rods, &found.answer, length)
    })
}

/// Sorting by hand, for comparison: the largest crowns go into the bores with the largest
/// clearance, the rods as they come. Sides and fitted parts are ignored.
pub fn assign_by_sorting(
    bores: &[BoreToFill],
    pistons: &[PistonPart],
    rods: &[RodPart],
    length: Unit,
) -> Result<Assignment, AssignmentError> {
    let n = bores.len();
    if pistons.len() != n || rods.len() != n {
        return Err(AssignmentError::Counts {
            bores: n,
            pistons: pistons.len(),
            rods: rods.len(),
        });
    }
    if n == 0 {
        return Err(AssignmentError::TooMany(n));
    }
    // By the effective volume of each piston and the clearance of each bore with one and the same
    // piston.
    let area = crate::stats::mean(bores.iter().map(|bore| bore.bore.value().powi(2)))
        * std::f64::consts::PI
        / 4000.0;
    let mut by_volume: Vec<usize> = (0..n).collect();
    let effective = |at: usize| pistons[at].crown.value() + area * pistons[at].height.value();
    by_volume.sort_by(|a, b| effective(*a).total_cmp(&effective(*b)));
    let mut by_bore: Vec<usize> = (0..n).collect();
    let wanted = |at: usize| {
        let whole = plain(&cylinder(&bores[at], &pistons[0], &rods[at]));
        whole.clearance() / whole.swept()
    };
    by_bore.sort_by(|a, b| wanted(*a).total_cmp(&wanted(*b)));
    let mut answer = vec![(0, 0); n];
    for (bore, piston) in by_bore.into_iter().zip(by_volume) {
        answer[bore] = (piston, bore);
    }
    Ok(written(bores, pistons, rods, &answer, length))
}

fn written(
    bores: &[BoreToFill],
    pistons: &[PistonPart],
    rods: &[RodPart],
    answer: &[(usize, usize)],
    length: Unit,
) -> Assignment {
    let mut ratios = Vec::new();
    let placed = bores
        .iter()
        .zip(answer)
        .map(|(bore, (piston, rod))| {
            let whole = cylinder(bore, &pistons[*piston], &rods[*rod]);
            let ratio = whole.ratio();
            let placed = PlacedParts {
                cylinder: bore.cylinder,
                piston: pistons[*piston].name.clone(),
                rod: rods[*rod].name.clone(),
                deck: whole.deck.figure(length),
                compression: ratio.figure(Unit::One),
            };
            ratios.push(ratio);
            placed
        })
        .collect();
    let none = || Estimate::exact(0.0);
    Assignment {
        placed,
        mean: Estimate::mean(&ratios)
            .unwrap_or_else(none)
            .figure(Unit::One),
        spread: spread(&ratios).unwrap_or_else(none).figure(Unit::One),
        proven: false,
        ties: TIES.to_owned(),
    }
}
