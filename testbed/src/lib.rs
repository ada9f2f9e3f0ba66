//! What only tests need: disks that fail on purpose, streams that are damaged on purpose, gauges at
//! the far end of a pseudo-terminal, and chance that can be repeated.
//!
//! A package of its own, so that nothing of it is shipped. It knows the seams (the file layer, the
//! recorded stream, the line) and nothing of what is behind them: no jobs, no capture.

pub mod disk;
pub mod gauge;
mod seeded;
pub mod stream;

pub use seeded::SplitMix64;
