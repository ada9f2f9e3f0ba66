//! The choice among the gaskets at hand.

use serde::{Deserialize, Serialize};

use super::asked::GasketAsked;
use super::context::{Context, chosen, typed};
use super::error::AskError;
use super::gaps::Gaps;
use crate::decide::{
    Contact, GasketChoice, GasketOffer, contact_caution, contacts_in_order, gasket_choices,
    thickness_to_order,
};
use crate::engine_figures::CylinderFigures;
use crate::figure::Figure;
use crate::units::{QuantityKind, Unit};

/// What each gasket at hand would make of the engine.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct GasketAnswer {
    /// The target ratio.
    pub target: Figure,
    /// The compressed thickness with which the mean of the cylinders' ratios would be it, with the
    /// present opening; `None` where the present gasket's opening or something else is not known,
    /// or where no gasket gives it.
    pub thickness_wanted: Option<Figure>,
    /// The gaskets, those that can be used first, the nearest to the target first.
    pub gaskets: Vec<GasketChoice>,
}

pub(super) fn answer(
    context: &mut Context<'_>,
    asked: &GasketAsked,
) -> Result<GasketAnswer, AskError> {
    let target = context.ratio(asked.ratio)?;
    if asked.offers.is_empty() {
        return Err(AskError::bad(
            "no gasket at hand is given",
            "at least one, with its opening and its compressed thickness",
            "give --gasket \"thin: 4.147 in x 0.027 in\", or --list FILE.csv with name,bore,thickness",
        ));
    }
    let mut offers = Vec::new();
    for offer in &asked.offers {
        let of = |text: &str, what: &str| {
            let length = typed(
                text,
                QuantityKind::Length,
                &format!("the {what} of {}", offer.name),
                "the gasket",
            )?;
            if length.value <= 0.0 {
                return Err(AskError::bad(
                    format!(
                        "the {what} of gasket {:?} is {}",
                        offer.name, length.written
                    ),
                    "more than 0",
                    "correct the gasket",
                ));
            }
            Ok(length.estimate(format!("{what} of gasket {}", offer.name)))
        };
        offers.push(GasketOffer {
            name: offer.name.clone(),
            bore: of(&offer.bore, "opening")?,
            thickness: of(&offer.thickness, "thickness")?,
        });
    }
    let stated = &context.engine.tolerances;
    let quench = (
        stated.least_quench.map(|one| one.value),
        stated.most_quench.map(|one| one.value),
    );
    let mut gaskets = gasket_choices(&context.state, &offers, target, quench);
    let gaps = Gaps::measured(context)?;
    gaps.remark(context);
    let length = context.length();
    let mut met = Vec::new();
    for choice in &mut gaskets {
        let Some(offer) = offers.iter().find(|offer| offer.name == choice.gasket) else {
            continue;
        };
        let cylinders = &context.state.cylinders;
        choice.valve_gaps = gaps.after(|number| {
            let known = cylinders.iter().find(|known| known.number == number)?;
            Some(known.gasket_thickness.as_ref()? - &offer.thickness)
        });
        let with: Vec<CylinderFigures> = cylinders
            .iter()
            .map(|known| CylinderFigures {
                gasket_thickness: Some(offer.thickness.clone()),
                ..known.clone()
            })
            .collect();
        let heads = with
            .iter()
            .filter_map(|known| Contact::with_head(known, length));
        let valves = gaps.contacts(|number| {
            let known = cylinders.iter().find(|known| known.number == number)?;
            Some(known.gasket_thickness.as_ref()? - &offer.thickness)
        });
        let contacts = contacts_in_order(heads.chain(valves).collect());
        let words = contacts.iter().map(|one| one.text(true));
        choice.warnings.splice(0..0, words);
        if let Some(words) = contact_caution(&contacts, true).filter(|_| choice.refused.is_none()) {
            met.push(format!("Gasket {}: {words}", choice.gasket));
        }
    }
    if gaskets.iter().all(|one| one.compression_mean.is_none()) {
        // The gasket is asked for, so it need not be known.
        return Err(context.nothing_known("a choice of gaskets", false));
    }
    if offers
        .iter()
        .any(|one| one.bore.u().is_none() || one.thickness.u().is_none())
    {
        context.remark("The uncertainty of a ratio is not known where that of the gasket's opening or thickness is not given: write it, such as 4.147 in +- 0.002 in.");
    }
    let wanted = thickness_to_order(&context.state, target);
    let wanted = wanted.filter(|thickness| {
        let possible = thickness.value() > 0.0;
        if !possible {
            context.remark(format!(
                "No gasket gives a compression of {target}: even one of no thickness leaves more volume than that wants."
            ));
        }
        possible
    });
    context.say_unknown("the thickness", &wanted);
    context.cautions.splice(0..0, met);
    context.caution("The compressed thickness is the maker's for his surface finish and bolt torque; ask for it.");
    context.caution("Quench and piston-to-valve clearance change with the thickness: check both with the real parts.");
    Ok(GasketAnswer {
        target: chosen(target, Unit::One),
        thickness_wanted: wanted.map(|thickness| thickness.figure(length)),
        gaskets,
    })
}
