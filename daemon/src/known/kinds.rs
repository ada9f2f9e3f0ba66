//! What kind of quantity a profile's gauge measures.

use benchhand_drivers::{Kind, Profile};

pub(crate) fn main_kind(profile: &Profile) -> Kind {
    profile
        .channels()
        .first()
        .map_or(Kind::Number, |channel| channel.kind)
}
