//! One decoded value of one gauge channel at one moment.
//!
//! A sample does not know what was measured, nor whether it will be used.

use crate::unit::Unit;

/// One decoded value of one channel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// Time at which the frame's last byte arrived, as far as that can be known, in microseconds
    /// since the stream began.
    pub at_us: u64,
    /// Index of the channel, counted from 0 in the order of the profile.
    pub channel: u8,
    /// The number as the gauge sent it, in `unit`. `None` if it sent a status instead.
    pub value: Option<f64>,
    /// The unit of `value` and `resolution`.
    pub unit: Unit,
    /// The size of one count, in `unit`; always above 0.
    pub resolution: f64,
    /// The status that the gauge sent with the value.
    pub status: SampleStatus,
}

/// A gauge's status. All fields are `false` or `None` if the gauge says nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct SampleStatus {
    /// The gauge's own stable flag, if it has one.
    pub stable: Option<bool>,
    /// The value is beyond the gauge's travel or range, at either end.
    pub overrange: bool,
    /// The display is frozen, so the value is not live.
    pub hold: bool,
    /// The gauge's battery is low.
    pub low_battery: bool,
    /// The gauge reports a fault of its own.
    pub fault: bool,
    /// A button on the gauge was pressed to send this value.
    pub button: bool,
}
