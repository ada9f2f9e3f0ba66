//! Units as symbols, and values with a unit read from text.
//!
//! Every kind of quantity has one base unit in which the formulas calculate: mm, cc, g, Pa, L/min,
//! degC and so on. The table of units is a package of its own, since gauges send the same ones. This
//! module knows nothing of what was measured, nor of uncertainty.

// What comes from outside must not end the program: nothing here may panic.
#![cfg_attr(
    not(test),
    deny(
        clippy::arithmetic_side_effects,
        clippy::expect_used,
        clippy::indexing_slicing,
        clippy::panic,
        clippy::string_slice,
        clippy::unreachable,
        clippy::unwrap_used
    )
)]

mod comma;
mod quantity;

pub use benchhand_units::{
    PA_PER_INCH_MERCURY, PA_PER_INCH_WATER, QuantityKind, Unit, UnknownUnit,
};
pub use comma::{CommaDoubt, listed, parted, with_decimal_points};
pub(crate) use comma::{delimiter, pointed};
pub use quantity::{Quantity, QuantityError, number};
pub(crate) use quantity::{parse_number, split_number, written_step};
