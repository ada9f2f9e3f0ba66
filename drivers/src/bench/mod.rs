//! A virtual bench: gauges at the far end of a line, from recorded streams.
//!
//! Knows streams, lines and clocks; nothing of profiles or of what the bytes mean.

mod play;

pub use play::{Pace, PlayError, play_into};
