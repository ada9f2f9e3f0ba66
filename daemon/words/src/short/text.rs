//! The short report as text: at most 80 columns, and 40 lines for up to eight cylinders.

use super::WIDTH;
use super::document::{CheckRow, CylinderRows, FlowRows, NextStep, ShortReport};
use crate::rows::{Align, lines as rows_of, wrapped};

/// Lines of the short report for up to eight cylinders.
const LINES: usize = 40;

impl ShortReport {
    /// As text, with a line end after each line.
    pub fn text(&self) -> String {
        let mut parts: Vec<Vec<String>> = vec![
            self.head_lines(),
            self.average_lines(),
            self.next_lines(),
            self.cylinders
                .as_ref()
                .map(cylinder_lines)
                .unwrap_or_default(),
            self.flow.as_ref().map(flow_lines).unwrap_or_default(),
        ];
        let last = self.last_lines();
        parts.retain(|part| !part.is_empty());
        // Each part has a blank line behind it but for the last one.
        let so_far: usize = parts.iter().chain([&last]).map(|part| part.len() + 1).sum();
        // What does not fit is named by its number; the long report has it.
        let room = LINES.saturating_sub(so_far).max(3);
        parts.push(self.check_lines(room));
        parts.push(last);
        let parts = parts.into_iter().filter(|part| !part.is_empty());
        let parts: Vec<String> = parts.map(|part| part.join("\n")).collect();
        parts.join("\n\n") + "\n"
    }

    /// The first step again, as the text has it.
    pub fn first_step(&self) -> String {
        let first = self.next.first().map(NextStep::text).unwrap_or_default();
        wrapped("NEXT  ", &first, WIDTH).join("\n") + "\n"
    }

    fn head_lines(&self) -> Vec<String> {
        let title = self.title.join(", ");
        let alone = wrapped("", &title, WIDTH);
        if self.measured.is_empty() {
            return alone;
        }
        // A last line of the title that has room takes what was measured, too. What does not fit into
        // one line more, the long report has: no item is cut.
        let parts: Vec<&str> = self.measured.split(", ").collect();
        let named = |count: usize| {
            let more = if count < parts.len() { " …" } else { "" };
            let named = parts.get(..count)?.join(", ");
            let lines = wrapped("", &format!("{title}. Measured: {named}{more}"), WIDTH);
            (lines.len() <= alone.len().max(2)).then_some(lines)
        };
        let most = (1..=parts.len()).rev().find_map(named);
        most.unwrap_or(alone)
    }

    fn average_lines(&self) -> Vec<String> {
        if self.averages.is_empty() {
            return Vec::new();
        }
        let row = |cells: [&str; 6]| cells.map(str::to_owned).to_vec();
        let mut table = vec![row(["", "", "average", "spread", "allowed", ""])];
        for one in &self.averages {
            let judged = one.judged.map_or("", |judged| judged.words);
            let cells = [&one.name, &one.unit, &one.mean, &one.spread];
            let [name, unit, mean, spread] = cells;
            table.push(row([name, unit, mean, spread, &one.allowed, judged]));
            if !one.over.is_empty() {
                table.push(row(["", "", &one.over, "", "", ""]));
            }
            if let Some((target, off)) = &one.target {
                table.push(row(["", "", target, off, "", ""]));
            }
        }
        let columns = [
            Align::Left,
            Align::Left,
            Align::Right,
            Align::Right,
            Align::Right,
            Align::Left,
        ];
        rows_of(&columns, &table)
    }

    fn next_lines(&self) -> Vec<String> {
        let marked = self.next.iter().zip(["NEXT  ", "THEN  "]);
        marked
            .flat_map(|(step, mark)| wrapped(mark, &step.text(), WIDTH))
            .collect()
    }

    /// At most `room` lines; a last one says how many more there are.
    fn check_lines(&self, room: usize) -> Vec<String> {
        if self.checks.is_empty() {
            return Vec::new();
        }
        let mut lines = vec!["CHECK THESE".to_owned()];
        let mut left = self.checks.len();
        for mut item in self.checks.iter().map(CheckRow::lines) {
            // A line is kept for what does not fit.
            let fits = left == 1 || lines.len() + item.len() < room;
            // The worst is named in any case: what else there is goes beside the heading then.
            if !fits && lines.len() == 1 && item.len() < room {
                let more = left - 1;
                lines = vec![format!("CHECK THESE  and {more} more: {}", self.long_form)];
                lines.extend(item);
                return lines;
            }
            if !fits && lines.len() == 1 {
                item.truncate(room.saturating_sub(2).max(1));
                if let Some(last) = item.last_mut() {
                    cut_short(last);
                }
            } else if !fits {
                break;
            }
            lines.extend(item);
            left -= 1;
        }
        if left > 0 {
            lines.push(format!("  and {left} more: {}", self.long_form));
        }
        lines
    }

