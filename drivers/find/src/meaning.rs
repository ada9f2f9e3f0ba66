//! The meanings of gauges' status words that are beyond doubt.

use benchhand_drivers::profile::StatusMeaning;

/// Whether a status with this meaning has no value beside it.
pub(crate) fn is_no_value(meaning: StatusMeaning) -> bool {
    matches!(meaning, StatusMeaning::Overrange | StatusMeaning::Fault)
}

/// The meaning of a status word.
pub(crate) fn meaning(word: &str) -> Option<StatusMeaning> {
    Some(match word.to_ascii_uppercase().as_str() {
        "ST" | "STABLE" => StatusMeaning::Stable,
        "US" | "UNSTABLE" | "UNST" => StatusMeaning::Unstable,
        "OL" | "OVER" | "OVR" | "OFL" | "OVERFLOW" | "OVERRANGE" | "OVERLOAD" | "UL" | "UNDER" => {
            StatusMeaning::Overrange
        }
        "HOLD" | "HLD" => StatusMeaning::Hold,
        "LOBAT" | "LOWBAT" | "BATT" => StatusMeaning::LowBattery,
        "ERR" | "ERROR" | "FAULT" => StatusMeaning::Fault,
        word if word.len() >= 3 && word.chars().all(|c| c == '-') => StatusMeaning::Overrange,
        _ => return None,
    })
}
