//! Every parameter of capture, in one place, with its default and the reason for it.
//!
//! Lengths are in millimetres, volumes in cubic centimetres, masses in grams, times in seconds.
//! They are converted to the gauge's own unit when its first sample arrives. A route's TOML may
//! override any of them; an unknown key is refused.

use benchhand_drivers::{QuantityKind, Unit};
use serde::{Deserialize, Serialize};

use super::CaptureMode;
pub(crate) use super::scale::per_base;

mod averaging;

pub use averaging::AverageSettings;

/// The settings of one mode.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "mode", rename_all = "lowercase")]
pub enum CaptureSettings {
    /// See [`SettleSettings`].
    Settle(SettleSettings),
    /// See [`PourSettings`].
    Pour(PourSettings),
    /// See [`ExtremeSettings`].
    Extreme(ExtremeSettings),
    /// See [`AverageSettings`].
    Average(AverageSettings),
    /// See [`PressSettings`].
    Press(PressSettings),
}

impl CaptureSettings {
    /// The defaults of a mode.
    pub fn of(mode: CaptureMode) -> Self {
        match mode {
            CaptureMode::Settle => Self::Settle(SettleSettings::default()),
            CaptureMode::Pour => Self::Pour(PourSettings::default()),
            CaptureMode::Extreme => Self::Extreme(ExtremeSettings::default()),
            CaptureMode::Average => Self::Average(AverageSettings::default()),
            CaptureMode::Press => Self::Press(PressSettings::default()),
        }
    }

    /// The mode these are for.
    pub fn mode(&self) -> CaptureMode {
        match self {
            Self::Settle(_) => CaptureMode::Settle,
            Self::Pour(_) => CaptureMode::Pour,
            Self::Extreme(_) => CaptureMode::Extreme,
            Self::Average(_) => CaptureMode::Average,
            Self::Press(_) => CaptureMode::Press,
        }
    }
}

/// Settle: depth, height, weight, deck at the thrust sides.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct SettleSettings {
    /// Which channel of the gauge.
    pub channel: u8,
    /// Least length of the window that a value is taken from, s. 2.1: nearly a whole swing of a
    /// slowly ringing gauge (2.1 s at 3 rad/s), and short enough to take a value within 2.5 s of
    /// true rest.
    pub window_s: f64,
    /// Least number of samples in the window. 8: the range of fewer says little.
    pub window_n: usize,
    /// A gauge whose noise is not known yet may be as noisy as this, mm (g on a balance).
    pub noisiest_mm: f64,
    /// The longest window considered, s: a creeping plunger is followed for so long.
    pub longest_s: f64,
    /// A value is taken when the chance of being off by more than the two below has fallen to this:
    /// 0.013. That is the chance at the earliest moment; over all settles far fewer are off.
    pub risk: f64,
    /// What a reading may be off by, counts …
    pub off_counts: f64,
    /// … or σ̂, whichever is larger.
    pub off_sigmas: f64,
    /// A departure is at least this many counts away from the last rest …
    pub depart_counts: f64,
    /// … and at least this many σ̂ …
    pub depart_sigmas: f64,
    /// … and at least this far, mm (of a length) …
    pub depart_mm: f64,
    /// … for at least this long, s. 0.7: a knock on the bench dies within half a second.
    pub depart_s: f64,
    /// A gauge that is back at the same value sooner than this was knocked, not set down anew, s.
    pub knock_s: f64,
    /// What the gauge shows when its plunger hangs free, in the gauge's unit, learned at zeroing.
    /// `None`: not known, and no value is refused as hanging.
    pub hanging: Option<f64>,
    /// How near to `hanging` a value counts as hanging, mm.
    pub hanging_within_mm: f64,
    /// The chance that a plunger or its pad creeps at all …
    pub creep_chance: f64,
    /// … after a movement that took this long to die, s. A movement that stops at once is seldom
    /// followed by creep.
    pub creep_slow_s: f64,
    /// Time constants considered for creep, s. Slower creep is drift and cannot be told from it.
    pub creep_s: Vec<f64>,
    /// Sizes considered for creep at its beginning, in σ̂. Creep of less than 6 does no harm.
    pub creep_sigmas: Vec<f64>,
    /// Without samples for this long the window begins anew, s (at least four periods).
    pub gap_s: f64,
}

