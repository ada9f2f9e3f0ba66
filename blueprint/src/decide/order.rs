//! Parts to order: a dome or dish for a target, a gasket from those at hand.
//!
//! Source: `docs/formulas.md`, sections 1.9 and 1.10.

use serde::{Deserialize, Serialize};

use super::verdict::{VerdictAnswer, VerdictLimits, verdict};
use super::{GapAfter, solve};
use crate::engine_figures::{CylinderFigures, EngineFigures};
use crate::figure::{Estimate, Figure, Scalar};
use crate::formula::compression::{CylinderVolumes, clearance_for};
use crate::formula::volume::{circle, disc};
use crate::report::words::told_apart;
use crate::units::Unit;

/// The crown that gives a target ratio.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DomeOrder {
    /// The target ratio.
    pub target: f64,
    /// The crown for each cylinder, cc, dome positive.
    pub each: Vec<(u32, Figure)>,
    /// One crown for all, with which the mean of their ratios is the target, cc, dome positive.
    pub all: Figure,
    /// The same by a catalogue's usual sign, dish positive, dome negative.
    pub all_opposite_sign: Figure,
    /// How far the crown may be off, cc, so that the mean ratio keeps to `ratio_tolerance`.
    pub allowed: Option<f64>,
    /// The cylinders that are off by more than `ratio_tolerance` though the crown is perfect, beyond
    /// their own expanded uncertainty: no tolerance of one crown for all brings them in.
    pub beyond: Vec<u32>,
    /// The tolerance with which each cylinder by itself keeps to `ratio_tolerance`, cc. `None`:
    /// nothing is left, or it is not known.
    pub tolerance_each: Option<f64>,
    /// The tolerance to write on the order so that the mean of the ratios keeps to
    /// `ratio_tolerance`, cc: what is left after twice the uncertainty of the volumes that the
    /// order rests on. `None`: nothing is left, or it is not known.
    pub tolerance: Option<f64>,
    /// The ratio of each cylinder with that one crown.
    pub ratios: Vec<(u32, Figure)>,
}

/// Every cylinder whose chamber, deck and gasket are known, with a flat crown.
fn without_crowns(state: &EngineFigures) -> Vec<(u32, CylinderVolumes<Estimate>)> {
    let whole = |known: &CylinderFigures| {
        let crown = Some(Estimate::exact(0.0));
        CylinderFigures {
            crown,
            ..known.clone()
        }
        .whole()
    };
    state
        .cylinders
        .iter()
        .filter_map(|known| Some((known.number, whole(known)?)))
        .collect()
}

/// The crown that gives each cylinder a target ratio, cc, dome positive. Only cylinders whose
/// chamber, deck and gasket are known.
pub fn crowns_wanted(state: &EngineFigures, target: f64) -> Vec<(u32, Estimate)> {
    without_crowns(state)
        .into_iter()
        .map(|(number, whole)| {
            let wanted = clearance_for(&whole.swept(), &Estimate::exact(target));
            (number, whole.clearance() - wanted)
        })
        .collect()
}

/// The dome or dish to order for a target ratio; the present crown does not enter. With
/// `ratio_tolerance` also the tolerance to write on the order. `None` unless at least one cylinder
/// has a chamber, a deck and a gasket.
pub fn dome_to_order(
    state: &EngineFigures,
    target: f64,
    ratio_tolerance: Option<f64>,
) -> Option<DomeOrder> {
    let cc = Unit::CubicCentimetre;
    let wholes = without_crowns(state);
    let each = crowns_wanted(state, target);
    let start = Estimate::mean(each.iter().map(|(_, crown)| crown))?;
    let with = |whole: &CylinderVolumes<Estimate>, crown: &Estimate| {
        CylinderVolumes {
            crown: crown.clone(),
            ..whole.clone()
        }
        .ratio()
    };
    let all = solve(start.value(), |crown| {
        let ratios: Vec<Estimate> = wholes.iter().map(|(_, whole)| with(whole, crown)).collect();
        Some(Estimate::mean(&ratios)?.offset(-target))
    })?;
    let ordered = Estimate::exact(all.value());
    let ratios: Vec<(u32, Estimate)> = wholes
        .iter()
        .map(|(number, whole)| (*number, with(whole, &ordered)))
        .collect();
    // One cc of crown moves a ratio near the target by (CR − 1)²/Vs.
    let per_ratio = |swept: f64| swept / (target - 1.0).powi(2);
    let swept = crate::stats::mean(wholes.iter().map(|(_, whole)| whole.swept().value()));
    let allowed = ratio_tolerance.map(|ratio| ratio * per_ratio(swept));
    let left = allowed.and_then(|allowed| Some(allowed - all.expanded_assumed()?));
    let beyond = ratios
        .iter()
        .filter(|(_, ratio)| {
            // Only what is off beyond its own uncertainty is said to be off.
            let width = ratio.expanded_assumed().unwrap_or(0.0);
            ratio_tolerance.is_some_and(|most| (ratio.value() - target).abs() - width > most)
        })
        .map(|(number, _)| *number)
        .collect();
    let each_left = ratio_tolerance.and_then(|most| {
        let left =
            |((_, whole), (_, crown)): (&(u32, CylinderVolumes<Estimate>), &(u32, Estimate))| {
                let allowed = most * per_ratio(whole.swept().value());
                let off = (crown.value() - all.value()).abs();
                Some(allowed - off - crown.expanded_assumed()?)
            };
        let left: Option<Vec<f64>> = wholes.iter().zip(&each).map(left).collect();
        left?.into_iter().min_by(f64::total_cmp)
    });
    Some(DomeOrder {
        target,
        all: all.figure(cc),
        all_opposite_sign: (-all.clone()).figure(cc),
        each: each
            .into_iter()
            .map(|(number, crown)| (number, crown.figure(cc)))
            .collect(),
        allowed,
        beyond,
        tolerance_each: each_left.filter(|left| *left > 0.0),
        tolerance: left.filter(|left| *left > 0.0),
        ratios: ratios
            .into_iter()
            .map(|(number, ratio)| (number, ratio.figure(Unit::One)))
            .collect(),
    })
}

