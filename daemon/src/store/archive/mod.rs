//! A job in one file, to be put away or taken to another data folder: a tar with a manifest first.
//!
//! An archive is believed as a whole or not at all. Everything in it is checked before the first byte
//! is written. It is written and read entry by entry: of a job only its record is held as a whole, and
//! never its recorded streams. How an archive travels, and who asks for one, is not known here.

pub(crate) mod copy;
pub(crate) mod entries;
pub mod fault;
pub(crate) mod manifest;
pub(crate) mod pack;
pub(crate) mod putting;
pub(crate) mod read;
mod several;
pub(crate) mod unpack;
