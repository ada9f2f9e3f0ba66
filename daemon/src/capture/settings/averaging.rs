//! The parameters of the average mode.

use serde::{Deserialize, Serialize};

/// Average: manometers under flow.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct AverageSettings {
    /// The main channel: it decides when a value is taken.
    pub channel: u8,
    /// Channels averaged beside the main one, over the same window.
    pub along: Vec<u8>,
    /// Length of the window, s. 15: some seven times the 2 s over which a surge at 20 Hz stays
    /// correlated when neighbouring samples have a correlation of 0.95.
    pub window_s: f64,
    /// A stream that ends early still gives a reading from at least this much, s.
    pub least_s: f64,
    /// Flow is on when the main channel is at least this many counts from zero.
    pub least_counts: f64,
    /// … and when it, or one that goes along, shows at least this pressure, Pa. 250: no bench tests
    /// with 1 in of water, and a manometer's zero drifts by less. Common practice, no source.
    pub least_pa: f64,
    /// The level has changed when thirds of the window differ by this share of the mean …
    pub shift_share: f64,
    /// … and by this many of their own standard errors: the window begins anew.
    pub shift_errors: f64,
    /// The first second is dropped when it is off the level after it by this share of the mean (and
    /// by `shift_errors` of a second's own spread): the level was still being set.
    pub begin_share: f64,
    /// A drift is told when it is this many standard errors from none …
    pub drift_errors: f64,
    /// … and at least this share of the mean over the window.
    pub drift_share: f64,
    /// After a reading, the next reading needs a change of at least this share of the mean.
    pub depart_share: f64,
    /// … or a change of a channel's ratio to the main one by this share, since a valve near the
    /// port's limit changes the flow by little. 0.025: less than the flow repeats.
    pub ratio_share: f64,
    /// A level does not hold whose mean lies further from where it has come to than this share: the
    /// mean waits …
    pub hold_share: f64,
    /// … for so long after the first window, s; …
    pub longest_wait_s: f64,
    /// … then a person is asked about more than this share.
    pub ask_share: f64,
    /// A person is told once that nothing has changed since the last reading, after this, s.
    pub remind_s: f64,
    /// A person is asked about a spread of more than this share of the mean: the flow pulses.
    pub pulsing_share: f64,
    /// Without samples for this long the window begins anew, s (at least four periods).
    pub gap_s: f64,
}

impl Default for AverageSettings {
    fn default() -> Self {
        Self {
            channel: 0,
            along: Vec::new(),
            window_s: 15.0,
            least_s: 3.0,
            least_counts: 30.0,
            shift_share: 0.05,
            shift_errors: 4.0,
            begin_share: 0.005,
            drift_errors: 2.5,
            drift_share: 0.005,
            depart_share: 0.1,
            ratio_share: 0.025,
            least_pa: 250.0,
            hold_share: 0.006,
            longest_wait_s: 45.0,
            ask_share: 0.01,
            remind_s: 45.0,
            pulsing_share: 0.08,
            gap_s: 1.0,
        }
    }
}
