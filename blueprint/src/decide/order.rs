//! Parts to order: a dome or dish for a target, a gasket from those at hand.
//!
//! Source: `docs/formulas.md`, sections 1.9 and 1.10.

use serde::{Deserialize, Serialize};

use crate::figure::{Estimate, Figure, Scalar};
use crate::formula::compression::{Cylinder, clearance_for};
use crate::formula::volume::{circle, disc};
use crate::known::{Known, State};
use crate::units::Unit;

/// The crown that gives a target ratio.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DomeOrder {
    /// The target ratio.
    pub target: f64,
    /// The crown for each cylinder, cc, dome positive.
    pub each: Vec<(u32, Figure)>,
    /// One crown for all: the mean of the above, cc, dome positive.
    pub all: Figure,
    /// The same by a catalogue's usual sign, dish positive, dome negative.
    pub all_opposite_sign: Figure,
    /// What a ratio off by `ratio_tolerance` allows the crown to be off by, cc.
    pub allowed: Option<f64>,
    /// The tolerance to write on the order, cc: what is left of it after twice the uncertainty of
    /// the volumes that the order rests on. `None`: nothing is left, or it is not known.
    pub tolerance: Option<f64>,
    /// What cylinders would have with that one crown: their ratios.
    pub ratios: Vec<(u32, Figure)>,
}

/// Every cylinder whose chamber, deck and gasket are known, with a flat crown.
fn without_crowns(state: &State) -> Vec<(u32, Cylinder<Estimate>)> {
    let whole = |known: &Known| {
        let crown = Some(Estimate::exact(0.0));
        Known {
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

/// The crown that gives each cylinder a target ratio, cc, dome positive; of those whose chamber,
/// deck and gasket are known.
pub fn crowns_wanted(state: &State, target: f64) -> Vec<(u32, Estimate)> {
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
    state: &State,
    target: f64,
    ratio_tolerance: Option<f64>,
) -> Option<DomeOrder> {
    let cc = Unit::CubicCentimetre;
    let wholes = without_crowns(state);
    let each = crowns_wanted(state, target);
    let all = Estimate::mean(each.iter().map(|(_, crown)| crown))?;
    let ordered = Estimate::exact(all.value());
    let ratios = wholes.iter().map(|(number, whole)| {
        let mut whole = whole.clone();
        whole.crown = ordered.clone();
        (*number, whole.ratio().figure(Unit::One))
    });
    // A ratio off by τ is a clearance volume off by τ·Vc/(CR − 1).
    let swept = Estimate::mean(&wholes.iter().map(|(_, w)| w.swept()).collect::<Vec<_>>())?;
    let per_ratio = swept.value() / (target - 1.0).powi(2);
    let allowed = ratio_tolerance.map(|ratio| ratio * per_ratio);
    let left = allowed.and_then(|allowed| Some(allowed - 2.0 * all.u()?));
    Some(DomeOrder {
        target,
        all: all.figure(cc),
        all_opposite_sign: (-all.clone()).figure(cc),
        each: each
            .into_iter()
            .map(|(number, crown)| (number, crown.figure(cc)))
            .collect(),
        allowed,
        tolerance: left.filter(|left| *left > 0.0),
        ratios: ratios.collect(),
    })
}

/// The compressed gasket thickness that gives a target ratio on average, mm; negative or thin if
/// no gasket can. `None` if no cylinder's compression is known.
pub fn thickness_to_order(state: &State, target: f64) -> Option<Estimate> {
    let each: Vec<Estimate> = state
        .cylinders
        .iter()
        .filter_map(|known| {
            let whole = known.whole()?;
            let wanted = clearance_for(&whole.swept(), &Estimate::exact(target));
            let gasket = wanted - whole.clearance() + whole.gasket();
            Some(gasket.scale(1000.0) / circle(&whole.gasket_bore))
        })
        .collect();
    Estimate::mean(&each)
}

/// A gasket at hand.
#[derive(Debug, Clone, PartialEq)]
pub struct GasketOffer {
    /// What it is called.
    pub name: String,
    /// Diameter of its opening, mm.
    pub bore: Estimate,
    /// Compressed thickness, mm.
    pub thickness: Estimate,
}

/// What a gasket would make of the engine.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GasketChoice {
    /// The gasket.
    pub gasket: String,
    /// Mean ratio with it.
    pub compression_mean: Option<Figure>,
    /// Mean ratio less the target.
    pub off_target: Option<Figure>,
    /// Smallest quench distance with it.
    pub least_quench: Option<Figure>,
    /// Largest quench distance with it.
    pub most_quench: Option<Figure>,
    /// Its volume, cc.
    pub volume: Figure,
    /// Why it cannot be used, if it cannot.
    pub refused: Option<String>,
    /// What to look at if it is used.
    pub warnings: Vec<String>,
}

/// What each gasket at hand would make of the engine, those that can be used first, the nearest to
/// the target first. `quench` is the least and the largest quench distance that is wanted, mm.
pub fn gasket_choices(
    state: &State,
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
    state: &State,
    offer: &GasketOffer,
    target: f64,
    (least, most): (Option<f64>, Option<f64>),
) -> (f64, GasketChoice) {
    let length = state.units.length();
    let with: Vec<Known> = state
        .cylinders
        .iter()
        .map(|known| Known {
            gasket_bore: Some(offer.bore.clone()),
            gasket_thickness: Some(offer.thickness.clone()),
            ..known.clone()
        })
        .collect();
    let ratios: Vec<Estimate> = with.iter().filter_map(Known::ratio).collect();
    let mean = Estimate::mean(&ratios);
    let quenches: Vec<Estimate> = with.iter().filter_map(Known::quench).collect();
    let by_value = |a: &&Estimate, b: &&Estimate| a.value().total_cmp(&b.value());
    let (smallest, largest) = (
        quenches.iter().min_by(by_value),
        quenches.iter().max_by(by_value),
    );
    let widest = with.iter().map(|known| &known.bore).max_by(by_value);
    let refused = widest
        .filter(|bore| bore.value() > offer.bore.value())
        .map(|bore| {
            let show = |mm: f64| format!("{:.4} {length}", length.from_base(mm));
            let (opening, bore) = (show(offer.bore.value()), show(bore.value()));
            format!("its opening of {opening} is smaller than a bore of {bore}")
        });
    let mut warnings = Vec::new();
    if let (Some(least), Some(quench)) = (least, smallest)
        && quench.value() < least
    {
        warnings.push("the quench distance would be less than the least that is wanted".to_owned());
    }
    if let (Some(most), Some(quench)) = (most, largest)
        && quench.value() > most
    {
        warnings.push("the quench distance would be more than the most that is wanted".to_owned());
    }
    let thinner = state
        .cylinders
        .iter()
        .filter_map(|known| known.gasket_thickness.as_ref());
    if thinner
        .clone()
        .any(|now| now.value() > offer.thickness.value())
    {
        warnings.push(
            "it is thinner than the present one: valve-to-piston clearance shrinks by the difference"
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
        refused,
        warnings,
    };
    (distance, choice)
}
