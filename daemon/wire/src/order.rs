//! Orders of a job: what was ordered, and what was measured of it since.

use serde::{Deserialize, Serialize};

use crate::sheet::SheetJournal;
use crate::{Ask, Carry};

/// Keeps that parts were ordered, or that an order of them is taken back. A later order of the same
/// size takes the place of an earlier one.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct OrderJob {
    /// The job's name.
    pub job: String,
    /// What was ordered, each size once.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub parts: Vec<PartToOrder>,
    /// The sizes of which the order is taken back, named as in `parts`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub take_back: Vec<String>,
    /// From whom.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<String>,
    /// The day on which it was ordered, e.g. `2026-03-01`; the day of the entry where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub on: Option<String>,
    /// Initials of who ordered.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// The hash that the order's sheet carries, which must be in the job's record.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sheet: Option<String>,
    /// How the journals of several stations ended when that sheet was made, as its note says.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub sheet_journals: Vec<SheetJournal>,
    /// A remark.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// A size to order.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct PartToOrder {
    /// `dome`, `dish`, `height` (compression height), `bore`, `skirt` or `rod`, for all cylinders;
    /// for one of them alone with its number, e.g. `dish/3`.
    pub part: String,
    /// The size, with its unit; a dome's or a dish's without a sign.
    pub value: String,
    /// How far it may be off on either side, with its unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tolerance: Option<String>,
}

/// An order that was kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct OrderKept {
    /// The entry of the job's record that it is.
    pub id: u64,
    /// The order, as it stands in the record.
    pub order: OrderShown,
    /// The earlier orders of which something no longer holds, by their entries.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub replaces: Vec<u64>,
}

impl Ask for OrderJob {
    const PATH: &'static str = "jobs/order";
    const CARRY: Carry = Carry::Change;
    type Answer = OrderKept;
}

/// Asks for what was ordered for a job, beside what was measured since.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct JobOrders {
    /// The job's name.
    pub job: String,
    /// The stage whose readings stand beside it; the present one where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stage: Option<String>,
}

/// What was ordered, and what was measured of it since.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct OrdersAnswer {
    /// The job's name.
    pub job: String,
    /// The stage whose readings stand beside it.
    pub stage: String,
    /// Every order and every taking back, the oldest first.
    pub orders: Vec<OrderShown>,
    // Their shape is the blueprint's, which this package does not know.
    /// Each size that is ordered now, cylinder by cylinder, beside what was measured since.
    pub document: Vec<serde_json::Value>,
}

impl Ask for JobOrders {
    const PATH: &'static str = "jobs/orders";
    const CARRY: Carry = Carry::Question;
    type Answer = OrdersAnswer;
}

/// An order as it is shown.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct OrderShown {
    /// The entry of the job's record that it is.
    pub id: u64,
    /// When it was entered, RFC 3339.
    pub at: String,
    /// What was ordered.
    pub parts: Vec<PartOrdered>,
    /// The sizes of which the order was taken back.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub taken_back: Vec<String>,
    /// From whom.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<String>,
    /// The day on which it was ordered, where that is not the day of the entry.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub on: Option<String>,
    /// Initials of who ordered.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// The hash that the order's sheet carries.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sheet: Option<String>,
    /// A remark.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// A size that was ordered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PartOrdered {
    /// The size, as the first word of its spots: `crown`; of one cylinder alone `crown/3`.
    pub part: String,
    /// The size, in `unit`; a dome is positive.
    pub value: f64,
    /// How far it may be off on either side, in `unit`; absent where nobody said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tolerance: Option<f64>,
    /// The unit's symbol.
    pub unit: String,
    /// All of it in words, e.g. `dish 4.21 ± 0.12 cc`.
    pub told: String,
    /// Whether a later order of it, or its taking back, took its place everywhere.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub replaced: bool,
}