    /// What the ± covers and leaves out, and the cautions.
    fn last_lines(&self) -> Vec<String> {
        let mut lines = wrapped("", &self.covers, WIDTH);
        let cautions = self.cautions.iter();
        lines.extend(cautions.flat_map(|caution| wrapped("CAUTION  ", caution, WIDTH)));
        lines
    }
}

/// Ends a line in an ellipsis behind its last whole word that leaves room for it.
fn cut_short(line: &mut String) {
    while line.chars().count() > WIDTH - 2 {
        let Some((words, _)) = line.rsplit_once(' ') else {
            break;
        };
        *line = words.to_owned();
    }
    line.push_str(" …");
}

impl CheckRow {
    fn lines(&self) -> Vec<String> {
        let mark = if self.marked { "! " } else { "  " };
        wrapped(mark, &self.text, WIDTH)
    }
}

impl NextStep {
    /// As one sentence or two, with the command.
    pub fn text(&self) -> String {
        let command = match self.command.is_empty() {
            true => String::new(),
            false => format!(": {}", self.command),
        };
        format!("{}{command}. {}", self.what, self.more)
            .trim_end()
            .to_owned()
    }
}

fn cylinder_lines(table: &CylinderRows) -> Vec<String> {
    let unsure = |column: usize| table.rows.iter().any(|row| row.cells[column].unsure);
    let marked: Vec<bool> = (0..table.columns.len()).map(unsure).collect();
    let blank = |column: usize| if marked[column] { " " } else { "" };
    let line = |first: &str, cells: &mut dyn Iterator<Item = String>| -> Vec<String> {
        std::iter::once(first.to_owned()).chain(cells).collect()
    };
    let padded = |cells: &[String]| -> Vec<String> {
        let cells = cells.iter().enumerate();
        cells
            .map(|(column, text)| format!("{text}{}", blank(column)))
            .collect()
    };
    let heading = |at: usize| -> Vec<String> {
        let columns = table.columns.iter();
        padded(
            &columns
                .map(|one| one.heading[at].clone())
                .collect::<Vec<_>>(),
        )
    };
    let mut lines = vec![
        line("Cyl", &mut heading(0).into_iter()),
        line("", &mut heading(1).into_iter()),
    ];
    for row in &table.rows {
        let cells = row.cells.iter().enumerate().map(|(column, cell)| {
            let mark = if cell.unsure { "?" } else { blank(column) };
            format!("{}{mark}", cell.text)
        });
        let mut cells = cells.collect::<Vec<_>>().into_iter();
        lines.push(line(&row.cylinder.to_string(), &mut cells));
    }
    lines.push(line("±", &mut padded(&table.each).into_iter()));
    let between = table.has_between();
    if between {
        lines.push(line("±", &mut padded(&table.between).into_iter()));
    }
    let aligned = vec![Align::Right; table.columns.len() + 1];
    let mut lines = rows_of(&aligned, &lines);
    let mut bare = false;
    for (line, row) in lines.iter_mut().skip(2).zip(&table.rows) {
        let marks = match row.marks.is_empty() {
            true => continue,
            false => format!("! {}", row.marks.join(", ")),
        };
        let room = WIDTH.saturating_sub(line.chars().count() + 2);
        match marks.chars().count() > room {
            true => {
                line.push_str(" !");
                bare = true;
            }
            false => *line += &format!("  {marks}"),
        }
    }
    if between {
        let last = lines.len() - 1;
        for (at, words) in [(last - 1, "each one"), (last, "one to another")] {
            let room = WIDTH.saturating_sub(lines[at].chars().count() + 2);
            if words.chars().count() <= room {
                lines[at] += &format!("  {words}");
            }
        }
    }
    // What ? marks is told with what each ± covers.
    if bare {
        lines.push("! see CHECK THESE".to_owned());
    }
    lines
}

fn flow_lines(flow: &FlowRows) -> Vec<String> {
    let mut heading = vec![flow.name.clone(), flow.lift.clone()];
    heading.extend(flow.lifts.iter().cloned());
    let mut table = vec![heading];
    for (port, cells) in &flow.ports {
        let mut row = vec![format!("  {port}"), String::new()];
        row.extend(cells.iter().cloned());
        table.push(row);
    }
    let mut aligned = vec![Align::Right; 2 + flow.lifts.len()];
    aligned[0] = Align::Left;
    rows_of(&aligned, &table)
}
