//! Ports compared: before and after, and port against port, with the lift at which a difference is
//! real. Kinds of runner are compared within their kind, never across.

use serde::Serialize;

use crate::engine_figures::{EngineFigures, PortFigures};
use crate::figure::{Estimate, Figure, Scalar};
use crate::spot::SpotName;
use crate::units::Unit;

/// A difference at one lift, as a share: 0.02 is two percent more.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FlowDifference {
    /// The lift, mm.
    pub lift: f64,
    /// The difference as a share of what it is compared with.
    pub difference: Figure,
    /// Whether it is more than its expanded uncertainty; `None` if that is unknown, or where one of
    /// the two flows is more than its port's least area can pass.
    pub real: Option<bool>,
}

/// One port compared with something over its lifts.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FlowComparison {
    /// The cylinder.
    pub cylinder: u32,
    /// The port.
    pub port: SpotName,
    /// The kind of runner.
    pub runner: Option<SpotName>,
    /// The differences, lift by lift.
    pub lifts: Vec<FlowDifference>,
    /// The mean over the listed lifts at which both flows can be, each counting the same (practice).
    pub mean: Option<Figure>,
    /// The lowest lift, mm, from which on every difference is real; `None` if there is none.
    pub real_from: Option<f64>,
}

/// How far the mean of the ports of a kind went at one lift.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FlowChange {
    /// The port.
    pub port: SpotName,
    /// The kind of runner.
    pub runner: Option<SpotName>,
    /// The lift, mm.
    pub lift: f64,
    /// The cylinders that both states have there.
    pub cylinders: Vec<u32>,
    /// The difference of the means as a share of the mean before.
    pub difference: Figure,
    /// Whether it is more than its expanded uncertainty; `None` as of [`FlowDifference::real`].
    pub real: Option<bool>,
}

/// One port's flow before and after.
type BothFlows = (Estimate, Estimate);

/// Before and after, lift by lift and kind by kind: the mean of the ports that both states have. What
/// the two states share, such as the orifice's coefficient, cancels in the difference.
pub fn flow_changes(before: &EngineFigures, after: &EngineFigures) -> Vec<FlowChange> {
    let mut all: Vec<(FlowChange, Vec<BothFlows>, bool)> = Vec::new();
    for one in &after.flow {
        let same = before.flow.iter().find(|other| is_same_port(one, other));
        let Some((is, was, same)) = same
            .and_then(|same| Some((one.compared()?.clone(), one.comparable(same)?.clone(), same)))
            .filter(|(_, was, _)| was.value() > 0.0)
        else {
            continue;
        };
        let possible = [one, same].map(PortFigures::impossible_coefficient);
        let possible = possible.iter().all(Option::is_none);
        let place = all.iter_mut().find(|(known, ..)| {
            (&known.port, &known.runner, known.lift) == (&one.port, &one.runner, one.lift.mm())
        });
        match place {
            Some((known, pairs, judged)) => {
                known.cylinders.push(one.cylinder);
                pairs.push((was, is));
                *judged &= possible;
            }
            None => {
                let change = FlowChange {
                    port: one.port.clone(),
                    runner: one.runner.clone(),
                    lift: one.lift.mm(),
                    cylinders: vec![one.cylinder],
                    difference: Figure::bare(0.0, Unit::One),
                    real: None,
                };
                all.push((change, vec![(was, is)], possible));
            }
        }
    }
    let told = all.into_iter().filter_map(|(mut change, pairs, judged)| {
        let was = Estimate::mean(pairs.iter().map(|(was, _)| was))?;
        let is = Estimate::mean(pairs.iter().map(|(_, is)| is))?;
        let difference = (is / was).offset(-1.0);
        let real = difference.difference(Unit::One).is_real();
        change.real = real.filter(|_| judged);
        change.difference = difference.figure(Unit::One);
        Some(change)
    });
    told.collect()
}

/// Whether two flows are those of one port at one lift.
fn is_same_port(one: &PortFigures, other: &PortFigures) -> bool {
    (other.cylinder, &other.port, &other.runner, other.lift)
        == (one.cylinder, &one.port, &one.runner, one.lift)
}

/// Before and after: every port and lift that both states have.
pub fn flow_before_after(before: &EngineFigures, after: &EngineFigures) -> Vec<FlowComparison> {
    grouped(&after.flow, |one| {
        let same = before.flow.iter().find(|other| is_same_port(one, other))?;
        Some((
            one.comparable(same).cloned()?,
            same.impossible_coefficient().is_some(),
        ))
    })
}

/// Port against port: each cylinder's against the mean of the others of its kind at the same lift.
pub fn flow_against_brothers(state: &EngineFigures) -> Vec<FlowComparison> {
    grouped(&state.flow, |one| {
        let brothers = state.flow.iter().filter(|other| {
            other.cylinder != one.cylinder
                && (&other.port, &other.runner, other.lift) == (&one.port, &one.runner, one.lift)
        });
        let brothers: Vec<&PortFigures> = brothers.collect();
        let impossible = brothers
            .iter()
            .any(|one| one.impossible_coefficient().is_some());
        let mean = Estimate::mean(brothers.iter().filter_map(|other| one.comparable(other)))?;
        Some((mean, impossible))
    })
}

/// `against`: what a flow is compared with, and whether that cannot be.
fn grouped(
    flow: &[PortFigures],
    against: impl Fn(&PortFigures) -> Option<(Estimate, bool)>,
) -> Vec<FlowComparison> {
    let mut all: Vec<(FlowComparison, Vec<Estimate>)> = Vec::new();
    for one in flow {
        let (Some(value), Some((against, impossible))) = (one.compared(), against(one)) else {
            continue;
        };
        if against.value() <= 0.0 {
            continue;
        }
        let difference = (value / against).offset(-1.0);
        let judged = !impossible && one.impossible_coefficient().is_none();
        let lift = FlowDifference {
            lift: one.lift.mm(),
            real: difference
                .difference(Unit::One)
                .is_real()
                .filter(|_| judged),
            difference: difference.figure(Unit::One),
        };
        let place = all.iter_mut().find(|(known, _)| {
            (known.cylinder, &known.port, &known.runner) == (one.cylinder, &one.port, &one.runner)
        });
        match place {
            Some((known, differences)) => {
                known.lifts.push(lift);
                differences.extend(judged.then_some(difference));
            }
            None => {
                let comparison = FlowComparison {
                    cylinder: one.cylinder,
                    port: one.port.clone(),
                    runner: one.runner.clone(),
                    lifts: vec![lift],
                    mean: None,
                    real_from: None,
                };
                all.push((
                    comparison,
                    judged.then_some(difference).into_iter().collect(),
                ));
            }
        }
    }
    all.into_iter()
        .map(|(mut comparison, differences)| {
            comparison.mean = Estimate::mean(&differences).map(|mean| mean.figure(Unit::One));
            let real = comparison
                .lifts
                .iter()
                .rev()
                .take_while(|one| one.real == Some(true));
            comparison.real_from = real.last().map(|one| one.lift);
            comparison
        })
        .collect()
}
