//! Contact of a piston at top dead centre with the head's face or a valve.
//!
//! Judged at the piston's nearest point. Whether the head's face lies over that point, and what
//! stretch and heat take of the distance, is not known here.

use serde::{Deserialize, Serialize};

use crate::engine_figures::CylinderFigures;
use crate::figure::Figure;
use crate::units::Unit;

/// What a piston would meet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum ContactWith {
    /// The head's face.
    Head,
    /// The valve of a port.
    Valve(String),
}

/// A piston that meets something, or could.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Contact {
    /// The cylinder.
    pub cylinder: u32,
    /// Head or valve.
    pub meets: ContactWith,
    /// The distance that is left at the nearest point: below 0 where it stands through.
    pub left: Figure,
    /// Expanded uncertainty of that distance (95 %), in its unit, with lacking ones at their
    /// assumed width. `None` if nothing is known or assumed.
    pub expanded: Option<f64>,
    /// The uncertainties that are lacking and enter at an assumed width, in words.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub assumed: Vec<String>,
}

impl Contact {
    /// The contact of a piston with the head's face, where there is no distance left beyond its
    /// uncertainty; `None` also where gasket or deck are not known.
    pub fn with_head(known: &CylinderFigures, length: Unit) -> Option<Contact> {
        let left = known.nearest_quench()?.figure(length);
        Contact::of(known.number, ContactWith::Head, left)
    }

    /// The contact with a valve, where there is no distance left beyond its uncertainty.
    pub fn with_valve(cylinder: u32, port: &str, left: Figure) -> Option<Contact> {
        Contact::of(cylinder, ContactWith::Valve(port.to_owned()), left)
    }

    fn of(cylinder: u32, meets: ContactWith, left: Figure) -> Option<Contact> {
        // Without an assumed width, the known part is the least that the uncertainty can be.
        let expanded = left.expanded_assumed().or_else(|| left.expanded_known());
        // Less than 1e-9 is rounding of the arithmetic, not metal.
        let touches = left.value <= expanded.unwrap_or(0.0) + 1e-9;
        touches.then(|| Contact {
            cylinder,
            meets,
            expanded,
            assumed: left.lacking.clone(),
            left,
        })
    }

    /// Whether the figure itself says that it meets.
    pub fn is_through(&self) -> bool {
        self.left.value <= 0.0
    }

    /// The contact in words; `would`: it comes of a change that is not made yet.
    pub fn text(&self, would: bool) -> String {
        let Contact { cylinder, left, .. } = self;
        let unit = left.unit;
        let digits = match unit {
            Unit::Inch => 4,
            _ => 3,
        };
        let by = format!("{:.digits$} {unit}", left.value.abs());
        let within = match self.expanded {
            Some(u) if self.assumed.is_empty() => format!("{by}, known to ±{u:.digits$} {unit}"),
            Some(u) => format!(
                "{by}, ±{u:.digits$} {unit} at an assumed width of what is lacking: {}",
                self.assumed.join("; ")
            ),
            None => format!("{by}, and how well that is known is not said"),
        };
        match (&self.meets, self.is_through(), would) {
            (ContactWith::Head, true, _) => format!(
                "the piston of cylinder {cylinder} {} through the gasket by {by} at its nearest point: it meets the head's face",
                if would { "would stand" } else { "stands" }
            ),
            (ContactWith::Head, false, _) => format!(
                "the piston of cylinder {cylinder} could meet the head's face: at its nearest point {} {within}",
                if would { "there would be" } else { "there are" }
            ),
            (ContactWith::Valve(port), true, true) => format!(
                "the {port} valve of cylinder {cylinder} would meet the piston: {by} would be lacking"
            ),
            (ContactWith::Valve(port), true, false) => format!(
                "the {port} valve of cylinder {cylinder} meets the piston: {by} are lacking"
            ),
            (ContactWith::Valve(port), false, _) => format!(
                "the {port} valve of cylinder {cylinder} could touch the piston: it {} no distance left beyond its uncertainty ({within})",
                if would { "would have" } else { "has" }
            ),
        }
    }
}

/// The contacts of a whole engine, those that are certain first.
pub fn contacts_in_order(mut contacts: Vec<Contact>) -> Vec<Contact> {
    contacts.sort_by_key(|one| !one.is_through());
    contacts
}

/// The sentence for a caution, naming every cylinder; `None` where nothing meets.
pub fn contact_caution(contacts: &[Contact], would: bool) -> Option<String> {
    let named = |through: bool| {
        let names: Vec<String> = contacts
            .iter()
            .filter(|one| one.is_through() == through)
            .map(|one| match &one.meets {
                ContactWith::Head => format!("cylinder {} (head)", one.cylinder),
                ContactWith::Valve(port) => format!("cylinder {} ({port} valve)", one.cylinder),
            })
            .collect();
        (!names.is_empty()).then(|| names.join(", "))
    };
    let meets = named(true).map(|names| {
        let verb = if would { "would meet" } else { "meets" };
        format!("The piston {verb} what stands over it: {names}. Do not turn the engine with these parts.")
    });
    let could = named(false).map(|names| {
        format!("The piston could meet what stands over it: {names}. Measure the distance with the real parts before the engine is turned.")
    });
    let all: Vec<String> = meets.into_iter().chain(could).collect();
    (!all.is_empty()).then(|| all.join(" "))
}
