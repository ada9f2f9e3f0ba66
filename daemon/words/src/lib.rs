//! Words for people: documents in, sentences and rows out.
//!
//! The terminal, the page and the sheets say the same things in the same words, and take them from
//! here. This package knows no terminal, no HTTP and no files.

pub mod chart;
pub mod decide;
pub mod digits;
pub mod full;
mod rows;
mod section;
pub mod short;
pub mod spoken;
mod stated;
mod times;
pub mod told;
mod visible;

pub use section::cylinder_section;
pub use short::{ShortReport, not_measured};

pub use times::day_and_minute;
pub use visible::visible;
