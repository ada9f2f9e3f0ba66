//! Draws mistakes under their lines of a text file.
//!
//! This module knows texts and places in them. It does not know what a refusal is.

use benchhand_wire::Place;
use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, NamedSource, SourceCode,
};

/// The longest line that is drawn, in bytes.
const LONGEST_LINE: usize = 400;

/// Draws the places of one file, each under its line. `None` if a place is not in the text,
/// because the file was changed since.
pub(super) fn at_its_line(places: &[Place], text: String, colour: bool) -> Option<String> {
    // A line without end is not drawn.
    let drawn = |line: usize| {
        let first = line.saturating_sub(2);
        text.lines()
            .skip(first)
            .take(3)
            .all(|row| row.len() <= LONGEST_LINE)
    };
    if !places.iter().all(|place| drawn(place.line)) {
        return None;
    }
    let labels = places
        .iter()
        .map(|place| {
            let (offset, length) = span(&text, place.line, place.column)?;
            Some(LabeledSpan::new(Some(place.text.clone()), offset, length))
        })
        .collect::<Option<Vec<_>>>()?;
    let fault = DrawnFault {
        title: format!("in {}", places[0].file),
        source: NamedSource::new(&places[0].file, text),
        labels,
    };
    let theme = if colour {
        GraphicalTheme::unicode()
    } else {
        GraphicalTheme::unicode_nocolor()
    };
    let mut shown = String::new();
    GraphicalReportHandler::new_themed(theme)
        .with_links(false)
        .with_context_lines(1)
        .render_report(&mut shown, &fault)
        .ok()?;
    Some(shown)
}

/// Offset and length of the field at a line and column (in characters, from 1). The field ends at
/// a comma or at the end of the line.
fn span(text: &str, line: usize, column: usize) -> Option<(usize, usize)> {
    // An empty file has no line to draw under.
    if text.is_empty() {
        return None;
    }
    let start: usize = text
        .split_inclusive('\n')
        .take(line.checked_sub(1)?)
        .map(str::len)
        .sum();
    let row = text.get(start..)?.lines().next().unwrap_or("");
    if line > text.lines().count().max(1) {
        return None;
    }
    let column = column.max(1) - 1;
    let offset = row
        .char_indices()
        .nth(column)
        .map_or(row.len(), |(at, _)| at);
    let rest = &row[offset..];
    let field = rest.split(',').next().unwrap_or(rest).trim_end();
    Some((start + offset, field.len()))
}

/// The mistakes of one file, in the form that the drawing library needs.
#[derive(Debug)]
struct DrawnFault {
    title: String,
    source: NamedSource<String>,
    labels: Vec<LabeledSpan>,
}

impl std::fmt::Display for DrawnFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.title)
    }
}

impl std::error::Error for DrawnFault {}

impl Diagnostic for DrawnFault {
    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(&self.source)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        Some(Box::new(self.labels.iter().cloned()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_column_counts_characters_and_not_bytes() {
        let text = "# größe\nbore = \"0 mm\"\n";
        assert_eq!(
            span(text, 1, 6),
            Some((6, 3)),
            "after a letter of two bytes"
        );
        assert_eq!(span(text, 2, 8), Some((17, 6)));
        assert_eq!(span(text, 2, 99), Some((23, 0)), "past the end is the end");
    }
}
