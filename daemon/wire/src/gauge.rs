//! The shop's gauges: setting up, listing, zeroing, checking.

use std::collections::BTreeMap;
use std::fmt;

use serde::{Deserialize, Serialize};

use crate::history::GaugeInShort;
use crate::{Ask, Carry};

/// What is known of a gauge in the shop's register.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct GaugeSetup {
    /// The gauge's name in this shop, e.g. `depth-2`.
    pub name: String,
    /// The profile that describes how it talks.
    pub profile: String,
    /// A pinned path, e.g. `/dev/ttyUSB0`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub port: Option<String>,
    /// The adapter's identity as `ports` shows it; wins over `port`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub adapter: Option<String>,
    /// +1 where the gauge's number grows as the plunger is pushed in, −1 where it shrinks.
    #[serde(default = "plus")]
    pub sense: i8,
    /// Standard uncertainty of its calibration, e.g. `0.0002 in`; unknown where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u: Option<String>,
    /// Relative standard uncertainty of its scale, e.g. `0.001`; unknown where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scale_u: Option<f64>,
    /// Repeatability standard deviation of a reading set up anew, e.g. `0.05 cc`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repeatability: Option<String>,
    /// Degrees of freedom of the repeatability: one less than the number of readings behind it, for
    /// each set; it counts as known where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repeatability_dof: Option<f64>,
    /// Size of one count, e.g. `0.0005 in`; taken from the gauge's own decimals where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub resolution: Option<String>,
    /// A burette's capacity, e.g. `100 cc`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub capacity: Option<String>,
    /// Which way a burette's scale runs while it delivers; asked at the first movement on a route
    /// where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub counts: Option<BuretteCounts>,
    /// When and against what it was last calibrated, as text.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub calibrated: Option<String>,
}

fn plus() -> i8 {
    1
}

/// Which way a burette's scale runs while it delivers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum BuretteCounts {
    /// It shows what was delivered: 0 is full.
    Up,
    /// It shows what is left: 0 is empty.
    Down,
}

impl BuretteCounts {
    /// The word for it: `up` or `down`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            BuretteCounts::Up => "up",
            BuretteCounts::Down => "down",
        }
    }
}

impl fmt::Display for BuretteCounts {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// A gauge and how it is just now.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct GaugeState {
    /// What the register holds.
    pub setup: GaugeSetup,
    /// What it measures: `length`, `volume`, `mass`, `pressure` …
    pub kind: String,
    /// How its line is, in one word: `off` (not running), `opening`,
    /// `open` (nothing heard yet), `live`, `silent`, `lost`; `by eye` for a gauge without a port.
    pub link: String,
    /// What to do, where the line is not live.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub todo: String,
    /// The raw number at which it was zeroed, with unit; absent until it was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zero: Option<String>,
    /// What the last check gave it, of the first channel; absent where none did.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub check: Option<GaugeCorrection>,
    /// The latest value of each channel.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub live: Vec<LiveValue>,
}

/// What a check gave a gauge.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct GaugeCorrection {
    /// The day of the check.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub date: Option<String>,
    /// What is added to what it shows, with unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub correction: Option<String>,
    /// The share of what it shows that is added besides.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scale: Option<f64>,
}

/// Asks for the register and the gauges' present state.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Gauges {}

/// The register.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct GaugeList {
    /// In order of name.
    pub gauges: Vec<GaugeState>,
    /// The profiles that a gauge may be given.
    pub profiles: Vec<String>,
    /// What each of them is for, in their order; empty from a daemon that does not say.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub profile_titles: Vec<String>,
    /// What the jobs tell of each gauge, by its name; gauges that are in the register no more are
    /// among them.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub history: BTreeMap<String, GaugeInShort>,
}

impl Ask for Gauges {
    const PATH: &'static str = "gauges";
    const CARRY: Carry = Carry::Question;
    type Answer = GaugeList;
}

/// Asks what a gauge showed in the last minute, for a page that was opened just now.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct LastMinute {
    /// The gauge's name.
    pub name: String,
}

/// What a gauge showed in the last minute.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ShownMinute {
    /// The unit of the values; empty where none came.
    pub unit: String,
    /// Decimals worth showing.
    pub decimals: u8,
    /// The values of the gauge's first channel, the oldest first, at most ten a second.
    pub values: Vec<ShownValue>,
    /// What time it is at the station, RFC 3339: a reading's time is by the same clock.
    pub now: String,
}

/// A value that a gauge showed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ShownValue {
    /// How long ago, in seconds.
    pub ago: f64,
    /// What it showed; absent where it sent a status, and where its line was broken.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub value: Option<f64>,
}

impl Ask for LastMinute {
    const PATH: &'static str = "gauges/minute";
    const CARRY: Carry = Carry::Question;
    type Answer = ShownMinute;
}

