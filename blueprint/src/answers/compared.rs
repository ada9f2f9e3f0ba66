//! An engine before and after some changes, and two stages or jobs side by side.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::asked::WhatIfAsked;
use super::context::{Context, chosen};
use super::error::AskError;
use super::gaps::Gaps;
use crate::decide::{
    BeforeAfter, Contact, DimensionChange, FiguresComparison, FlowChange, FlowComparison, GapAfter,
    OneSide, compare, contacts_in_order, flow_against_brothers, flow_before_after, flow_changes,
    quench_warnings, what_if,
};
use crate::engine_figures::EngineFigures;
use crate::figure::{Estimate, Figure, Scalar};
use crate::spot::SpotName;
use crate::units::Unit;

/// Two states of an engine beside each other.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ComparedAnswer {
    /// The left side: a stage, or a job and its stage.
    pub before: String,
    /// The right side.
    pub after: String,
    /// The changes that were asked for; empty where two states that are there are compared.
    pub changes: Vec<String>,
    /// Cylinder by cylinder.
    pub cylinders: Vec<ComparedCylinder>,
    /// The cylinders that mean and spread of the ratios are over: those that both sides know.
    #[serde(default)]
    pub compared: Vec<u32>,
    /// Mean ratio.
    pub compression_mean: Option<BeforeAfter>,
    /// Spread of the ratios.
    pub compression_spread: Option<BeforeAfter>,
    /// Measured piston-to-valve clearances after the changes.
    pub valve_gaps: Vec<GapAfter>,
    /// Ports, lift by lift.
    pub flow: Vec<ComparedPort>,
    /// The means of the ports of a kind, lift by lift.
    #[serde(default)]
    pub flow_by_lift: Vec<ComparedFlowAtLift>,
    /// What to look at, in a sentence each.
    pub warnings: Vec<String>,
}

/// A cylinder on both sides; a pair is `None` where either side is not known.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ComparedCylinder {
    /// The cylinder.
    pub cylinder: u32,
    /// Compression ratio.
    pub compression: Option<BeforeAfter>,
    /// Chamber volume, cc.
    pub chamber: Option<BeforeAfter>,
    /// Deck clearance.
    pub deck: Option<BeforeAfter>,
    /// Crown volume, cc, dome positive.
    pub crown: Option<BeforeAfter>,
    /// Clearance volume, cc.
    pub clearance: Option<BeforeAfter>,
    /// Quench distance.
    pub quench: Option<BeforeAfter>,
    /// The figures that one side alone knows, by their names here.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub one_sided: BTreeMap<String, OneSide>,
}

/// A port compared lift by lift; a difference of 0.02 is two percent more.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ComparedPort {
    /// The cylinder.
    pub cylinder: u32,
    /// The port.
    pub port: SpotName,
    /// The kind of runner.
    pub runner: Option<SpotName>,
    /// Lift by lift.
    pub lifts: Vec<ComparedLift>,
    /// The plain mean of the differences over the listed lifts.
    pub mean: Option<Figure>,
    /// The lowest lift from which on every difference is real; `None` if there is none.
    pub real_from: Option<Figure>,
}

/// A difference at one lift.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ComparedLift {
    /// The lift.
    pub lift: Figure,
    /// The difference as a share.
    pub difference: Figure,
    /// Whether it is more than its expanded uncertainty; `None` if that is unknown.
    pub real: Option<bool>,
}

/// The mean of the ports of a kind at one lift, on both sides.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ComparedFlowAtLift {
    /// The port.
    pub port: SpotName,
    /// The kind of runner.
    pub runner: Option<SpotName>,
    /// The lift.
    pub lift: Figure,
    /// The cylinders that both sides have there.
    pub cylinders: Vec<u32>,
    /// The difference of the means as a share of the mean before.
    pub difference: Figure,
    /// Whether it is more than its expanded uncertainty; `None` if that is unknown.
    pub real: Option<bool>,
}

/// Port against port.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schema",
    derive(schemars::JsonSchema),
    schemars(rename = "ComparedPorts")
)]
pub struct PortsAnswer {
    /// Each port against the mean of the others of its kind.
    pub ports: Vec<ComparedPort>,
}

