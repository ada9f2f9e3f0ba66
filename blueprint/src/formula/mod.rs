//! The formulas, each written once for plain numbers and for estimates.
//!
//! Sources and signs: `docs/formulas.md`. Lengths are in mm, areas in mm², volumes in cc, pressures
//! in Pa, temperatures in °C unless a name says otherwise. A formula does not know where its
//! inputs come from.

pub mod air;
pub mod bore;
pub mod compression;
pub mod crank;
pub mod flow;
pub mod liquid;
pub mod manometer;
pub mod mill;
pub mod volume;
