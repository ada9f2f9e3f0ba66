//! Quantities as requests state them: a number with a unit, as text.

use benchhand_blueprint::Quantity;
use benchhand_blueprint::units::QuantityKind;
use benchhand_wire::{Reason, Refusal};

/// The refusal of a value in a request that cannot be read.
pub(crate) fn bad(error: impl std::fmt::Display) -> Refusal {
    Refusal::new(Reason::BadInput, error.to_string())
}

/// A number with a unit of the right kind.
pub(crate) fn quantity(text: &str, kind: QuantityKind) -> Result<Quantity, Refusal> {
    text.parse::<Quantity>()
        .and_then(|q| q.expect(kind))
        .map_err(bad)
}
