//! What leaves the bench on paper: documents in, HTML out that prints on A4 and Letter.
//!
//! A sheet is one file: its style and its drawings stand in it, nothing is loaded and nothing runs.
//! Templates escape every text, so that a name with markup in it stays a name. Every figure stands
//! in an element with `data-figure`, by which `benchhand_words::sheet` reads it again. This package
//! knows no HTTP, no files and no job's record. Its caller brings the documents.

mod build;
mod facts;
mod flow;
mod frame;
mod labels;
mod order;
mod rests_on;
mod sizes;
mod verdict;
mod work;

pub use build::build;
pub use facts::{GaugeUsed, MarkKind, SheetFacts, ShopMark, ShopShown};
pub use flow::flow;
pub use labels::labels;
pub use order::order;
pub use work::work;

/// A sheet, or why its template could not be written out (a fault of this program).
pub type Sheet = Result<String, askama::Error>;

/// The kinds of sheets, by the names that a request uses, each with its title.
pub const SHEETS: [(&str, &str); 5] = [
    ("build", "Build sheet"),
    ("flow", "Flow sheet"),
    ("order", "Piston order"),
    ("work", "Work order"),
    ("labels", "Labels"),
];
