//! Words for people: documents in, sentences and rows out.
//!
//! The terminal, the page and the sheets say the same things in the same words, and take them from
//! here. This package knows no terminal, no HTTP and no files.

pub mod chart;
pub mod conditions;
mod copied;
pub mod decide;
pub mod digits;
mod flowed;
pub mod full;
pub mod lifts;
pub mod ordered;
pub mod over_lift;
pub mod record;
pub mod rows;
mod section;
pub mod sheet;
pub mod shop;
pub mod short;
pub mod spoken;
mod spots;
pub mod stated;
mod times;
pub mod told;
mod visible;

pub use copied::copy_of;
pub use flowed::flowed;
pub use section::cylinder_section;
pub use short::ShortReport;
pub use spots::{not_measured, said as spot_said};

pub use times::{day_and_minute, local_times};
pub use visible::visible;
