//! Reading the check values in `tests/reference`. Lines that begin with `#` name their source.

#![allow(unreachable_pub, dead_code)]

use std::collections::BTreeMap;
use std::path::PathBuf;

/// One row of a file of check values, by column.
pub struct Row {
    fields: BTreeMap<String, String>,
}

impl Row {
    /// The text of a column.
    pub fn text(&self, column: &str) -> &str {
        self.fields
            .get(column)
            .unwrap_or_else(|| panic!("no column {column:?}"))
    }

    /// The number of a column.
    pub fn number(&self, column: &str) -> f64 {
        let text = self.text(column);
        text.parse()
            .unwrap_or_else(|_| panic!("column {column:?} holds {text:?}, not a number"))
    }

    /// The number of a column; `None` if it is empty.
    pub fn maybe(&self, column: &str) -> Option<f64> {
        (!self.text(column).is_empty()).then(|| self.number(column))
    }
}

/// The rows of a file of check values. There is at least one.
pub fn rows(file: &str) -> Vec<Row> {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("tests/reference")
        .join(file);
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path:?}: {error}"));
    assert!(text.contains("# source:"), "{file} names its source");
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_reader(text.as_bytes());
    let headers = reader.headers().expect("a header").clone();
    let rows: Vec<Row> = reader
        .records()
        .map(|record| {
            let record = record.expect("a row");
            let fields = headers
                .iter()
                .map(str::to_owned)
                .zip(record.iter().map(str::to_owned));
            Row {
                fields: fields.collect(),
            }
        })
        .collect();
    assert!(!rows.is_empty(), "{file} has rows");
    rows
}

/// Asserts that two numbers agree to a relative tolerance (absolute near zero).
#[track_caller]
pub fn close(found: f64, expected: f64, relative: f64, what: &str) {
    let allowed = relative * expected.abs().max(1e-300);
    assert!(
        (found - expected).abs() <= allowed,
        "{what}: found {found}, expected {expected}, apart {:e} relative",
        (found - expected).abs() / expected.abs()
    );
}

/// Half a unit in the last of the twelve significant figures to which most files are written.
pub const TWELVE: f64 = 5.001e-12;
