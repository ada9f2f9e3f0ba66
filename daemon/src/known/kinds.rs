//! The kind of quantity that a profile's gauge measures, and what follows of it.

use benchhand_drivers::{Profile, QuantityKind};

pub(crate) fn main_kind(profile: &Profile) -> QuantityKind {
    profile
        .channels()
        .first()
        .map_or(QuantityKind::Number, |channel| channel.kind)
}

/// Whether values of this kind count from a zero that is set here: lengths do. Deliveries and weights
/// are differences, the offset of a manometer is a correction, and the others have a zero of their own.
pub(crate) fn counts_from_a_zero(kind: QuantityKind) -> bool {
    matches!(kind, QuantityKind::Length | QuantityKind::Number)
}