/// The compressed gasket thickness with which the mean of the ratios is the target, mm; negative or
/// thin if no gasket can. `None` if no cylinder's compression is known.
pub fn thickness_to_order(state: &EngineFigures, target: f64) -> Option<Estimate> {
    let wholes: Vec<CylinderVolumes<Estimate>> = state
        .cylinders
        .iter()
        .filter_map(CylinderFigures::whole)
        .collect();
    let each: Vec<Estimate> = wholes
        .iter()
        .map(|whole| {
            let wanted = clearance_for(&whole.swept(), &Estimate::exact(target));
            let gasket = wanted - whole.clearance() + whole.gasket();
            gasket.scale(1000.0) / circle(&whole.gasket_bore)
        })
        .collect();
    solve(Estimate::mean(&each)?.value(), |thickness| {
        let with = |whole: &CylinderVolumes<Estimate>| {
            CylinderVolumes {
                gasket_thickness: thickness.clone(),
                ..whole.clone()
            }
            .ratio()
        };
        let ratios: Vec<Estimate> = wholes.iter().map(with).collect();
        Some(Estimate::mean(&ratios)?.offset(-target))
    })
}

/// A gasket at hand.
#[derive(Debug, Clone, PartialEq)]
pub struct GasketOffer {
    /// Name.
    pub name: String,
    /// Diameter of its opening, mm.
    pub bore: Estimate,
    /// Compressed thickness, mm.
    pub thickness: Estimate,
}

/// The engine with one gasket.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct GasketChoice {
    /// The gasket.
    pub gasket: String,
    /// Mean ratio with it.
    pub compression_mean: Option<Figure>,
    /// Mean ratio less the target.
    pub off_target: Option<Figure>,
    /// Smallest quench distance with it, at the nearest point of a piston.
    pub least_quench: Option<Figure>,
    /// Largest quench distance with it, each piston's mean.
    pub most_quench: Option<Figure>,
    /// Volume, cc.
    pub volume: Figure,
    /// Measured piston-to-valve clearances with this gasket; empty where none were measured.
    pub valve_gaps: Vec<GapAfter>,
    /// Why it cannot be used, if it cannot.
    pub refused: Option<String>,
    /// What to look at if the gasket is used.
    pub warnings: Vec<String>,
}

/// What each gasket at hand would make of the engine, those that can be used first, the nearest to
/// the target first. `quench` is the least and the largest quench distance that is wanted, mm.
pub fn gasket_choices(
    state: &EngineFigures,
    offers: &[GasketOffer],
    target: f64,
    quench: (Option<f64>, Option<f64>),
) -> Vec<GasketChoice> {
    let mut choices: Vec<(f64, GasketChoice)> = offers
        .iter()
        .map(|offer| choice(state, offer, target, quench))
        .collect();
    choices.sort_by(|(a, one), (b, other)| {
        one.refused
            .is_some()
            .cmp(&other.refused.is_some())
            .then(a.total_cmp(b))
            .then(one.gasket.cmp(&other.gasket))
    });
    choices.into_iter().map(|(_, choice)| choice).collect()
}

