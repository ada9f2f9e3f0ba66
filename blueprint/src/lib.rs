//! An engine's dimensions and readings become figures with uncertainty.
//!
//! Pure: text in, figures out. This package knows no files, no clocks, no gauges' bytes and no
//! storage; whoever calls it reads the files and keeps the readings.

pub mod answers;
pub mod check;
pub mod decide;
pub mod engine;
pub mod engine_figures;
pub mod figure;
pub mod formula;
pub mod known_word;
mod most_told;
mod named;
pub mod readings;
pub mod report;
// The text of a spot comes from outside and must not end the program.
#[cfg_attr(
    not(test),
    deny(
        clippy::arithmetic_side_effects,
        clippy::expect_used,
        clippy::indexing_slicing,
        clippy::panic,
        clippy::string_slice,
        clippy::unreachable,
        clippy::unwrap_used
    )
)]
pub mod spot;
pub mod stats;
pub mod units;

pub use engine::Engine;
pub use figure::{Estimate, Figure};
pub use most_told::MOST_TOLD;
pub use readings::Reading;
pub use report::{Report, ReportError, ReportInputs, report};

pub use spot::Spot;
pub use units::{Quantity, Unit};