impl Default for SettleSettings {
    fn default() -> Self {
        Self {
            channel: 0,
            window_s: 2.1,
            window_n: 8,
            noisiest_mm: 0.01,
            longest_s: 6.0,
            risk: 0.013,
            off_counts: 1.0,
            off_sigmas: 1.33,
            depart_counts: 2.5,
            depart_sigmas: 5.0,
            depart_mm: 0.0,
            depart_s: 0.7,
            knock_s: 2.0,
            hanging: None,
            hanging_within_mm: 0.05,
            creep_chance: 0.4,
            creep_slow_s: 0.6,
            creep_s: vec![0.8, 1.5, 2.5],
            creep_sigmas: vec![6.0, 12.0, 24.0],
            gap_s: 1.5,
        }
    }
}

/// What a pour is told of the way in which its burette's numbers run while liquid leaves it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum PourCounts {
    /// Learned from the first movement, which is taken to be a delivery. For recorded streams only:
    /// on a route a person is asked.
    #[default]
    Auto,
    /// Not known: a person is asked about the first movement, and everything that came since waits.
    Unknown,
    /// Up: 0 is full.
    Up,
    /// Down: 0 is empty.
    Down,
}

/// What measures the pour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum PourKind {
    /// A burette's level.
    #[default]
    Burette,
    /// A balance under the burette or under the vessel.
    Balance,
}

/// Pour: burette, balance.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct PourSettings {
    /// Which channel of the gauge.
    pub channel: u8,
    /// Burette or balance. A gauge that sends a mass is a balance whatever this says.
    pub kind: PourKind,
    /// Which way the numbers run while liquid leaves.
    pub counts: PourCounts,
    /// The burette's capacity, cc. 100: the largest nominal size of ISO 385 (from memory).
    pub capacity_cc: f64,
    /// The burette is nearly empty within this of its end, cc. A refill that begins there means
    /// that the pour goes on.
    pub near_end_cc: f64,
    /// Window for stillness, s. 1.2: shorter than a pause between two drops may be, so a value is
    /// held between drops and revised after the next; long enough to average noise.
    pub window_s: f64,
    /// Least number of samples in the window.
    pub window_n: usize,
    /// A gauge whose noise is not known yet may be as noisy as this, cc.
    pub noisiest_cc: f64,
    /// A smaller amount is no pour, cc.
    pub least_cc: f64,
    /// Running back by more than this is a refill, cc. A smaller run is a bubble or a touched tip.
    pub least_refill_cc: f64,
    /// A held value is told anew when it has changed by this much, cc, and by most of a count.
    pub revise_cc: f64,
    /// A pour is final after this long at rest, s. 45: glass drains for up to half a minute.
    pub final_s: f64,
    /// The most that glass still drains after fast delivery, cc.
    pub drain_cc: f64,
    /// The size of a drop, cc. Drops are looked for within a rest.
    pub drop_cc: f64,
    /// Time constants considered for draining, s.
    pub drain_s: Vec<f64>,
    /// An even run of more than this at rest is a leak, cc/min.
    pub leak_cc_per_min: f64,
    /// Faster than any tap, cc/s (g/s on a balance): a lifted vessel, a hand, a key.
    pub fastest_cc_per_s: f64,
    /// On a balance: a vessel that comes back within this of the rest before is the same vessel, g.
    pub same_g: f64,
    /// No samples for this long is a gap, s (at least four periods).
    pub gap_s: f64,
}

impl Default for PourSettings {
    fn default() -> Self {
        Self {
            channel: 0,
            kind: PourKind::Burette,
            counts: PourCounts::Auto,
            capacity_cc: 100.0,
            near_end_cc: 2.5,
            window_s: 1.2,
            window_n: 4,
            noisiest_cc: 0.05,
            least_cc: 0.5,
            least_refill_cc: 1.0,
            revise_cc: 0.02,
            final_s: 45.0,
            drain_cc: 0.06,
            drop_cc: 0.05,
            drain_s: vec![5.0, 8.0, 12.0],
            leak_cc_per_min: 0.1,
            fastest_cc_per_s: 20.0,
            same_g: 0.3,
            gap_s: 2.0,
        }
    }
}

