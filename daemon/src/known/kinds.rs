//! The kind of quantity that a profile's gauge measures.

use benchhand_drivers::{Profile, QuantityKind};

pub(crate) fn main_kind(profile: &Profile) -> QuantityKind {
    profile
        .channels()
        .first()
        .map_or(QuantityKind::Number, |channel| channel.kind)
}
