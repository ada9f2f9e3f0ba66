//! (opening follows)

pub mod capture;
pub mod synth;