/// Enters a gauge in the register, or changes it. A running daemon opens its port at once.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct SetGauge {
    /// What the register is to hold.
    pub setup: GaugeSetup,
    /// The text of a profile of the user's own, kept in the shop's profiles.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub profile_text: Option<String>,
}

/// One gauge.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct GaugeAnswer {
    /// As it now is.
    pub gauge: GaugeState,
}

impl Ask for SetGauge {
    const PATH: &'static str = "gauges/set";
    const CARRY: Carry = Carry::Change;
    type Answer = GaugeAnswer;
}

/// Takes a gauge out of the register; what it measured stays.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct RemoveGauge {
    /// The gauge's name.
    pub name: String,
}

impl Ask for RemoveGauge {
    const PATH: &'static str = "gauges/remove";
    const CARRY: Carry = Carry::Change;
    type Answer = GaugeList;
}

/// Zeroes a gauge: what it shows now, held still, is where `master` stands.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ZeroGauge {
    /// The gauge's name.
    pub name: String,
    /// The job in whose journal the zero is kept.
    pub job: String,
    /// The raw value, with unit, of a gauge that is read by eye; taken live where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub raw: Option<String>,
    /// What the master is, with unit, where it is not 0: a setting ring for a bore gauge.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub master: Option<String>,
    /// Standard uncertainty of this zeroing, e.g. `0.0001 in`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u: Option<String>,
    /// The gauge hangs free: learn its hanging value instead, which is never a reading.
    #[serde(default)]
    pub hanging: bool,
}

/// A zero that was set and kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Zeroed {
    /// The fact's number in the job's journal.
    pub id: u64,
    /// The raw number that now counts as zero, in `unit`.
    pub raw: f64,
    /// Its unit.
    pub unit: String,
}

impl Ask for ZeroGauge {
    const PATH: &'static str = "gauges/zero";
    const CARRY: Carry = Carry::Change;
    type Answer = Zeroed;
}

/// Checks a gauge against a master, or (without one) that its zero comes back.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct CheckGauge {
    /// The gauge's name.
    pub name: String,
    /// The job in whose journal the check is kept.
    pub job: String,
    /// The channel that is checked, by its name in the profile; the first where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub channel: Option<String>,
    /// What the master is, with unit; `0` in the gauge's unit where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub master: Option<String>,
    /// The raw value, with unit, of a gauge that is read by eye.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub raw: Option<String>,
    /// Allowed departure, with unit; one count where absent, and what the scatter of the samples leaves open.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub allow: Option<String>,
    /// Standard uncertainty of the master, with unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u: Option<String>,
}

/// A check that was made and kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Checked {
    /// The fact's number in the job's journal.
    pub id: u64,
    /// What the gauge showed less what the master is, in `unit`.
    pub error: f64,
    /// The allowed departure, in `unit`.
    pub allow: f64,
    /// The unit.
    pub unit: String,
    /// Whether the gauge passed.
    pub passed: bool,
    /// Readings since the last good check, marked because this one failed: their entries.
    pub marked: Vec<u64>,
    /// The same readings, those that count, by the numbers that people call them by.
    #[serde(default)]
    pub marked_numbers: Vec<String>,
}

impl Ask for CheckGauge {
    const PATH: &'static str = "gauges/check";
    const CARRY: Carry = Carry::Change;
    type Answer = Checked;
}

/// The latest value of one channel.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct LiveValue {
    /// The channel's name in the gauge's profile.
    pub channel: String,
    /// What the gauge shows; absent where it sent a status instead.
    pub value: Option<f64>,
    /// Its unit.
    pub unit: String,
    /// Decimals worth showing.
    pub decimals: u8,
    /// The figure after sense and zero, where the gauge was zeroed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zeroed: Option<f64>,
    /// What was poured since the last rest, in `unit`, while a route takes pours from the gauge; of
    /// a pour that is held, all of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub poured: Option<f64>,
    /// What capture makes of it.
    pub phase: CapturePhase,
    /// From 0 (moving) to 1 (as still as this gauge gets).
    pub stillness: f64,
    /// What the gauge says of itself, in words; empty where nothing.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub status: String,
}

/// What a gauge is doing, as far as its samples show.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum CapturePhase {
    /// No route uses it; no capture is ever in this phase.
    Idle,
    /// Nothing is expected until the gauge is moved.
    Waiting,
    /// The value is moving; a reading is expected when it comes to rest.
    Moving,
    /// Liquid is being delivered.
    Delivering,
    /// The burette is being filled.
    Refilling,
    /// At rest, not taken yet.
    Still,
    /// The value of a pour is held and may yet be revised.
    Held,
    /// The vessel was lifted off, or a hand is on the pan.
    Away,
    /// Capture ignores the samples by request, or waits for an answer.
    Paused,
}
