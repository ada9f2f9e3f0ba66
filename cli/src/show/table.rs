//! Tables in one style: a rule above, below and under the heading, no colour.

use benchhand_words::told::ColumnHeading;
use comfy_table::{Cell, CellAlignment, ContentArrangement, LineStyle, Row, TableStyle};

/// The narrowest terminal width to which a table is wrapped, in columns.
const NARROWEST: u16 = 60;

/// The width to which texts and tables are wrapped: that of the terminal on standard output. `None`
/// where it is none, has no width, or is so narrow that a table would become unreadable.
pub(crate) fn width() -> Option<usize> {
    let width = comfy_table::Table::new().width();
    width.filter(|width| *width >= NARROWEST).map(usize::from)
}

/// A table of the words' package, as the terminal shows it.
pub(crate) fn shown(table: &benchhand_words::told::ToldTable) -> String {
    let heading = |one: &ColumnHeading| match one.right {
        true => format!(">{}", one.words),
        false => one.words.clone(),
    };
    let headings: Vec<String> = table.headings.iter().map(heading).collect();
    let headings: Vec<&str> = headings.iter().map(String::as_str).collect();
    let mut shown = Table::new(&headings);
    for row in &table.rows {
        shown.row(row.clone());
    }
    shown.text()
}

/// A table that is being filled.
#[derive(Debug)]
pub(crate) struct Table {
    inner: comfy_table::Table,
    right: Vec<usize>,
}

impl Table {
    /// A table with these headings. A heading that begins with `>` aligns its column to the right,
    /// so numbers stand below each other.
    pub(crate) fn new(headings: &[&str]) -> Self {
        let mut inner = comfy_table::Table::new();
        let rule = LineStyle::none().fill('─').junction('─');
        inner.load_style(
            TableStyle::new()
                .top_border(rule)
                .header_separator(rule)
                .bottom_border(rule),
        );
        inner.set_content_arrangement(match width() {
            Some(_) => ContentArrangement::Dynamic,
            None => ContentArrangement::Disabled,
        });
        let right: Vec<usize> = headings
            .iter()
            .enumerate()
            .filter_map(|(at, heading)| heading.starts_with('>').then_some(at))
            .collect();
        let mut table = Table { inner, right };
        let names = headings
            .iter()
            .map(|heading| heading.trim_start_matches('>').to_owned());
        let heading = table.cells(names.collect());
        table.inner.set_header(heading);
        table
    }

    /// Adds a row.
    pub(crate) fn row(&mut self, cells: Vec<String>) {
        let cells = self.cells(cells);
        self.inner.add_row(cells);
    }

    /// The table as text.
    pub(crate) fn text(&self) -> String {
        self.inner
            .lines()
            .map(|line| line.trim_end().to_owned() + "\n")
            .collect()
    }

    fn cells(&self, texts: Vec<String>) -> Row {
        let cells = texts.into_iter().enumerate().map(|(at, text)| {
            let cell = Cell::new_owned(text);
            if self.right.contains(&at) {
                cell.set_alignment(CellAlignment::Right)
            } else {
                cell
            }
        });
        Row::from(cells.collect::<Vec<_>>())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stand_below_each_other() {
        let mut table = Table::new(&["spot", ">value"]);
        table.row(vec!["chamber/1".into(), "64.2".into()]);
        table.row(vec!["chamber/2".into(), "164.2".into()]);
        let text = table.text();
        let rows: Vec<&str> = text
            .lines()
            .filter(|line| line.contains("chamber"))
            .collect();
        assert_eq!(rows[0].find("64.2"), rows[1].find("64.2"), "{text}");
        assert!(!text.contains('\u{1b}'), "{text:?}");
    }
}
