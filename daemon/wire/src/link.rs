//! The daemon itself, and the ports of this machine.

use serde::{Deserialize, Serialize};

use crate::{Ask, Carry};

/// Asks who answers; also the handshake that tells a live daemon from a leftover file.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Hello {}

/// Who answers.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct HelloAnswer {
    /// Always `"benchhand"`.
    pub program: String,
    /// The program's version.
    pub version: String,
    /// The daemon's process id.
    pub pid: u32,
    /// The folder in which it keeps everything.
    pub data: String,
}

impl Ask for Hello {
    const PATH: &'static str = "hello";
    const CARRY: Carry = Carry::Question;
    type Answer = HelloAnswer;
}

/// Asks for the serial ports of this machine, or for the one at `path`.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Ports {
    /// Look at this path only; pseudo-terminals are never listed and must be named.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub path: Option<String>,
    /// `usb`: list the USB adapters alone and open none of them; one that nobody here has open
    /// counts as free. Whoever waits for an adapter asks so: opening a port raises its output lines.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub only: Option<String>,
}

/// The ports found.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PortsAnswer {
    /// In order of path.
    pub ports: Vec<Port>,
}

/// One serial port.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Port {
    /// The path to open.
    pub path: String,
    /// Whether it can be opened now.
    pub state: PortState,
    /// What the system says it is.
    pub description: String,
    /// The adapter's identity, `VID:PID serial interface`, where the port is on USB.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub identity: Option<String>,
    /// The gauge of the register that uses it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge: Option<String>,
    /// What to do where it cannot be opened; empty where it can.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub todo: String,
}

/// Whether a port can be opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum PortState {
    /// It can be opened.
    Free,
    /// This daemon has it open.
    InUse,
    /// Another program has it.
    Busy,
    /// This user may not open it.
    Forbidden,
    /// Nothing is there.
    Absent,
    /// Something is there that cannot be opened, for another reason.
    Unusable,
}

impl Ask for Ports {
    const PATH: &'static str = "ports";
    const CARRY: Carry = Carry::Question;
    type Answer = PortsAnswer;
}

/// Asks the daemon to finish what it is keeping and to end.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct StopDaemon {}

/// The daemon is stopping.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Stopping {
    /// The process that will end.
    pub pid: u32,
}

impl Ask for StopDaemon {
    const PATH: &'static str = "stop";
    const CARRY: Carry = Carry::Change;
    type Answer = Stopping;
}
