//! Samples become readings at their spot, kept for good; the local API.

pub mod clock;
pub mod files;
pub mod store;
