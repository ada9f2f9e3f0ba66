//! Rows of cells under each other, and sentences broken at a width.

/// How a column's cells stand in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// At its left edge.
    Left,
    /// At its right edge.
    Right,
}

/// Rows as lines; each column is as wide as its widest cell, with two blanks between.
pub fn lines(columns: &[Align], rows: &[Vec<String>]) -> Vec<String> {
    let width = |column: usize| {
        let cells = rows.iter().filter_map(|row| row.get(column));
        cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..columns.len()).map(width).collect();
    let line = |row: &Vec<String>| {
        let cells = row.iter().zip(columns).zip(&widths);
        let cells = cells.map(|((cell, align), &width)| match align {
            Align::Left => format!("{cell:<width$}"),
            Align::Right => format!("{cell:>width$}"),
        });
        let line = cells.collect::<Vec<_>>().join("  ");
        line.trim_end().to_owned()
    };
    rows.iter().map(line).collect()
}

/// A sentence in lines of at most `width`, the first after `first`, the others after as many blanks.
pub fn wrapped(first: &str, text: &str, width: usize) -> Vec<String> {
    let indent = " ".repeat(first.chars().count());
    let mut lines = Vec::new();
    let mut line = first.to_owned();
    let mut empty = true;
    for word in text.split_whitespace() {
        let long = line.chars().count() + usize::from(!empty) + word.chars().count() > width;
        if long && !empty {
            lines.push(std::mem::replace(&mut line, indent.clone()));
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(word);
        empty = false;
    }
    lines.push(line.trim_end().to_owned());
    lines
}

/// `1 to 5 and 7`: numbers in their order, three or more in a row as a range.
pub fn numbers(all: &[u32]) -> String {
    let mut sorted = all.to_vec();
    sorted.sort_unstable();
    sorted.dedup();
    let mut runs: Vec<(u32, u32)> = Vec::new();
    for number in sorted {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == number => *last = number,
            _ => runs.push((number, number)),
        }
    }
    let parts: Vec<String> = runs
        .into_iter()
        .flat_map(|(from, to)| match to - from {
            0 => vec![from.to_string()],
            1 => vec![from.to_string(), to.to_string()],
            _ => vec![format!("{from} to {to}")],
        })
        .collect();
    match parts.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, before)) => format!("{} and {last}", before.join(", ")),
        None => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_in_a_row_are_a_range() {
        assert_eq!(numbers(&[7, 1, 2, 3, 5, 4]), "1 to 5 and 7");
        assert_eq!(numbers(&[2, 1]), "1 and 2");
        assert_eq!(numbers(&[3]), "3");
        assert_eq!(numbers(&[]), "");
    }

    #[test]
    fn a_long_sentence_is_broken_at_the_width() {
        let lines = wrapped("! ", "one two three four", 10);
        assert_eq!(lines, ["! one two", "  three", "  four"]);
    }
}
