//! What status words of gauges mean, where that is beyond doubt.

use benchhand_drivers::profile::Saying;

/// Whether there is no value beside it.
pub(crate) fn is_no_value(saying: Saying) -> bool {
    matches!(saying, Saying::Overrange | Saying::Fault)
}

/// What a status word means.
pub(crate) fn meaning(word: &str) -> Option<Saying> {
    Some(match word.to_ascii_uppercase().as_str() {
        "ST" | "STABLE" => Saying::Stable,
        "US" | "UNSTABLE" | "UNST" => Saying::Unstable,
        "OL" | "OVER" | "OVR" | "OFL" | "OVERFLOW" | "OVERRANGE" | "OVERLOAD" | "UL" | "UNDER" => {
            Saying::Overrange
        }
        "HOLD" | "HLD" => Saying::Hold,
        "LOBAT" | "LOWBAT" | "BATT" => Saying::LowBattery,
        "ERR" | "ERROR" | "FAULT" => Saying::Fault,
        word if word.len() >= 3 && word.chars().all(|c| c == '-') => Saying::Overrange,
        _ => return None,
    })
}
