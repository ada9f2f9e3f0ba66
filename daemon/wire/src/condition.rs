//! Conditions that readings depend on: what is known of them, and saying one.

use serde::{Deserialize, Serialize};

use crate::{Ask, Carry, ReadingNumber};

/// A condition that readings depend on. Figures use those of the liquid, the chamber and the air.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Asked {
    /// Its name, e.g. `liquid/temperature`.
    pub name: String,
    /// What was last said of it; absent where nothing was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub known: Option<String>,
    /// What was said of it in an earlier session, where it is to be said anew.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub before: Option<String>,
    /// What a person reads beside it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub label: String,
    /// What helps to say it; empty where the label says all.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub help: String,
    /// What may be said of it, where it is one of a few words.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub choices: Vec<AskedChoice>,
    /// How many readings of the present stage were kept before, and have nothing said of them; told
    /// where a route can be begun.
    #[serde(default, skip_serializing_if = "is_none")]
    pub left_out: u32,
    /// The first of these, by its number for people; absent where there is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub first_left_out: Option<String>,
}

/// One of a few words that may be said of a condition.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct AskedChoice {
    /// As it is kept.
    pub value: String,
    /// As a person reads it.
    pub words: String,
}

/// Says a condition that holds until it is said anew: a liquid, a temperature, a pressure.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct SetCondition {
    /// The job's name.
    pub job: String,
    /// What it is of, e.g. `liquid` or `liquid/temperature`.
    pub name: String,
    /// A value with its unit, e.g. `21.5 degC`, or a word, e.g. `water`.
    pub value: String,
    /// Standard uncertainty of the value, with its unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u: Option<String>,
    /// The first reading for which it holds, as an entry of the record; left out, it holds for those
    /// to come.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub since: Option<u64>,
    /// The same reading by its number for people: `12`, or `A12` where several stations measure.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub since_number: Option<ReadingNumber>,
}

/// A condition that was kept.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ConditionKept {
    /// The fact's number in the job's journal.
    pub id: u64,
    /// Its name.
    pub name: String,
    /// What was kept, as it is shown.
    pub known: String,
    /// How many readings of the present stage were kept before it, and have nothing said of them.
    #[serde(default, skip_serializing_if = "is_none")]
    pub left_out: u32,
    /// The first of these, by its number for people; absent where there is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub first_left_out: Option<String>,
}

fn is_none(count: &u32) -> bool {
    *count == 0
}

impl Ask for SetCondition {
    const PATH: &'static str = "conditions/set";
    const CARRY: Carry = Carry::Change;
    type Answer = ConditionKept;
}
