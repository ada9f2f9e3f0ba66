//! A profile that may fit an unknown gauge, and how sure it is.

use benchhand_drivers::profile::TalkMode;
use benchhand_drivers::serial_settings::SerialSettings;
use benchhand_drivers::unit::Unit;

/// A profile that may fit the heard bytes.
#[derive(Debug, Clone)]
pub struct ProfileCandidate {
    /// The settings of the gauge's line.
    pub line: SerialSettings,
    /// How the gauge sends.
    pub mode: TalkMode,
    /// The unit, if the bytes tell it.
    pub unit: Option<Unit>,
    /// How sure the candidate is, from 0 to 1. It is 0.8 or more only if the bytes allow no other
    /// line settings and no other field.
    pub confidence: f64,
    /// The text of the profile. Its unit is `1` if the bytes tell none.
    pub profile: String,
    /// The last value of the field.
    pub last_value: Option<f64>,
    /// The reasons for and against the candidate.
    pub reasons: Vec<String>,
}

/// A candidate with at least this confidence counts as sure.
pub const SURE: f64 = 0.8;
