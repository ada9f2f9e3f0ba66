//! What may stand in a gauge's text.

use benchhand_drivers::QuantityKind;
use benchhand_wire::BuretteCounts;
use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::value::{Quantity, UsbId, instrument, when};

/// A gauge of this shop.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RegisterEntry {
    /// What the gauge measures; none where that is nothing for which the text has a word.
    #[serde(with = "instrument")]
    pub kind: Option<QuantityKind>,
    /// The profile that describes how the gauge sends; none for a gauge that is read by eye.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub profile: Option<String>,
    /// +1 or -1: whether the gauge's number grows with the measured size.
    #[serde(default = "plus", skip_serializing_if = "is_plus")]
    pub sense: i8,
    /// The size of one count, where the profile does not state it: a scale's division.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub resolution: Option<Quantity>,
    /// A remark.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Where the gauge is plugged in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub port: Option<GaugePort>,
    /// What each channel is for, in the profile's order; none where the gauge has one channel only.
    #[serde(default, rename = "channel", skip_serializing_if = "Vec::is_empty")]
    pub channels: Vec<Channel>,
    /// What is known of the gauge's trueness.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub calibration: Option<Calibration>,
    /// How a burette counts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub burette: Option<BuretteEntry>,
    /// The zero that holds now.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zero: Option<ZeroPoint>,
    /// What was learned of the gauge while it was still.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub learned: Option<Learned>,
}

impl Default for RegisterEntry {
    fn default() -> Self {
        Self {
            kind: None,
            profile: None,
            sense: plus(),
            resolution: None,
            note: None,
            port: None,
            channels: Vec::new(),
            calibration: None,
            burette: None,
            zero: None,
            learned: None,
        }
    }
}

fn plus() -> i8 {
    1
}

fn is_plus(sense: &i8) -> bool {
    *sense == 1
}

/// Where a gauge is plugged in: the adapter's identity, or a pinned path.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GaugePort {
    /// Vendor and product of the adapter, as `0403:6001`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub usb: Option<UsbId>,
    /// The adapter's serial number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub serial: Option<String>,
    /// Which interface of the adapter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub interface: Option<u8>,
    /// The adapter's place on the bus, where nothing else tells it from an equal adapter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bus: Option<String>,
    /// A path that is used whatever is plugged in there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub path: Option<String>,
}

/// What one channel of a gauge is for, and what is known of it apart from the other channels.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Channel {
    /// Its role: `test_pressure`, `metering_pressure`, `lift`.
    pub role: String,
    /// The size of one count, where the channel has its own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub resolution: Option<Quantity>,
    /// What is known of the channel's trueness, instead of the gauge's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub calibration: Option<Calibration>,
    /// Its own zero.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zero: Option<ZeroPoint>,
    /// What was learned of the channel while it was still.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub learned: Option<Learned>,
}

/// What is known of a gauge's trueness.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Calibration {
    /// Standard uncertainty (one standard deviation) that all readings share.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u: Option<Quantity>,
    /// Relative standard uncertainty of its scale, as a plain number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scale_u: Option<f64>,
    /// Standard deviation of readings with a new set-up each.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repeatability: Option<Quantity>,
    /// The degrees of freedom of `repeatability`; it counts as known where they are absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repeatability_dof: Option<f64>,
    /// What is added to the shown value.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub correction: Option<Quantity>,
    /// The share of the shown value that is added besides, as a plain number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scale: Option<f64>,
    /// Whether the correction applies to differences (what a burette delivered, what was poured
    /// onto a balance) and not to what the display shows.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub deliveries: bool,
    /// When it was last checked.
    #[serde(
        default,
        with = "when::optional",
        skip_serializing_if = "Option::is_none"
    )]
    pub checked: Option<Date>,
    /// The method and the master of the check.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub how: Option<String>,
}

/// How a burette counts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BuretteEntry {
    /// What the burette holds between its ends, where that is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub capacity: Option<Quantity>,
    /// Which way its scale runs. A person is asked at the first pour where it is not known, and the
    /// answer is kept here.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub counts: Option<BuretteCounts>,
}

/// The zero that holds now. Every zero is also a fact of its job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ZeroPoint {
    /// What the gauge showed.
    pub raw: Quantity,
    /// Standard uncertainty of the zero.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u: Option<Quantity>,
    /// The master of the zero.
    pub against: String,
    /// When.
    #[serde(with = "when")]
    pub at: Timestamp,
    /// What the gauge shows with nothing under it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hanging: Option<Quantity>,
}

/// What was learned of a gauge while it was still.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Learned {
    /// Standard deviation of its samples.
    pub sigma: Quantity,
    /// How many samples it was learned from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub n: Option<u64>,
}
