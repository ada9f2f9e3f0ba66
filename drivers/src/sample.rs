//! One decoded value of one gauge channel at one moment.
//!
//! A sample does not know what was measured, nor whether it will be used.

use crate::unit::Unit;

/// One decoded value of one channel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// Microseconds since the stream began, at which the frame's last byte
    /// arrived, as far as that can be known.
    pub at_us: u64,
    /// Which of the profile's channels, counted from 0 in the order the profile names them.
    pub channel: u8,
    /// The number as the gauge sent it, in `unit`; `None` where it sent a status instead.
    pub value: Option<f64>,
    /// The unit of `value` and `resolution`.
    pub unit: Unit,
    /// The size of one count, in `unit`; always above 0.
    pub resolution: f64,
    /// What the gauge said of itself along with the value.
    pub status: Status,
}

/// What a gauge says of itself. All `false` and `None` where it says nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct Status {
    /// The gauge's own stable flag, where it has one.
    pub stable: Option<bool>,
    /// Beyond the gauge's travel or range, at either end.
    pub overrange: bool,
    /// The display is frozen: the value is not live.
    pub hold: bool,
    /// The gauge's battery is low.
    pub low_battery: bool,
    /// The gauge reports a fault of its own.
    pub fault: bool,
    /// This value was sent because a button on the gauge was pressed.
    pub button: bool,
}
