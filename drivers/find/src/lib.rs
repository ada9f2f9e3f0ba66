//! Finds a profile for an unknown gauge. It goes from captured bytes to line settings, a frame, a
//! field, a unit, and a profile that the ordinary driver can use.
//!
//! Everything except [`search()`] is pure analysis of bytes and times. If the bytes do not tell
//! the unit, it is never guessed. The ordinary driver has loaded each proposed profile and decoded
//! the captured bytes with it.

mod analysis;
mod ask;
mod binary;
mod candidate;
mod choose;
mod classes;
mod field;
mod front;
mod heard;
mod known;
mod meaning;
mod number;
mod objections;
mod place;
mod questions;
mod records;
mod registers;
mod search;
mod series;
mod seven;
mod shape;
mod speeds;
mod sums;
mod text;
mod tokens;
mod trial;
mod units;
mod write;

pub use analysis::analyse;
pub use candidate::{ProfileCandidate, SURE};
pub use heard::{AskedQuestion, HeardBytes};
pub use questions::QUESTIONS;
pub use search::{LineOpener, SPEEDS, SearchError, SearchOptions, SearchProgress, search};
