//! Checks of a gauge by several comparisons, and of a flow bench by its plate and its leak.

use serde::{Deserialize, Serialize};

use crate::{Ask, Carry, Figure};

/// Asks what a gauge shows just now, each channel by itself, at rest. Waits a few seconds for it.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct GaugeShows {
    /// The gauge's name.
    pub name: String,
}

/// What a gauge shows.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Shows {
    /// Its channels, those that were heard.
    pub channels: Vec<ChannelShows>,
}

/// What one channel shows: the mean of the last one and a half seconds, of a pressure that of the
/// last five.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ChannelShows {
    /// The channel's name in the profile.
    pub channel: String,
    /// The mean, in `unit`.
    pub value: f64,
    /// Its unit.
    pub unit: String,
    /// Standard deviation of the samples, in `unit`.
    pub sd: f64,
    /// Number of samples.
    pub n: usize,
    /// The size of one count, in `unit`.
    pub resolution: f64,
    /// Whether it rests. A manometer rests where it wavers by little and its mean stays; under flow
    /// it never does.
    pub rests: bool,
}

impl Ask for GaugeShows {
    const PATH: &'static str = "gauges/shows";
    const CARRY: Carry = Carry::Question;
    type Answer = Shows;
}

/// What a check is by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Against {
    /// Masters: rings, blocks, weights, or another gauge.
    #[default]
    Masters,
    /// Water: weighed deliveries of a burette, volumes that a balance weighs, columns that a
    /// manometer is held against.
    Water,
}

/// Checks a gauge by several comparisons: keeps them, gives the gauge its correction and its
/// uncertainty in the register.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct CompareGauge {
    /// The gauge's name.
    pub name: String,
    /// The job in whose journal the check is kept.
    pub job: String,
    /// The channel that is checked, by its name in the profile; the first where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub channel: Option<String>,
    /// What it is by.
    #[serde(default)]
    pub against: Against,
    /// The gauge that gave the masters' values; its own correction and uncertainty are used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub with: Option<String>,
    /// The comparisons, at least one.
    pub points: Vec<ComparePoint>,
    /// Allowed departure, with unit; where absent one count, or twice the uncertainty of the check
    /// where that is more.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub allow: Option<String>,
    /// Standard uncertainty that all masters share, with unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u: Option<String>,
    /// The water, where it is by water.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub water: Option<WaterSaid>,
}

/// One comparison.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ComparePoint {
    /// What it truly was, with unit: a master's size; by water a weight, a volume or a height.
    pub master: String,
    /// What the gauge showed, with unit; of a burette what it delivered.
    pub shown: String,
    /// Standard uncertainty of this master alone, with unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u: Option<String>,
    /// How the gauge showed it, where it was read live; absent where it was typed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub live: Option<ReadLive>,
}

/// How a live gauge showed a value.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ReadLive {
    /// Standard deviation of the samples, with unit.
    pub scatter: String,
    /// The size of one count, with unit.
    pub count: String,
    /// Number of samples.
    pub n: usize,
}

/// The water of a check and the air about it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct WaterSaid {
    /// Its temperature, as `21.5 degC` or `21.5 degC +- 0.2 degC`.
    pub temperature: String,
    /// `borosilicate`, `soda-lime`, or the cubic expansion per K, as text; none where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub glass: Option<String>,
    /// Pressure, temperature and humidity of the air, as `1013 hPa, 21 degC, 45 %RH`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub air: Option<String>,
    /// Acceleration of gravity, m/s², as text; 9.80665 with a wide uncertainty where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gravity: Option<String>,
}

