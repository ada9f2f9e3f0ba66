//! Gauges at the far end of a line, with truth behind them.
//!
//! Knows lines and frames; nothing of profiles or of what the bytes mean.

pub mod encode;
mod uart;
#[cfg(unix)]
mod virtual_gauge;

pub use uart::garbled;
#[cfg(unix)]
pub use virtual_gauge::{GaugeFrames, VirtualGauge};