pub(super) fn changed(
    context: &mut Context<'_>,
    asked: &WhatIfAsked,
) -> Result<ComparedAnswer, AskError> {
    if asked.set.is_empty() {
        return Err(AskError::bad(
            "nothing is to be changed",
            "at least one change, such as \"gasket thickness = 0.051 in\"",
            "give it with --set",
        ));
    }
    let bad =
        |error: crate::decide::ChangeError| AskError::bad(error.to_string(), "", "correct --set");
    let changes = asked
        .set
        .iter()
        .map(|text| text.parse::<DimensionChange>().map_err(bad))
        .collect::<Result<Vec<DimensionChange>, AskError>>()?;
    let (after, comparison) = what_if(&context.state, &changes).map_err(bad)?;
    say_unknown(context, &after);
    let closer = |number: u32| closer(&context.state, &after, number);
    let gaps = Gaps::measured(context)?;
    let valve_gaps = gaps.after(closer);
    let length = context.length();
    let heads = after.cylinders.iter();
    let heads = heads.filter_map(|known| Contact::with_head(known, length));
    let contacts = contacts_in_order(heads.chain(gaps.contacts(closer)).collect());
    let mut warnings: Vec<String> = contacts.iter().map(|one| one.text(true)).collect();
    warnings.extend(comparison.warnings.iter().cloned());
    for change in &changes {
        let numbers: Vec<u32> = after.cylinders.iter().map(|one| one.number).collect();
        let concerned: Vec<u32> = numbers
            .into_iter()
            .filter(|one| change.concerns(*one))
            .collect();
        let said = change
            .hides_gaps()
            .and_then(|why| gaps.not_reckoned(&concerned, why));
        warnings.extend(said.filter(|said| !warnings.contains(said)));
    }
    let stated = &context.engine.tolerances;
    let limits = (
        stated.least_quench.map(|one| one.value),
        stated.most_quench.map(|one| one.value),
    );
    let moved = after
        .cylinders
        .iter()
        .filter(|one| closer(one.number).is_none_or(|closer| closer.value() != 0.0));
    warnings.extend(quench_warnings(moved, limits, context.length()));
    gaps.remark(context);
    context.remark("A value that is set counts as exact unless it is written with its ±; one that is added to keeps its uncertainty. The deck clearance moves with rod, block height, compression height and half of the stroke, also where it was measured. What both sides share cancels in the difference.");
    context.caution("What compression an engine stands depends on its fuel and its tune; clearances are to be checked with the real parts.");
    context.contacts(&contacts);
    let stage = context.state.stage.clone();
    Ok(ComparedAnswer {
        changes: asked.set.clone(),
        valve_gaps,
        warnings,
        ..compared(
            context,
            (stage, "changed".to_owned()),
            comparison,
            Vec::new(),
        )
    })
}

/// How much closer head and piston of a cylinder come: quench distance before less quench distance
/// after. `None` unless gasket and deck are known on both sides or on neither.
fn closer(before: &EngineFigures, after: &EngineFigures, number: u32) -> Option<Estimate> {
    let find = |state: &EngineFigures| {
        state
            .cylinders
            .iter()
            .find(|one| one.number == number)
            .cloned()
    };
    let (before, after) = (find(before)?, find(after)?);
    let less = |a: Option<Estimate>, b: Option<Estimate>| match (a, b) {
        (Some(a), Some(b)) => Some(a - b),
        (None, None) => Some(Estimate::exact(0.0)),
        _ => None,
    };
    let gasket = less(before.gasket_thickness, after.gasket_thickness)?;
    Some(gasket + less(before.deck, after.deck)?)
}

/// The figures of `before` against those that the question is about.
pub(super) fn beside(
    context: &mut Context<'_>,
    before: &EngineFigures,
    names: (String, String),
) -> ComparedAnswer {
    let comparison = compare(before, &context.state);
    let flow = flow_before_after(before, &context.state);
    let changes = flow_changes(before, &context.state);
    let state = context.state.clone();
    say_unknown(context, &state);
    say_impossible(context, before);
    say_impossible(context, &state);
    context.remark(
        "A difference is called real where it is more than its own expanded uncertainty (about 95 %).",
    );
    let length = context.length();
    ComparedAnswer {
        flow_by_lift: changes.iter().map(|one| at_lift(one, length)).collect(),
        ..compared(context, names, comparison, flow)
    }
}

