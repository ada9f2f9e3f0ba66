//! Facts are kept for good, and folded into what a job amounts to.
//!
//! The store knows files, lines and hashes. It deliberately knows nothing of gauges' bytes, of
//! capture, of figures, or of who asks.

pub mod fact;
pub mod fold;
pub mod misfit;
pub mod view;
