//! What an unknown gauge says: from captured bytes to a line setting, a frame, a field, a unit,
//! and a profile that the ordinary driver then uses.
//!
//! Everything but [`search()`] is pure analysis of bytes and times. A unit that the bytes do not
//! tell is never guessed. Every profile that is proposed was loaded and run over the capture by
//! the ordinary driver first.

mod analysis;
mod ask;
mod binary;
mod candidate;
mod choose;
mod classes;
mod doubts;
mod field;
mod front;
mod heard;
mod known;
mod meaning;
mod number;
mod place;
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
pub use candidate::{Candidate, SURE};
pub use heard::{Asked, Heard};
pub use search::{Open, Options, Progress, QUESTIONS, SPEEDS, SearchError, search};
