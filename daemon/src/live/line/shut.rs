//! Why a line cannot be opened: as the reason of a refusal, and in words.

use benchhand_drivers::transport::OpenError;
use benchhand_wire::Reason;

/// Absent, busy and forbidden ports are refused for different reasons.
pub(super) fn reason_of(error: &OpenError) -> Reason {
    match error {
        OpenError::Busy { .. } => Reason::PortBusy,
        OpenError::Forbidden { .. } => Reason::PortForbidden,
        OpenError::Absent { .. } => Reason::PortAbsent,
        OpenError::Ambiguous { .. } => Reason::Conflict,
        OpenError::NotAPort { .. } | OpenError::Settings { .. } => Reason::BadInput,
        _ => Reason::Unavailable,
    }
}

/// Why a port cannot be opened and what to do. A person knows the gauge by its name, not by its
/// port's path.
pub(super) fn without_path(error: &OpenError) -> String {
    if let OpenError::Absent { .. } = error {
        return "no such port; plug it in, it is looked for".to_owned();
    }
    let why = error.to_string();
    why.split_once(": ")
        .map(|(_, why)| why.to_owned())
        .unwrap_or(why)
}

/// Why a gauge is gone. What the system says of an adapter that was pulled out, such as a broken pipe,
/// tells a person at the bench nothing.
pub(super) fn why_gone(reason: &str) -> &str {
    const PULLED_OUT: [&str; 7] = [
        "os error",
        "broken pipe",
        "input/output",
        "no such",
        "not configured",
        "not functioning",
        "the port ended",
    ];
    let said = reason.to_ascii_lowercase();
    match PULLED_OUT.iter().any(|one| said.contains(one)) {
        true => "its cable or plug",
        false => reason,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gauge_that_was_pulled_out_is_told_in_plain_words() {
        for said in [
            "Broken pipe",
            "Input/output error (os error 5)",
            "No such device",
            "the port ended",
        ] {
            assert_eq!(why_gone(said), "its cable or plug", "{said}");
        }
        let ended = "the recorded stream has ended";
        assert_eq!(why_gone(ended), ended);
    }
}
