//! What an unknown gauge may be, and how sure that is.

use benchhand_drivers::line::Line;
use benchhand_drivers::profile::Mode;
use benchhand_drivers::unit::Unit;

/// What the bytes may be.
#[derive(Debug, Clone)]
pub struct Candidate {
    /// How the gauge sets its line.
    pub line: Line,
    /// How it sends.
    pub mode: Mode,
    /// The unit, where the bytes tell it.
    pub unit: Option<Unit>,
    /// How sure this is, from 0 to 1. 0.8 and above is only said where the bytes leave no other
    /// reading of the line or the field.
    pub confidence: f64,
    /// A profile that reads it; the unit `1` stands where none was told.
    pub profile: String,
    /// The last value of the field.
    pub last_value: Option<f64>,
    /// What speaks for it and against it, in words.
    pub reasons: Vec<String>,
}

/// From this confidence on a finding counts as sure.
pub const SURE: f64 = 0.8;
