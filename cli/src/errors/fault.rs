//! Drawing a fault under the line of the text file where it stands.
//!
//! Knows texts and places in them, not what a refusal is.

use benchhand_wire::Place;
use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, NamedSource, SourceCode,
};

/// The places of one file, each under its line; `None` where a place is not in the text (the
/// file was changed since).
pub(super) fn at_its_line(places: &[Place], text: String, colour: bool) -> Option<String> {
    let labels = places
        .iter()
        .map(|place| {
            let (offset, length) = span(&text, place.line, place.column)?;
            Some(LabeledSpan::new(Some(place.text.clone()), offset, length))
        })
        .collect::<Option<Vec<_>>>()?;
    let fault = Fault {
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

/// The bytes from a line and column (characters, from 1) to the end of the field there, which
/// ends at a comma or the line's end.
fn span(text: &str, line: usize, column: usize) -> Option<(usize, usize)> {
    // An empty file has no line under which anything could be drawn.
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

/// A fault with its places in one file, as the drawing of it needs it.
#[derive(Debug)]
struct Fault {
    title: String,
    source: NamedSource<String>,
    labels: Vec<LabeledSpan>,
}

impl std::fmt::Display for Fault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.title)
    }
}

impl std::error::Error for Fault {}

impl Diagnostic for Fault {
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
