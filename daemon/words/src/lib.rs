//! Words for people: documents in, sentences and rows out.
//!
//! The terminal, the page and the sheets say the same things in the same words, and take them from
//! here. This package knows no terminal, no HTTP and no files.

pub mod digits;
mod rows;
mod section;
mod short;
mod stated;
mod times;

pub use section::cylinder_section;
pub use short::{not_measured, short_report};
pub use times::day_and_minute;
