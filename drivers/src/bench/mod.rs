//! A virtual bench: recorded streams played into the far end of a line, as a gauge would.
//!
//! Knows streams, lines and clocks; nothing of profiles or of what the bytes mean.

pub mod encode;
mod play;
mod uart;

pub use crate::seeded::SplitMix64;
pub use play::{Pace, PlayError, play_into};
pub use uart::garbled;
