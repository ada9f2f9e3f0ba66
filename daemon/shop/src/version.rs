//! The version of the shop's tables.

/// The version of the tables that this program makes.
pub const SCHEMA: i32 = 23;

/// The oldest version with which lines can be exchanged.
pub(crate) const NEEDED: i32 = 3;

/// The version from which on stations tell what goes on at them.
pub(crate) const WITH_LIVE: i32 = 20;

/// The version from which on stations ask each other about recorded streams, and say what of them.
pub(crate) const WITH_PIECES: i32 = 23;
