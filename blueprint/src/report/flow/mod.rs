//! Flow: from the readings of a spot to the figures of the port, and to the document.

mod impossible;
mod known;
mod leaks;
mod near_zero;
mod orifice;
mod parts;
mod repeats;
mod running;
mod through;
mod uneven;
mod unlike;
mod written;

pub(crate) use impossible::findings as impossible;
pub(crate) use known::section as known;
pub(crate) use leaks::remark as leak_remark;
pub(crate) use repeats::disagreeing;
pub(crate) use running::running;
pub(crate) use uneven::findings;
pub(crate) use unlike::findings as unlike_ports;
pub(crate) use written::{by_lift, remarks, section};
