//! What was ordered for a job: the sizes of parts that somebody makes to them.
//!
//! A later order of the same size takes the place of an earlier one, cylinder by cylinder; so a
//! wrong entry is put right by the right one, or taken back. Nothing is calculated here.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

/// Parts were ordered, or an earlier order of them was taken back.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct OrderedParts {
    /// What was ordered, each size once.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub parts: Vec<OrderedPart>,
    /// The sizes of which the order is taken back, named as in `parts`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub taken_back: Vec<String>,
    /// From whom, in the builder's words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<String>,
    /// The day on which it was ordered, where that is not the day of the entry.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub on: Option<Date>,
    /// Initials of who ordered.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// The hash of the record's last line that the order's sheet carries, in hexadecimal.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sheet: Option<String>,
    /// A remark.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// One size that was ordered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OrderedPart {
    /// The size, as the first word of its spots: `crown`; of one cylinder alone `crown/3`.
    pub part: String,
    /// The size, in `unit`; signs are those of readings at these spots.
    pub value: f64,
    /// How far it may be off on either side, in `unit`; `None` where nobody said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tolerance: Option<f64>,
    /// The unit of `value` and `tolerance`.
    pub unit: String,
}

impl OrderedParts {
    /// The size of one cylinder, where it is ordered here; of two that fit, the one of this
    /// cylinder alone.
    #[must_use]
    pub fn part(&self, size: &str, cylinder: u32) -> Option<&OrderedPart> {
        let alone = format!("{size}/{cylinder}");
        let named = |name: &str| self.parts.iter().find(|one| one.part == name);
        named(&alone).or_else(|| named(size))
    }

    /// Whether an order of that size of the cylinder is taken back here.
    pub(super) fn takes_back(&self, size: &str, cylinder: u32) -> bool {
        let alone = format!("{size}/{cylinder}");
        let mut named = self.taken_back.iter();
        named.any(|name| *name == alone || name == size)
    }
}