/// What a check by several comparisons found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Compared {
    /// The fact's number in the job's journal.
    pub id: u64,
    /// The unit of the points and of `allow`.
    pub unit: String,
    /// The comparisons.
    pub points: Vec<ComparedPoint>,
    /// The largest error as found, with the correction that was in force, in `unit`.
    pub worst: f64,
    /// The largest error that is left after the new correction, in `unit`.
    pub left: f64,
    /// The allowed departure, in `unit`.
    pub allow: f64,
    /// What is to be added to what it shows, with the standard uncertainty of a corrected value.
    pub correction: Figure,
    /// The share of what it shows that is to be added besides.
    pub scale: Figure,
    /// Standard deviation of repeats at the same master, in `unit`, where some were repeated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repeat: Option<f64>,
    /// Whether the gauge was within the allowed departure as it was found.
    pub passed: bool,
    /// Whether the register has the correction and the uncertainty from now on. Not where what is
    /// left after it is more than allowed.
    pub taken_over: bool,
    /// What the correction is added to, in words.
    pub counted: String,
    /// Readings since the last good check, marked because this one failed.
    pub marked: Vec<u64>,
    /// The same readings, those that count, by the numbers that people call them by.
    #[serde(default)]
    pub marked_numbers: Vec<String>,
}

/// One comparison with its errors.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ComparedPoint {
    /// What it truly was.
    pub truth: Figure,
    /// What the gauge showed.
    pub shown: Figure,
    /// Shown less true, as found.
    pub error: f64,
    /// The same with the new correction.
    pub left: f64,
    /// Standard deviation of the samples, where the gauge was read live.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scatter: Option<f64>,
}

impl Ask for CompareGauge {
    const PATH: &'static str = "gauges/compare";
    const CARRY: Carry = Carry::Change;
    type Answer = Compared;
}

/// Checks the metering orifice of a flow bench by its calibration plate.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct CheckPlate {
    /// The job in whose journal the check is kept.
    pub job: String,
    /// The metering orifice, by its name in the engine file; the bench's own where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub orifice: Option<String>,
    /// The plate's flow by its certificate, as `150 cfm` or `150 cfm +- 0.8 cfm`.
    pub flow: String,
    /// The pressure at which it has that flow.
    pub at: String,
    /// The test pressure now, with unit; by the gauge where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub test: Option<String>,
    /// The metering pressure now, with unit; by the gauge where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub metering: Option<String>,
    /// The gauge that has both pressures as its channels.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge: Option<String>,
    /// Allowed departure as a share of the flow; 0.01 where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub allow: Option<f64>,
    /// What the plate is called.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plate: Option<String>,
    /// Whether the plate is right although the bench is further off by it than 5 %.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub sure: bool,
}

/// What the plate showed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PlateChecked {
    /// The fact's number in the job's journal.
    pub id: u64,
    /// The metering orifice.
    pub orifice: String,
    /// What passes it at the metering pressure `at`, by the plate and the leak that is known.
    pub flow: Figure,
    /// The metering pressure.
    pub at: Figure,
    /// What the bench would have said, by what was known of its orifice; absent where nothing was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub said: Option<Figure>,
    /// What it would have said less the plate's, as a share of the plate's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub error: Option<f64>,
    /// The allowed share.
    pub allow: f64,
    /// Whether the bench was within it.
    pub passed: bool,
    /// Flow readings since the last good check, marked because this one failed.
    pub marked: Vec<u64>,
    /// The same readings, those that count, by the numbers that people call them by.
    #[serde(default)]
    pub marked_numbers: Vec<String>,
}

impl Ask for CheckPlate {
    const PATH: &'static str = "bench/plate";
    const CARRY: Carry = Carry::Change;
    type Answer = PlateChecked;
}

/// Keeps the leak of a flow bench, measured with the port sealed.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct CheckLeak {
    /// The job in whose journal it is kept.
    pub job: String,
    /// The leak, as `2.1 cfm` or `2.1 cfm +- 0.3 cfm`; by metering pressure and orifice where
    /// absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub flow: Option<String>,
    /// The test pressure at which it was measured, with unit; by the gauge where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
    /// The metering pressure with the port sealed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub metering: Option<String>,
    /// The metering orifice, by its name in the engine file; the bench's own where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub orifice: Option<String>,
    /// The gauge that has both pressures as its channels.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge: Option<String>,
}

/// The leak that was kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct LeakChecked {
    /// The fact's number in the job's journal.
    pub id: u64,
    /// The leak.
    pub flow: Figure,
    /// The test pressure.
    pub at: Figure,
}

impl Ask for CheckLeak {
    const PATH: &'static str = "bench/leak";
    const CARRY: Carry = Carry::Change;
    type Answer = LeakChecked;
}
