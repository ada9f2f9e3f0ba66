//! The version of the shop's tables.

/// The version of the tables that this program makes and needs.
pub const SCHEMA: i32 = 4;
