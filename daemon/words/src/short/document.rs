//! The short report's rows and sentences.

use benchhand_blueprint::decide::VerdictAnswer;

/// The report that is read in ten seconds, in the order in which it is read.
#[derive(Debug, Clone, PartialEq)]
pub struct ShortReport {
    /// Job, engine, size, stage and moment, each by itself.
    pub title: Vec<String>,
    /// How often each part was measured; empty where nothing was.
    pub measured: String,
    /// Averages and spreads.
    pub averages: Vec<AverageRow>,
    /// What to do now, and what comes after it; at least one.
    pub next: Vec<NextStep>,
    /// A row a cylinder; `None` where nothing is known of any.
    pub cylinders: Option<CylinderRows>,
    /// Flow by port and lift.
    pub flow: Option<FlowRows>,
    /// What to check, the gravest first.
    pub checks: Vec<CheckRow>,
    /// What each ± covers and leaves out.
    pub covers: String,
    /// Cautions.
    pub cautions: Vec<String>,
    /// The command that shows the long report.
    pub long_form: String,
}

/// An average and a spread.
#[derive(Debug, Clone, PartialEq)]
pub struct AverageRow {
    /// What of.
    pub name: String,
    /// The family of the spots that it rests on, of a free spot with its name; empty where it rests
    /// on several.
    pub family: String,
    /// The unit; a ratio is told `:1`.
    pub unit: String,
    /// The average with its ±.
    pub mean: String,
    /// The cylinders that average and spread are over, where these are not all: "of 1 to 3 only".
    pub over: String,
    /// The spread with its ±; empty with one cylinder.
    pub spread: String,
    /// The spread that is allowed; empty where no tolerance is stated.
    pub allowed: String,
    /// Whether that is kept to.
    pub judged: Option<JudgedAverage>,
    /// The target, and how far the average is from it; whether that is near enough, no engine file
    /// says.
    pub target: Option<(String, String)>,
}

/// A verdict as people read it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct JudgedAverage {
    /// In words: `OK`, `NOT OK`, `too close to call`.
    pub words: &'static str,
    /// The verdict.
    pub answer: VerdictAnswer,
}

/// Something to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NextStep {
    /// What to do and why, without its last full stop.
    pub what: String,
    /// The command that does it; empty where there is none.
    pub command: String,
    /// What else is to be known; empty or a whole sentence.
    pub more: String,
    /// Where on the page it is done.
    pub place: Option<DoneAt>,
}

/// Where on the page something is done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum DoneAt {
    /// At the board, where a question waits.
    Board,
    /// On a route, begun with these cylinders (all where empty) and rounds (the route's own where
    /// `None`).
    Route {
        /// The route's name.
        route: String,
        /// The cylinders.
        cylinders: Vec<u32>,
        /// How often each spot is measured.
        rounds: Option<u32>,
        /// Whether it begins over though every stop has its reading.
        afresh: bool,
    },
    /// Among the readings of a spot.
    Readings(String),
    /// At the engine file.
    Engine,
    /// At a decision, by the question's name, with fields that are filled in.
    Decide(&'static str, &'static [(&'static str, &'static str)]),
}

/// The table of the cylinders.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CylinderRows {
    /// The columns behind the cylinder's number.
    pub columns: Vec<CylinderColumn>,
    /// A row a cylinder, in their order.
    pub rows: Vec<CylinderRow>,
    /// The ± that most cells of a column have, each by itself; empty where no ± belongs.
    pub each: Vec<String>,
    /// The ± of the difference between two cylinders; empty where it is not known.
    pub between: Vec<String>,
}

impl CylinderRows {
    /// Whether the ± of a difference between two cylinders is known of any column.
    pub fn has_between(&self) -> bool {
        self.between.iter().any(|text| !text.is_empty())
    }
}

/// A column of the cylinders' table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CylinderColumn {
    /// The heading, in two lines.
    pub heading: [String; 2],
    /// The family of the spots that it rests on; empty where it rests on several.
    pub family: &'static str,
}

/// One cylinder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CylinderRow {
    /// Its number.
    pub cylinder: u32,
    /// A cell for each column.
    pub cells: Vec<ShownCell>,
    /// The parts to be looked at.
    pub marks: Vec<String>,
}

/// A figure in a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShownCell {
    /// The figure; `-` where it is not known.
    pub text: String,
    /// Whether it is less sure than the column's ± says.
    pub unsure: bool,
}

/// Flow at the reference depression: a row a port, a column a lift.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FlowRows {
    /// What it is, with the unit.
    pub name: String,
    /// What the columns are, with the unit.
    pub lift: String,
    /// The lifts.
    pub lifts: Vec<String>,
    /// The ports, each with a cell for every lift.
    pub ports: Vec<(String, Vec<String>)>,
}

/// Something to check.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CheckRow {
    /// Whether it is one by one out of line or in doubt.
    pub marked: bool,
    /// In a sentence.
    pub text: String,
    /// The spot that it is about; empty where there are several.
    pub spot: String,
}
