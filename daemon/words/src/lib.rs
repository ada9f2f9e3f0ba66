//! Words for people: documents in, sentences and rows out.
//!
//! The terminal, the page and the sheets say the same things in the same words, and take them from
//! here. This package knows no terminal, no HTTP and no files.

pub mod digits;
pub mod rows;
mod short;
pub mod stated;

pub use short::{About, next_steps, short_report};
