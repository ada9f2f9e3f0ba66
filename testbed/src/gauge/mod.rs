//! Virtual gauges at the far end of a line, whose true values are known.
//!
//! This module knows lines and frames. It knows nothing of profiles or of what the bytes mean.

pub mod encode;
mod uart;
#[cfg(unix)]
mod virtual_gauge;

pub use uart::garbled;
#[cfg(unix)]
pub use virtual_gauge::{GaugeFrames, VirtualGauge};
