//! The board page: who is let in, and what it must know of an engine to draw it.

use serde::{Deserialize, Serialize};

use crate::{Ask, Carry};

/// Asks for an address that opens the board page once, in a browser of this machine.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct OpenBoard {}

/// An address that opens the board page once.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BoardAddress {
    /// The whole address with its one-time code.
    pub address: String,
    /// How long the code can be used, in seconds.
    pub valid_s: u64,
}

impl Ask for OpenBoard {
    const PATH: &'static str = "board/open";
    const CARRY: Carry = Carry::Change;
    type Answer = BoardAddress;
}

/// Opens the board to the local network and asks for a code that pairs one device.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct OpenNetwork {
    /// The port to listen at; a free one where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub port: Option<u16>,
}

/// Where a device of the local network finds the board, and the code that pairs it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Pairing {
    /// The address to type on the device.
    pub address: String,
    /// The code that the page there asks for; it pairs one device.
    pub code: String,
    /// How long the code can be used, in seconds.
    pub valid_s: u64,
    /// What the open network means, in sentences to be shown.
    pub risk: Vec<String>,
}

impl Ask for OpenNetwork {
    const PATH: &'static str = "board/network/open";
    const CARRY: Carry = Carry::Change;
    type Answer = Pairing;
}

/// Closes the local network again; every paired device is shut out.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct CloseNetwork {}

/// Whether there was something to close.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct NetworkClosed {
    /// Whether the network had been open.
    pub was_open: bool,
    /// How many devices were paired.
    pub devices: usize,
}

impl Ask for CloseNetwork {
    const PATH: &'static str = "board/network/close";
    const CARRY: Carry = Carry::Change;
    type Answer = NetworkClosed;
}

/// Asks for the shape of a job's engine.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ShowEngine {
    /// The job's name.
    pub job: String,
}

/// What must be known of an engine to draw it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct EngineShape {
    /// The engine's name.
    pub name: String,
    /// Whether it is made up, for trying things out.
    pub invented: bool,
    /// `inch` or `metric`.
    #[cfg_attr(feature = "schema", schemars(extend("enum" = ["inch", "metric"])))]
    pub units: String,
    /// The banks in the file's order.
    pub banks: Vec<BankShape>,
}

/// A row of cylinders.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BankShape {
    /// Its name.
    pub name: String,
    /// Its cylinders, front to rear.
    pub cylinders: Vec<u32>,
}

impl Ask for ShowEngine {
    const PATH: &'static str = "jobs/engine";
    const CARRY: Carry = Carry::Question;
    type Answer = EngineShape;
}