/// Which turning point is sought.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum TurningPoint {
    /// The highest value: a plunger on a piston crown.
    #[default]
    High,
    /// The lowest value: a rocked bore gauge, or a gauge that counts the other way.
    Low,
}

/// Extreme: deck at top dead centre on the pin axis, or a rocked bore gauge.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct ExtremeSettings {
    /// Which channel of the gauge.
    pub channel: u8,
    /// The highest or the lowest value.
    pub turn: TurningPoint,
    /// How far the value must fall on both sides, mm. 0.25 on a deck is about 5° of crank on each
    /// side; a rocked bore gauge needs less (0.05).
    pub least_fall_mm: f64,
    /// … and at least this many σ̂.
    pub least_fall_sigmas: f64,
    /// How many passes must agree. 2: one from each side.
    pub passes: usize,
    /// … within this many counts …
    pub agree_counts: f64,
    /// … and this many σ̂, whichever is larger.
    pub agree_sigmas: f64,
    /// … but at least this, mm: the samples of a slow gauge miss the top by as much.
    pub agree_mm: f64,
    /// Samples needed on each side of the turn within `least_fall_mm`.
    pub near_each_side: usize,
    /// A faster step between two samples is a gauge that was moved, mm/s.
    pub fastest_mm_per_s: f64,
    /// One step from rest to rest of at least this is a gauge that was moved, too, mm.
    pub least_step_mm: f64,
    /// Between two samples near the turn the piston moves by some thousandths, and no hand does so
    /// evenly: the evenness of a turn is judged by what lies between two samples, up to this, mm.
    pub finest_mm: f64,
    /// The least time between the two falls of a turn, s. 0.6: a bump dies in 0.5.
    pub least_turn_s: f64,
    /// Passes that agree with each other but differ from the taken value by this are at another
    /// place, mm.
    pub other_place_mm: f64,
    /// Without samples for this long the passes are forgotten, s (at least four periods).
    pub gap_s: f64,
}

impl Default for ExtremeSettings {
    fn default() -> Self {
        Self {
            channel: 0,
            turn: TurningPoint::High,
            least_fall_mm: 0.25,
            least_fall_sigmas: 4.0,
            passes: 2,
            agree_counts: 1.5,
            agree_sigmas: 4.0,
            agree_mm: 0.0025,
            near_each_side: 3,
            fastest_mm_per_s: 25.0,
            least_step_mm: 0.5,
            finest_mm: 0.005,
            least_turn_s: 0.6,
            other_place_mm: 0.1,
            gap_s: 2.5,
        }
    }
}

/// Press: gauges with a button, and instruments read by eye.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct PressSettings {
    /// Which channel of the gauge.
    pub channel: u8,
    /// Two presses within this with the same value are one press, s.
    pub bounce_s: f64,
    /// [`CaptureControl::Take`](super::CaptureControl::Take) takes no value older than this, s.
    pub fresh_s: f64,
}

impl Default for PressSettings {
    fn default() -> Self {
        Self {
            channel: 0,
            bounce_s: 0.25,
            fresh_s: 2.0,
        }
    }
}

impl PourSettings {
    /// Whether a gauge that sends this unit is treated as a balance.
    pub(crate) fn is_balance(&self, unit: Unit) -> bool {
        self.kind == PourKind::Balance || unit.kind() == QuantityKind::Mass
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_route_overrides_what_it_names_and_keeps_the_rest() {
        let text = "mode = \"extreme\"\nturn = \"low\"\nleast_fall_mm = 0.05\n";
        let settings: CaptureSettings = toml::from_str(text).unwrap();
        let CaptureSettings::Extreme(extreme) = settings else {
            panic!("wrong mode")
        };
        assert_eq!(extreme.turn, TurningPoint::Low);
        assert_eq!(extreme.least_fall_mm, 0.05);
        assert_eq!(extreme.passes, ExtremeSettings::default().passes);
    }

    #[test]
    fn a_misspelt_setting_is_refused() {
        assert!(toml::from_str::<CaptureSettings>("mode = \"settle\"\nwindow = 2.0\n").is_err());
    }
}