pub(super) fn ports(context: &mut Context<'_>) -> Result<PortsAnswer, AskError> {
    let ports = flow_against_brothers(&context.state);
    if ports.is_empty() {
        return Err(AskError::missing(
            "no two ports of a kind were flowed at the same lift",
            "flow readings of at least two cylinders at one lift",
            "measure the route `flow`, or import flow readings",
        ));
    }
    context.remark("Each port is compared with the mean of the others of its kind at the same lift and reference depression; kinds of runner are never mixed.");
    context.remark(
        "A difference is called real where it is more than its own expanded uncertainty (about 95 %).",
    );
    let state = context.state.clone();
    say_impossible(context, &state);
    let length = context.length();
    Ok(PortsAnswer {
        ports: ports.iter().map(|one| port(one, length)).collect(),
    })
}

/// Names the ports and lifts whose flow is impossible. No difference is judged there.
fn say_impossible(context: &mut Context<'_>, state: &EngineFigures) {
    let spots: Vec<String> = state
        .flow
        .iter()
        .filter(|one| one.impossible_coefficient().is_some())
        .map(|one| one.spot.to_string())
        .collect();
    if !spots.is_empty() {
        context.remark(format!(
            "More air than the least area can pass at {} (stage {}): the lift, a diameter, the orifice or a zero is wrong there. Whether a difference against it is real is not judged.",
            spots.join(", "),
            state.stage
        ));
    }
}

fn say_unknown(context: &mut Context<'_>, state: &EngineFigures) {
    let ratios: Vec<_> = state.ratios().into_iter().map(|(_, ratio)| ratio).collect();
    context.say_unknown("the compression", &ratios);
}

fn compared(
    context: &Context<'_>,
    (before, after): (String, String),
    comparison: FiguresComparison,
    flow: Vec<FlowComparison>,
) -> ComparedAnswer {
    let length = context.length();
    let at = |list: &[(u32, Option<BeforeAfter>)], number: u32| {
        list.iter()
            .find(|(cylinder, _)| *cylinder == number)
            .and_then(|(_, pair)| pair.clone())
    };
    let cylinders = comparison
        .compression
        .iter()
        .map(|(number, compression)| ComparedCylinder {
            cylinder: *number,
            compression: compression.clone(),
            chamber: at(&comparison.chamber, *number),
            deck: at(&comparison.deck, *number),
            crown: at(&comparison.crown, *number),
            clearance: at(&comparison.clearance, *number),
            quench: at(&comparison.quench, *number),
            one_sided: comparison
                .one_sided
                .iter()
                .filter(|(cylinder, ..)| cylinder == number)
                .map(|(_, name, side)| ((*name).to_owned(), side.clone()))
                .collect(),
        })
        .collect();
    ComparedAnswer {
        before,
        after,
        changes: Vec::new(),
        valve_gaps: Vec::new(),
        cylinders,
        compared: comparison.compared,
        compression_mean: comparison.compression_mean,
        compression_spread: comparison.compression_spread,
        flow: flow.iter().map(|one| port(one, length)).collect(),
        flow_by_lift: Vec::new(),
        warnings: comparison.warnings,
    }
}

fn port(one: &FlowComparison, length: Unit) -> ComparedPort {
    let lift = |mm: f64| chosen(length.from_base(mm), length);
    ComparedPort {
        cylinder: one.cylinder,
        port: one.port.clone(),
        runner: one.runner.clone(),
        lifts: one
            .lifts
            .iter()
            .map(|at| ComparedLift {
                lift: lift(at.lift),
                difference: at.difference.clone(),
                real: at.real,
            })
            .collect(),
        mean: one.mean.clone(),
        real_from: one.real_from.map(lift),
    }
}

fn at_lift(one: &FlowChange, length: Unit) -> ComparedFlowAtLift {
    ComparedFlowAtLift {
        port: one.port.clone(),
        runner: one.runner.clone(),
        lift: chosen(length.from_base(one.lift), length),
        cylinders: one.cylinders.clone(),
        difference: one.difference.clone(),
        real: one.real,
    }
}
