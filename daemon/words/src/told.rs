//! What is told to a person, part by part: titles, lines and tables. A terminal prints the parts, a
//! page sets them; neither changes a word.

use std::ops::AddAssign;

use crate::rows::{self, Align};

/// Something that is told to a person.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ToldText {
    /// The parts, in the order in which they are read.
    pub parts: Vec<ToldPart>,
}

/// A part of what is told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ToldPart {
    /// The title of what follows, without a line end.
    Title(String),
    /// Lines of text, each with its line end. A line may be indented or empty.
    Text(String),
    /// A table.
    Table(ToldTable),
}

/// A table: a heading and rows of cells. The heading of a column may have several lines.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToldTable {
    /// The headings.
    pub headings: Vec<ColumnHeading>,
    /// The rows, each with a cell for every heading.
    pub rows: Vec<Vec<String>>,
}

/// The heading of a column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ColumnHeading {
    /// Its words, in one or several lines.
    pub words: String,
    /// Whether the column is aligned to the right, so that numbers stand below each other.
    pub right: bool,
}

impl ToldTable {
    /// A table with these headings. A heading that begins with `>` aligns its column to the right.
    pub(crate) fn new(headings: &[&str]) -> Self {
        let heading = |text: &&str| ColumnHeading {
            words: text.trim_start_matches('>').to_owned(),
            right: text.starts_with('>'),
        };
        Self {
            headings: headings.iter().map(heading).collect(),
            rows: Vec::new(),
        }
    }

    /// Adds a row.
    pub(crate) fn row(&mut self, cells: Vec<String>) {
        self.rows.push(cells);
    }

    /// The table as lines, its heading above a rule, as wide as its cells are.
    fn text(&self) -> String {
        let lines_of = |heading: &ColumnHeading| heading.words.lines().map(str::to_owned).collect();
        let headings: Vec<Vec<String>> = self.headings.iter().map(lines_of).collect();
        let deepest = headings.iter().map(Vec::len).max().unwrap_or(0);
        let heading_row = |at: usize| -> Vec<String> {
            let cell = |lines: &Vec<String>| lines.get(at).cloned().unwrap_or_default();
            headings.iter().map(cell).collect()
        };
        let mut all: Vec<Vec<String>> = (0..deepest).map(heading_row).collect();
        all.extend(self.rows.iter().cloned());
        let align = |heading: &ColumnHeading| match heading.right {
            true => Align::Right,
            false => Align::Left,
        };
        let columns: Vec<Align> = self.headings.iter().map(align).collect();
        let mut lines = rows::lines(&columns, &all);
        let wide = lines.iter().map(|line| line.chars().count()).max();
        lines.insert(deepest, "─".repeat(wide.unwrap_or(0)));
        lines.join("\n") + "\n"
    }
}

impl ToldText {
    /// A title, with nothing below it yet.
    pub(crate) fn titled(title: impl Into<String>) -> Self {
        Self {
            parts: vec![ToldPart::Title(title.into())],
        }
    }

    /// Adds a title.
    pub(crate) fn title(&mut self, title: impl Into<String>) {
        self.parts.push(ToldPart::Title(title.into()));
    }

    /// Adds a sentence behind a mark, broken at blanks to 80 columns. Further lines are indented to
    /// the first.
    pub(crate) fn wrapped(&mut self, mark: &str, sentence: &str) {
        *self += rows::wrapped(mark, sentence, 80).join("\n").as_str();
        *self += "\n";
    }

    /// Whether there is nothing to tell.
    pub fn is_empty(&self) -> bool {
        self.parts.is_empty()
    }

    /// All of it as text, with the tables as `table` writes them.
    pub fn text_with(&self, table: impl Fn(&ToldTable) -> String) -> String {
        let part = |part: &ToldPart| match part {
            ToldPart::Title(title) => format!("{title}\n"),
            ToldPart::Text(text) => text.clone(),
            ToldPart::Table(one) => table(one),
        };
        self.parts.iter().map(part).collect()
    }

    /// All of it as text.
    pub fn text(&self) -> String {
        self.text_with(ToldTable::text)
    }
}

impl AddAssign<&str> for ToldText {
    fn add_assign(&mut self, text: &str) {
        match self.parts.last_mut() {
            _ if text.is_empty() => {}
            Some(ToldPart::Text(before)) => before.push_str(text),
            _ => self.parts.push(ToldPart::Text(text.to_owned())),
        }
    }
}

impl AddAssign<String> for ToldText {
    fn add_assign(&mut self, text: String) {
        *self += text.as_str();
    }
}

impl AddAssign<ToldTable> for ToldText {
    fn add_assign(&mut self, table: ToldTable) {
        self.parts.push(ToldPart::Table(table));
    }
}

impl AddAssign<ToldText> for ToldText {
    fn add_assign(&mut self, more: ToldText) {
        for part in more.parts {
            match part {
                ToldPart::Text(text) => *self += text.as_str(),
                other => self.parts.push(other),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stand_below_each_other() {
        let mut table = ToldTable::new(&["spot", ">value\ncc"]);
        table.row(vec!["chamber/1".into(), "64.2".into()]);
        table.row(vec!["chamber/2".into(), "164.2".into()]);
        assert_eq!(
            table.text(),
            "spot       value\n              cc\n────────────────\n\
             chamber/1   64.2\nchamber/2  164.2\n"
        );
    }
}
