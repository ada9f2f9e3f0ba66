//! What kind of quantity a profile's gauge measures.

use benchhand_drivers::{Kind, Profile};

pub(crate) fn main_kind(profile: &Profile) -> Kind {
    profile
        .channels()
        .first()
        .map_or(Kind::Number, |channel| channel.kind)
}

pub(crate) fn kind_word(kind: Kind) -> &'static str {
    match kind {
        Kind::Length => "length",
        Kind::Volume => "volume",
        Kind::Mass => "mass",
        Kind::Pressure => "pressure",
        Kind::Flow => "flow",
        Kind::Temperature => "temperature",
        Kind::Angle => "angle",
        Kind::Humidity => "humidity",
        Kind::Number => "number",
    }
}
