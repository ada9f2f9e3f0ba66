//! The demo: an invented engine measured from bytes on three lines to a report.
//!
//! The gauges are recorded streams that play into the far ends of pseudo-terminals, in step with
//! the daemon's own ports, as fast as the machine can. Everything between the line and the report
//! is the same as at a real station. How the demo is shown is not known here.

mod make;
mod rig;
mod scenario;
mod script;

use std::path::{Path, PathBuf};

use benchhand_drivers::stream::Stream;
use benchhand_wire::{Reason, Refusal};

/// The progress of the demo.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DemoProgress {
    /// Events of the streams that were played.
    pub done: u64,
    /// All of them.
    pub total: u64,
    /// What is being measured.
    pub doing: String,
}

/// What the demo left behind.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DemoOutcome {
    /// The job that was measured.
    pub job: String,
    /// The folder in which everything is kept.
    pub data: PathBuf,
    /// Remarks about the demo.
    pub notes: Vec<String>,
}

/// Measures the invented engine, keeping everything below `data`, a folder of its own.
///
/// # Errors
/// Where the folder cannot be used, no pseudo-terminal can be had, or a route does not end as
/// the scenario has it.
pub fn run(data: &Path, progress: &mut dyn FnMut(DemoProgress)) -> Result<DemoOutcome, Refusal> {
    script::run(data, progress)
}

/// The demo's streams as its scenario makes them, by file name.
pub fn make_streams() -> Vec<(&'static str, Stream)> {
    make::streams()
}

macro_rules! embedded {
    ($name:literal) => {
        include_bytes!(concat!("../../../recorded-streams/demo/", $name))
    };
}
/// The demo's streams as they lie in the tree and in the executable.
const EMBEDDED: &[(&str, &[u8])] = &[
    (
        "burette-chambers.ndjson",
        embedded!("burette-chambers.ndjson"),
    ),
    ("dial-deck-zero.ndjson", embedded!("dial-deck-zero.ndjson")),
    ("dial-deck.ndjson", embedded!("dial-deck.ndjson")),
    ("dial-crowns.ndjson", embedded!("dial-crowns.ndjson")),
    ("burette-crowns.ndjson", embedded!("burette-crowns.ndjson")),
    (
        "dial-gasket-zero.ndjson",
        embedded!("dial-gasket-zero.ndjson"),
    ),
    ("dial-gasket.ndjson", embedded!("dial-gasket.ndjson")),
    ("manometer-flow.ndjson", embedded!("manometer-flow.ndjson")),
];

/// An embedded stream.
fn stream(name: &str) -> Result<Stream, Refusal> {
    let damaged = |what: String| {
        Refusal::new(
            Reason::Damaged,
            format!("the embedded stream {name}: {what}"),
        )
    };
    let found = EMBEDDED.iter().find(|(n, _)| *n == name);
    let (_, bytes) = found.ok_or_else(|| damaged("is not there".to_owned()))?;
    Stream::parse(bytes).map_err(|e| damaged(e.to_string()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_embedded_streams_are_what_the_scenario_makes() {
        let made = make_streams();
        assert_eq!(made.len(), EMBEDDED.len());
        for (name, made) in made {
            let embedded = stream(name).unwrap();
            assert!(
                embedded == made,
                "{name}: run the example make-demo-streams and look at it"
            );
        }
    }
}