fn choice(
    state: &EngineFigures,
    offer: &GasketOffer,
    target: f64,
    quench: (Option<f64>, Option<f64>),
) -> (f64, GasketChoice) {
    let length = state.units.length();
    let with: Vec<CylinderFigures> = state
        .cylinders
        .iter()
        .map(|known| CylinderFigures {
            gasket_bore: Some(offer.bore.clone()),
            gasket_thickness: Some(offer.thickness.clone()),
            ..known.clone()
        })
        .collect();
    let ratios: Vec<Estimate> = with.iter().filter_map(CylinderFigures::ratio).collect();
    let mean = Estimate::mean(&ratios);
    let nearest: Vec<Estimate> = with
        .iter()
        .filter_map(CylinderFigures::nearest_quench)
        .collect();
    let quenches: Vec<Estimate> = with.iter().filter_map(CylinderFigures::quench).collect();
    let by_value = |a: &&Estimate, b: &&Estimate| a.value().total_cmp(&b.value());
    let (smallest, largest) = (
        nearest.iter().min_by(by_value),
        quenches.iter().max_by(by_value),
    );
    let widest = with
        .iter()
        .filter_map(|known| known.bore.as_ref())
        .max_by(by_value);
    let refused = widest
        .filter(|bore| bore.value() > offer.bore.value())
        .map(|bore| {
            let both = [offer.bore.value(), bore.value()].map(|mm| length.from_base(mm));
            let [opening, bore] = told_apart(both, 4).map(|shown| format!("{shown} {length}"));
            format!("its opening of {opening} is smaller than a bore of {bore}")
        });
    let mut warnings = Vec::new();
    warnings.extend(quench_warnings(with.iter(), quench, length));
    let thinner = state
        .cylinders
        .iter()
        .filter_map(|known| known.gasket_thickness.as_ref());
    if thinner
        .clone()
        .any(|now| now.value() > offer.thickness.value())
    {
        warnings.push(
            "it is thinner than the present one: piston-to-valve clearance shrinks by the difference"
                .to_owned(),
        );
    }
    let off = mean.as_ref().map(|mean| mean.offset(-target));
    let distance = off.as_ref().map_or(f64::INFINITY, |off| off.value().abs());
    let choice = GasketChoice {
        gasket: offer.name.clone(),
        compression_mean: mean.map(|mean| mean.figure(Unit::One)),
        off_target: off.map(|off| off.figure(Unit::One)),
        least_quench: smallest.map(|quench| quench.figure(length)),
        most_quench: largest.map(|quench| quench.figure(length)),
        volume: disc(&offer.bore, &offer.thickness).figure(Unit::CubicCentimetre),
        valve_gaps: Vec::new(),
        refused,
        warnings,
    };
    (distance, choice)
}

/// Warnings about the quench distances of some cylinders, against the least and the largest (mm)
/// that are wanted. As in the report's verdicts, the nearest point of a piston keeps to the least,
/// its mean to the largest.
pub fn quench_warnings<'a>(
    cylinders: impl Iterator<Item = &'a CylinderFigures>,
    (least, most): (Option<f64>, Option<f64>),
    length: Unit,
) -> Vec<String> {
    let cylinders: Vec<&CylinderFigures> = cylinders.collect();
    let mut warnings = Vec::new();
    for (limit, name) in [(least, "least"), (most, "most")] {
        let Some(limit) = limit.map(|limit| length.from_base(limit)) else {
            continue;
        };
        let limits = match name {
            "least" => VerdictLimits {
                least: Some(limit),
                most: None,
            },
            _ => VerdictLimits {
                least: None,
                most: Some(limit),
            },
        };
        let quench = |known: &CylinderFigures| match name {
            "least" => known.nearest_quench(),
            _ => known.quench(),
        };
        let quenches: Vec<(u32, Figure)> = cylinders
            .iter()
            .filter_map(|known| Some((known.number, quench(known)?.figure(length))))
            .collect();
        let of = |wanted: VerdictAnswer| {
            let names: Vec<String> = quenches
                .iter()
                .filter(|(_, figure)| verdict(figure, limits).answer == wanted)
                .map(|(number, _)| number.to_string())
                .collect();
            (!names.is_empty()).then(|| match names.len() {
                1 => format!("cylinder {}", names[0]),
                _ => format!("cylinders {}", names.join(", ")),
            })
        };
        if let Some(names) = of(VerdictAnswer::Outside) {
            let way = if name == "least" { "less" } else { "more" };
            warnings.push(format!(
                "the quench distance of {names} would be {way} than the {name} that is wanted, {limit:.4} {length}"
            ));
        }
        if let Some(names) = of(VerdictAnswer::CannotTell) {
            let all_known = quenches.iter().all(|(_, figure)| figure.u.is_some());
            let why = match all_known {
                true => "the limit is nearer than its expanded uncertainty",
                false => {
                    "not all of its uncertainty is known, and the limit may be nearer than that"
                }
            };
            warnings.push(format!(
                "whether the quench distance of {names} keeps to the {name} that is wanted, {limit:.4} {length}, is too close to call: {why}"
            ));
        }
    }
    warnings
}
