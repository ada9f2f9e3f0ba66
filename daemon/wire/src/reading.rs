//! Readings that a person enters, imports, voids or moves, and what a captured one was made out from.

use serde::{Deserialize, Serialize};

use crate::{Ask, Carry, Figure};

/// Enters one reading by hand.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct EnterReading {
    /// The job's name.
    pub job: String,
    /// The spot, e.g. `chamber/3`.
    pub spot: String,
    /// The value with its unit, e.g. `64.2 cc`; of a flow both values, `28 inH2O and 4.55 inH2O`, or
    /// `28 inH2O and 150 cfm`. Absent where `levels` are given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub value: Option<String>,
    /// A burette's levels; several pairs are summed (a refill half-way).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub levels: Vec<Levels>,
    /// Standard uncertainty of the reading, with unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u: Option<String>,
    /// The gauge it was read from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge: Option<String>,
    /// The stage that it belongs to, for a value of before a cut; the present one where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stage: Option<String>,
    /// Keep it although it lies far from what is expected, or looks like a slip.
    #[serde(default)]
    pub sure: bool,
    /// Initials of who does it, at most 8 letters or digits.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

/// A burette read before and after one pour, in either direction of counting.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Levels {
    /// The level before, with unit.
    pub from: String,
    /// The level after, with unit.
    pub to: String,
}

/// A reading that was kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Entered {
    /// The entry of the job's record that it is.
    pub id: u64,
    /// Its number for people: its count among the readings of its station, from 1.
    pub number: u64,
    /// By what its station is named where several measure: `A`, so that the reading is `A12`.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub station: String,
    /// The spot.
    pub spot: String,
    /// The value kept, in `unit`.
    pub value: f64,
    /// Its unit.
    pub unit: String,
    /// The value in the unit in which the engine or the free spot is told, where that is another one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub told: Option<Figure>,
    /// The stage it was kept at.
    pub stage: String,
    /// What a person should know at once: how far it lies from the round before, where that is more
    /// than rounds differ. Empty where there is nothing.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub remark: String,
}

impl Ask for EnterReading {
    const PATH: &'static str = "readings/enter";
    const CARRY: Carry = Carry::Change;
    type Answer = Entered;
}

/// Imports a CSV of readings, all or nothing.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ImportReadings {
    /// The job's name.
    pub job: String,
    /// The CSV's text.
    pub csv: String,
    /// The file's name, for messages.
    pub file: String,
    /// Keep the rows although some lie far from what is expected, or look like slips.
    #[serde(default)]
    pub sure: bool,
    /// Initials of who does it, at most 8 letters or digits.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

/// An import that was kept.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Imported {
    /// The import's number in the job's journal.
    pub id: u64,
    /// How many readings it holds.
    pub readings: usize,
    /// What a person should know at once: gauges of the rows that nobody knows. Empty where there is
    /// nothing.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub remark: String,
}

impl Ask for ImportReadings {
    const PATH: &'static str = "readings/import";
    const CARRY: Carry = Carry::Change;
    type Answer = Imported;
}

/// A reading by its number for people: `12`, or where several stations measure `A12`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(untagged)]
pub enum ReadingNumber {
    /// Of a job that one station measures.
    Plain(u64),
    /// As people say it.
    Said(String),
}

impl ReadingNumber {
    /// The number as people say it.
    #[must_use]
    pub fn said(&self) -> String {
        match self {
            ReadingNumber::Plain(number) => number.to_string(),
            ReadingNumber::Said(said) => said.trim().to_owned(),
        }
    }
}

impl From<u64> for ReadingNumber {
    fn from(number: u64) -> Self {
        ReadingNumber::Plain(number)
    }
}

impl From<String> for ReadingNumber {
    fn from(said: String) -> Self {
        let number = said.trim().parse();
        number.map_or(ReadingNumber::Said(said), ReadingNumber::Plain)
    }
}

/// A reading's number as people say it, with what its station is named by where several measure.
#[must_use]
pub fn said_number(station: &str, number: u64) -> String {
    match station.chars().all(|one| one.is_ascii_uppercase()) {
        true => format!("{station}{number}"),
        false => format!("{station}-{number}"),
    }
}

impl Entered {
    /// Its number as people say it.
    #[must_use]
    pub fn said_number(&self) -> String {
        said_number(&self.station, self.number)
    }
}

/// Voids a reading; it stays in the journal with the reason.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct VoidReading {
    /// The job's name.
    pub job: String,
    /// The reading, as an entry of the record; absent where `number` is given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub id: Option<u64>,
    /// The reading, by its number for people: `12`, or `A12` where several stations measure.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub number: Option<ReadingNumber>,
    /// Why, in the user's words.
    pub reason: String,
    /// Initials of who does it, at most 8 letters or digits.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

/// A reading that was voided.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Voided {
    /// The fact's number in the journal.
    pub id: u64,
    /// The spot that lost it.
    pub spot: String,
    /// How many readings that count are left at the spot, at the reading's stage.
    pub left: usize,
}

impl Ask for VoidReading {
    const PATH: &'static str = "readings/void";
    const CARRY: Carry = Carry::Change;
    type Answer = Voided;
}

/// Moves a reading to the spot where it belongs.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct MoveReading {
    /// The job's name.
    pub job: String,
    /// The reading, as an entry of the record; absent where `number` is given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub id: Option<u64>,
    /// The reading, by its number for people: `12`, or `A12` where several stations measure.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub number: Option<ReadingNumber>,
    /// The spot it belongs to.
    pub to: String,
    /// Why, in the user's words; may be empty.
    #[serde(default)]
    pub reason: String,
    /// Initials of who does it, at most 8 letters or digits.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

/// A reading that was moved.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Moved {
    /// The fact's number in the journal.
    pub id: u64,
    /// Where it was.
    pub from: String,
    /// Where it is now.
    pub to: String,
}

impl Ask for MoveReading {
    const PATH: &'static str = "readings/move";
    const CARRY: Carry = Carry::Change;
    type Answer = Moved;
}

/// Asks what a captured reading was made out from.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct TraceReading {
    /// The job's name.
    pub job: String,
    /// The reading's number.
    pub id: String,
}

/// What a reading was made out from; empty for one that was typed or imported.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ReadingTraced {
    /// The reading's own trace first, then those of its parts.
    pub traces: Vec<Trace>,
    /// Why there is none yet, where the recorded stream lies at another station.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub away: Option<String>,
}

/// What one gauge sent about the moment of a reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Trace {
    /// The part of the reading, e.g. `metering`; absent for its own value.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// The gauge.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge: Option<String>,
    /// The unit of every value here, as the gauge sent it.
    pub unit: String,
    /// What was taken, in that unit.
    pub taken: f64,
    /// The samples that the value was taken from, as the journal holds them.
    pub window: Vec<TraceSample>,
    /// The samples of the minute before and of the seconds after, from the recorded stream; empty
    /// where that is gone.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub around: Vec<TraceSample>,
    /// The recorded stream's file.
    pub stream: String,
}

/// One sample.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct TraceSample {
    /// Microseconds since the stream began.
    pub at_us: u64,
    /// The value as the gauge sent it.
    pub value: f64,
}

impl Ask for TraceReading {
    const PATH: &'static str = "readings/trace";
    const CARRY: Carry = Carry::Question;
    type Answer = ReadingTraced;
}
