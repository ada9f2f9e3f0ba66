//! Sheets: where they went, and what a check of one found.

use benchhand_wire::SheetNote;
use benchhand_words::sheet::ChangedFigure;

use super::count;
use super::table::Table;

/// A sheet that was written.
pub(crate) fn written(title: &str, note: &SheetNote, files: &[&str]) -> String {
    format!(
        "{title} of job {}, {}: {}\n",
        note.job,
        note.stage,
        files.join(", ")
    )
}

/// What a check of a sheet found: the record first, then every figure that is not the record's.
pub(crate) fn checked(
    title: &str,
    note: &SheetNote,
    since: Option<u64>,
    figures: usize,
    changes: &[ChangedFigure],
) -> String {
    let mut text = format!("{title} of job {}, {}\n", note.job, note.stage);
    text += &match since {
        Some(0) => format!(
            "The record is as it was: its last entry is {} still.\n",
            note.entry
        ),
        Some(more) => format!(
            "The record goes on from entry {}: {} kept since.\n",
            note.entry,
            count(
                usize::try_from(more).unwrap_or(usize::MAX),
                "entry",
                "entries"
            )
        ),
        None => format!(
            "No entry of the record has the hash that the sheet carries (entry {}):\n\
             the record was changed, or the sheet is of another job, such as the one that this job is a copy of.\n",
            note.entry
        ),
    };
    if changes.is_empty() {
        return text + &format!("All {figures} figures of the sheet are those of the record.\n");
    }
    let mut table = Table::new(&["figure", ">on the sheet", ">by the record now"]);
    let shown = |text: &Option<String>| text.clone().unwrap_or_else(|| "missing".to_owned());
    for one in changes {
        table.row(vec![
            one.name.clone(),
            shown(&one.on_sheet),
            shown(&one.by_record),
        ]);
    }
    text += &format!(
        "{} of {figures}:\n",
        count(changes.len(), "figure differs", "figures differ")
    );
    text + &table.text()
}
