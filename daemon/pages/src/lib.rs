//! The pages that a browser shows: documents in, HTML out.
//!
//! Every page is rendered whole, works without a mouse and without script, and sends plain forms.
//! This package knows no HTTP, no files and no job's record: whoever calls it has the documents.
//! Sentences and tables come from the words that the terminal prints as well.

pub mod address;
mod begin;
pub mod decide;
mod engine;
pub mod enter;
pub mod files;
pub mod form;
mod frame;
mod gauge;
mod gauge_words;
mod gauges;
pub mod guide;
mod history;
mod job;
mod jobs;
mod machine;
mod new_gauge;
mod readings;
mod record;
mod refused;
mod report;
mod sheets;
mod shop;
mod unpack;

pub use begin::{ConditionAsked, RouteAsked, RouteToBegin, begin, route_asked};
pub use engine::{EngineOf, EngineSheet, engine, sheet_filled, sheet_of};
pub use frame::{FormOutcome, PageFrame, PageSection};
pub use gauge::{LearningDirection, direction, gauge};
pub use gauges::gauges;
pub use history::{JobHistory, history};
pub use job::job;
pub use jobs::jobs;
pub use machine::machine;
pub use new_gauge::{NewGauge, new_gauge, nothing_found};
pub use readings::{BehindReading, ReadingsWanted, reading, readings};
pub use record::record;
pub use refused::refused;
pub use report::report;
pub use sheets::sheets;
pub use shop::shop;
pub use unpack::unpack;

/// A page, or why its template could not be written out (a fault of this program).
pub type Page = Result<String, askama::Error>;
