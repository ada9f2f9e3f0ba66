//! Measured piston-to-valve clearances after a change.

use super::context::Context;
use super::error::AskError;
use crate::decide::{Contact, GapAfter, gap_after};
use crate::figure::{Estimate, Figure, Scalar};
use crate::report::report;
use crate::spot::SpotName;

/// The distances that were measured, each the least of its port.
pub(super) struct Gaps {
    all: Vec<Gap>,
    /// Ports of which the valve's inclination is not stated.
    bare: Vec<SpotName>,
}

struct Gap {
    cylinder: u32,
    port: SpotName,
    least: Figure,
    /// Angle between valve and bore, degrees.
    inclination: Estimate,
}

impl Gaps {
    /// The distances of the present stage. A valve whose inclination is not stated counts as
    /// parallel to the bore: that takes the most from its distance.
    pub(super) fn measured(context: &Context<'_>) -> Result<Gaps, AskError> {
        let mut bare = Vec::new();
        let mut gaps = Vec::new();
        for gap in report(&context.inputs)?.valve_gaps {
            let port = context.engine.ports.get(gap.port.as_str());
            let stated = port.and_then(|port| port.inclination);
            if stated.is_none() && !bare.contains(&gap.port) {
                bare.push(gap.port.clone());
            }
            let inclination = stated.map_or_else(
                || Estimate::exact(0.0),
                |one| one.estimate(format!("inclination of the {} valve", gap.port)),
            );
            gaps.push(Gap {
                cylinder: gap.cylinder,
                least: gap.enclosed.map_or(gap.least, |(least, _)| least),
                port: gap.port,
                inclination,
            });
        }
        Ok(Gaps { all: gaps, bare })
    }

    /// Says which valves count as parallel to the bore.
    pub(super) fn remark(&self, context: &mut Context<'_>) {
        let bare: Vec<&str> = self.bare.iter().map(SpotName::as_str).collect();
        if !bare.is_empty() {
            context.remark(format!(
                "The inclination of the valves of {} is not stated: their distance to the piston is reckoned as if they stood along the bore.",
                bare.join(", ")
            ));
        }
    }

    /// The distances after head and piston of a cylinder have come closer by `closer` (mm;
    /// negative: further apart). Cylinders for which `closer` is `None` or 0 are left out.
    pub(super) fn after(&self, closer: impl Fn(u32) -> Option<Estimate>) -> Vec<GapAfter> {
        let after = |gap: &Gap| {
            let closer = closer(gap.cylinder).filter(|closer| closer.value() != 0.0)?;
            Some(GapAfter {
                cylinder: gap.cylinder,
                port: gap.port.clone(),
                before: gap.least.clone(),
                after: gap_after(&gap.least, &closer, &gap.inclination),
            })
        };
        self.all.iter().filter_map(after).collect()
    }

    /// A sentence that names the distances that no longer hold, and says why.
    pub(super) fn not_reckoned(&self, cylinders: &[u32], why: &str) -> Option<String> {
        let names: Vec<String> = self
            .all
            .iter()
            .filter(|gap| cylinders.contains(&gap.cylinder))
            .map(|gap| format!("cylinder {} {}", gap.cylinder, gap.port))
            .collect();
        (!names.is_empty()).then(|| {
            format!(
                "the piston-to-valve clearances that were measured ({}) hold no longer: {why}; measure them anew",
                names.join(", ")
            )
        })
    }

    /// The valves that would meet the piston after head and piston have come closer by `closer`. A
    /// cylinder for which `closer` is `None` is left out.
    pub(super) fn contacts(&self, closer: impl Fn(u32) -> Option<Estimate>) -> Vec<Contact> {
        let contact = |gap: &Gap| {
            let left = gap_after(&gap.least, &closer(gap.cylinder)?, &gap.inclination);
            Contact::with_valve(gap.cylinder, &gap.port, left)
        };
        self.all.iter().filter_map(contact).collect()
    }
}
