//! Charts as SVG: drawn once, the same on the page, in sheets and over the API.
//!
//! Each is read without colour: shapes, dashes and words tell one thing from another. Each has a
//! title and a description in words. No font of the system is asked for, nothing is loaded.

mod cylinders;
mod deck;
mod drawing;
mod flow;
mod plot;
mod scatter;
mod shape;
mod trace;

use benchhand_blueprint::report::Report;

pub use scatter::{Repeat, scatter};
pub use trace::{Traced, trace};

/// A chart.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chart {
    /// What it shows.
    pub kind: ChartKind,
    /// Its title.
    pub title: String,
    /// What it shows, in a sentence or two with the numbers.
    pub description: String,
    /// The drawing, an element `svg`. Every text in it is escaped.
    pub svg: String,
}

/// What a chart shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ChartKind {
    /// Chambers by cylinder, against their average and the spread that is allowed.
    Chambers,
    /// Compression by cylinder, against its average, the target and the spread that is allowed.
    Compression,
    /// Deck clearance by cylinder, with its points.
    Deck,
    /// Flow over lift, of the stage before too.
    Flow,
    /// A gauge's repeats over time.
    Scatter,
    /// What a gauge sent about the moment of a reading.
    Trace,
}

impl ChartKind {
    /// Those of a job; a trace belongs to a reading.
    pub const ALL: [ChartKind; 5] = [
        ChartKind::Chambers,
        ChartKind::Compression,
        ChartKind::Deck,
        ChartKind::Flow,
        ChartKind::Scatter,
    ];

    /// Its name in a request.
    pub fn name(self) -> &'static str {
        match self {
            ChartKind::Chambers => "chambers",
            ChartKind::Compression => "compression",
            ChartKind::Deck => "deck",
            ChartKind::Flow => "flow",
            ChartKind::Scatter => "scatter",
            ChartKind::Trace => "trace",
        }
    }
}

/// A chart of one kind of a report; `None` where nothing of it was measured, and for
/// scatter and traces, which no report has. `before` is the report of the stage before.
pub fn of_report(kind: ChartKind, report: &Report, before: Option<&Report>) -> Option<Chart> {
    match kind {
        ChartKind::Chambers => cylinders::chambers(report),
        ChartKind::Compression => cylinders::compression(report),
        ChartKind::Deck => deck::deck(report),
        ChartKind::Flow => flow::flow(report, before),
        ChartKind::Scatter | ChartKind::Trace => None,
    }
}

/// Every chart of a report.
pub fn all_of_report(report: &Report, before: Option<&Report>) -> Vec<Chart> {
    let all = ChartKind::ALL.into_iter();
    all.filter_map(|kind| of_report(kind, report, before))
        .collect()
}
