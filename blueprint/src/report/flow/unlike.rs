//! Ports whose flow is out of line with that of the other cylinders, at the same lift.
//!
//! Kinds of runner are never mixed. A port that is out of line at several lifts is told once, at the
//! lift where it is furthest off.

use std::collections::BTreeMap;

use crate::engine_figures::PortFigures;
use crate::figure::Estimate;
use crate::report::document::{Finding, FindingKind};
use crate::report::finding::{finding, unlike};
use crate::spot::SpotName;

/// A difference of less than this share of the flow is none. Common practice, no source: a bench
/// repeats within one to two per cent.
const LEAST: f64 = 0.02;
/// The level of the whole comparison (Grubbs, two-sided), shared by the ports and lifts.
const LEVEL: f64 = 0.05;

/// One flow that is out of line.
struct Off<'a> {
    port: &'a PortFigures,
    /// How far it is from the mean of the others, as a share of that mean.
    share: f64,
}

/// The ports that are out of line with the others of their kind.
pub(crate) fn findings(known: &[PortFigures]) -> Vec<Finding> {
    let mut groups: BTreeMap<_, Vec<(&PortFigures, Estimate)>> = BTreeMap::new();
    for one in known {
        // What no port can pass is told as such, and judges nothing.
        if one.impossible_coefficient().is_some() {
            continue;
        }
        if let Some(flow) = one.compared() {
            groups
                .entry((&one.port, &one.runner, one.lift))
                .or_default()
                .push((one, flow.clone()));
        }
    }
    groups.retain(|_, group| group.len() > 2);
    let level = LEVEL / groups.len().max(1) as f64;
    let mut off: BTreeMap<(u32, &SpotName, &Option<SpotName>), Vec<Off<'_>>> = BTreeMap::new();
    for group in groups.values() {
        for one in of_group(group, level) {
            let port = one.port;
            off.entry((port.cylinder, &port.port, &port.runner))
                .or_default()
                .push(one);
        }
    }
    off.values().filter_map(|of_port| told(of_port)).collect()
}

fn of_group<'a>(group: &[(&'a PortFigures, Estimate)], level: f64) -> Vec<Off<'a>> {
    let values: Vec<(u32, Estimate)> = group
        .iter()
        .map(|(port, flow)| (port.cylinder, flow.clone()))
        .collect();
    let mean = values.iter().map(|(_, flow)| flow.value()).sum::<f64>() / values.len() as f64;
    let found = unlike(&values, LEAST * mean.abs(), level);
    let off = found.into_iter().filter_map(|unlike| {
        let (port, flow) = group
            .iter()
            .find(|(port, _)| port.cylinder == unlike.cylinder)?;
        let others = flow.value() - unlike.distance;
        (others > 0.0).then(|| Off {
            port,
            share: unlike.distance / others,
        })
    });
    off.collect()
}

fn told(of_port: &[Off<'_>]) -> Option<Finding> {
    let worst = of_port
        .iter()
        .max_by(|a, b| a.share.abs().total_cmp(&b.share.abs()))?;
    let side = if worst.share > 0.0 { "more" } else { "less" };
    let percent = 100.0 * worst.share.abs();
    let lifts = match of_port.len() {
        1 => String::new(),
        several => format!(" (out of line at {several} lifts, here most)"),
    };
    let text = format!(
        "out of line with the others: it flows {percent:.1} % {side} than their mean at this lift{lifts}"
    );
    Some(finding(&worst.port.spot, FindingKind::Outlier, text))
}
