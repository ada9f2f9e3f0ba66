//! A job in one file, to be put away or taken to another data folder: a tar with a manifest first.
//!
//! An archive is believed as a whole or not at all. Everything in it is checked in memory before
//! the first byte is written. How an archive travels, and who asks for one, is not known here.

pub(crate) mod copy;
pub mod fault;
pub(crate) mod manifest;
pub(crate) mod pack;
pub(crate) mod putting;
pub(crate) mod read;
mod several;
pub(crate) mod unpack;
