//! What status words of gauges mean, where that is beyond doubt.

/// What a status word says of the value beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Meaning {
    /// The value rests.
    Stable,
    /// The value moves.
    Unstable,
    /// The gauge is beyond its range.
    Overrange,
    /// The display is held.
    Hold,
    /// The battery is low.
    LowBattery,
    /// The gauge does not work.
    Fault,
}

impl Meaning {
    /// A profile's word for it (`docs/profile.md`).
    pub(crate) fn word(self) -> &'static str {
        match self {
            Meaning::Stable => "stable",
            Meaning::Unstable => "unstable",
            Meaning::Overrange => "overrange",
            Meaning::Hold => "hold",
            Meaning::LowBattery => "low-battery",
            Meaning::Fault => "fault",
        }
    }

    /// Whether there is no value beside it.
    pub(crate) fn is_no_value(self) -> bool {
        matches!(self, Meaning::Overrange | Meaning::Fault)
    }
}

/// What a status word means.
pub(crate) fn meaning(word: &str) -> Option<Meaning> {
    Some(match word.to_ascii_uppercase().as_str() {
        "ST" | "STABLE" => Meaning::Stable,
        "US" | "UNSTABLE" | "UNST" => Meaning::Unstable,
        "OL" | "OVER" | "OVR" | "OFL" | "OVERFLOW" | "OVERRANGE" | "OVERLOAD" | "UL" | "UNDER" => {
            Meaning::Overrange
        }
        "HOLD" | "HLD" => Meaning::Hold,
        "LOBAT" | "LOWBAT" | "BATT" => Meaning::LowBattery,
        "ERR" | "ERROR" | "FAULT" => Meaning::Fault,
        word if word.len() >= 3 && word.chars().all(|c| c == '-') => Meaning::Overrange,
        _ => return None,
    })
}
