//! The formulas, each written once for plain numbers and for estimates.
//!
//! Sources and signs: `docs/formulas.md`. Lengths are in mm, volumes in cc. A formula does not
//! know where its inputs come from.

pub mod compression;
pub mod volume;
