//! What this machine is like, as far as measuring on it goes.

use serde::{Deserialize, Serialize};

use crate::{Ask, Carry};

/// Asks for a look at the machine: its ports, what else reaches for them, space, clock, folders.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Examine {}

/// What was found.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Examination {
    /// In the order in which they are looked at: ports first.
    pub findings: Vec<MachineFinding>,
}

impl Examination {
    /// Whether anything stands in the way of measuring.
    #[must_use]
    pub fn is_wrong(&self) -> bool {
        self.findings
            .iter()
            .any(|finding| finding.state == MachineState::Wrong)
    }
}

/// One thing that was looked at.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct MachineFinding {
    /// What was looked at.
    pub about: MachinePart,
    /// How it stands.
    pub state: MachineState,
    /// What was found, in one sentence.
    pub found: String,
    /// What to do next; empty where there is nothing to do.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub todo: String,
}

/// The parts of a machine that are looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum MachinePart {
    /// The serial ports, and those that gauges of the register want.
    Ports,
    /// Other programs that reach for serial adapters.
    Programs,
    /// How long a USB adapter holds bytes back.
    Latency,
    /// Free space where the data folder lies.
    Space,
    /// The time of day and its zone.
    Clock,
    /// The daemon, and who writes to the data folder.
    Daemon,
    /// Who may read the data folder.
    Folders,
}

impl MachinePart {
    /// Its name for people.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            MachinePart::Ports => "ports",
            MachinePart::Programs => "programs",
            MachinePart::Latency => "latency",
            MachinePart::Space => "space",
            MachinePart::Clock => "clock",
            MachinePart::Daemon => "daemon",
            MachinePart::Folders => "folders",
        }
    }
}

/// How a part of the machine stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum MachineState {
    /// As it should be.
    Fine,
    /// It works, and could be better.
    Advice,
    /// It stands in the way of measuring, or of keeping what was measured.
    Wrong,
    /// It could not be looked at.
    Unknown,
}

impl MachineState {
    /// The state for people.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            MachineState::Fine => "OK",
            MachineState::Advice => "advice",
            MachineState::Wrong => "WRONG",
            MachineState::Unknown => "not seen",
        }
    }
}

impl Ask for Examine {
    const PATH: &'static str = "examine";
    const CARRY: Carry = Carry::Question;
    type Answer = Examination;
}
