//! The job card: for whom the work is, what the parts are marked with, and who measures.
//!
//! It stands in the engine file, as the section `[card]`: the file is the one text of a job that a
//! person edits, each edit of it is a fact in the journal, and its comments stay.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::Bank;
use super::table::Table;

/// The job card. What is not said is absent.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(default)]
pub struct JobCard {
    /// Whose engine it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub customer: Option<String>,
    /// The number of the order.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub order: Option<String>,
    /// What the block is marked with.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub block: Option<String>,
    /// What the head on each bank is marked with, by the bank's name.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub heads: BTreeMap<String, String>,
    /// Initials of who measures.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub measured_by: Option<String>,
}

impl JobCard {
    /// Whether nothing is said.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        *self == JobCard::default()
    }
}

/// `[card]`. Where the banks are not known, no head's bank is judged.
pub(super) fn card(top: &Table<'_>, banks: Option<&[Bank]>) -> JobCard {
    let Some(table) = top.section("card") else {
        return JobCard::default();
    };
    let mut heads = BTreeMap::new();
    if let Some(on) = table.section("heads") {
        for name in on.keys() {
            let mark = on.text(name);
            if let Some(banks) = banks.filter(|banks| !banks.iter().any(|bank| bank.name == name)) {
                let known: Vec<&str> = banks.iter().map(|bank| bank.name.as_str()).collect();
                let message = format!("found a head on bank {name:?}, which the engine has not");
                on.fault(
                    name,
                    message,
                    &format!("the banks are {}", known.join(", ")),
                );
            }
            heads.extend(mark.map(|mark| (name.to_owned(), mark)));
        }
    }
    let card = JobCard {
        customer: table.text("customer"),
        order: table.text("order"),
        block: table.text("block"),
        heads,
        measured_by: table.text("measured_by"),
    };
    table.refuse_rest();
    card
}
