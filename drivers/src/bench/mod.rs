//! A virtual bench: gauges at the far end of a line, from recorded streams or with truth behind
//! them.
//!
//! Knows streams, lines and clocks; nothing of profiles or of what the bytes mean.

pub mod encode;
#[cfg(unix)]
mod gauge;
mod play;
mod uart;

pub use crate::seeded::SplitMix64;
#[cfg(unix)]
pub use gauge::{Say, VirtualGauge};
pub use play::{Pace, PlayError, play_into};
pub use uart::garbled;
