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
