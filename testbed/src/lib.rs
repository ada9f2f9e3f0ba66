//! Helpers that only tests need: disks that fail on purpose, streams that are damaged on purpose,
//! gauges at the far end of a pseudo-terminal, kept inputs of fuzzing, a database server of a test's own, and repeatable
//! random numbers.
//!
//! This is a separate package, so nothing of it is shipped. It knows the seams (the file layer,
//! the recorded stream, the line). It knows nothing of jobs or capture.

pub mod corpus;
pub mod disk;
pub mod gauge;
pub mod needed;
#[cfg(target_os = "linux")]
pub mod postgres;
mod seeded;
pub mod stream;

pub use seeded::SplitMix64;
