//! What a sheet carries in itself: the note of its origin, and every figure that it prints.
//!
//! A figure stands in an element with the attribute `data-figure`, so that a check reads what a
//! person reads, not a copy beside it. The note stands in an element `meta`.

use benchhand_wire::SheetNote;

/// The name of the element `meta` that holds the note.
pub const NOTE: &str = "benchhand-sheet";

/// A figure as a sheet prints it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PrintedFigure {
    /// Its name, e.g. `chamber 3`.
    pub name: String,
    /// Its text, e.g. `64.21`.
    pub text: String,
}

/// A figure that a sheet prints and the record no longer gives.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChangedFigure {
    /// Its name.
    pub name: String,
    /// Its text on the sheet; `None` where the sheet lacks it.
    pub on_sheet: Option<String>,
    /// Its text by the record; `None` where the record does not give it.
    pub by_record: Option<String>,
}

/// The note in a sheet's HTML; `None` where the text is no sheet.
pub fn note_in(html: &str) -> Option<SheetNote> {
    let (_, behind) = html.split_once(&format!("name=\"{NOTE}\""))?;
    let tag = behind.split('>').next()?;
    let (_, content) = tag.split_once("content=\"")?;
    let content = content.split('"').next()?;
    serde_json::from_str(&plain(content)).ok()
}

/// Every figure in a sheet's HTML, in the order in which it is read.
pub fn figures_in(html: &str) -> Vec<PrintedFigure> {
    let elements = html.split("data-figure=\"").skip(1);
    let figure = |element: &str| {
        let (name, behind) = element.split_once('"')?;
        let (_, text) = behind.split_once('>')?;
        let text = text.split('<').next()?;
        Some(PrintedFigure {
            name: plain(name),
            text: plain(text).split_whitespace().collect::<Vec<_>>().join(" "),
        })
    };
    elements.filter_map(figure).collect()
}

/// What differs between a sheet and the same sheet made anew from the record.
pub fn changed(on_sheet: &[PrintedFigure], by_record: &[PrintedFigure]) -> Vec<ChangedFigure> {
    let text_of = |all: &[PrintedFigure], name: &str| {
        let mut found = all.iter().filter(|one| one.name == name);
        found.next().map(|one| one.text.clone())
    };
    let mut changes: Vec<ChangedFigure> = Vec::new();
    for one in on_sheet.iter().chain(by_record) {
        // A sheet may print a figure twice; each of them is looked at.
        let printed = on_sheet.iter().filter(|other| other.name == one.name);
        let record = text_of(by_record, &one.name);
        let wrong = printed
            .map(|one| Some(one.text.clone()))
            .find(|text| *text != record);
        let on_paper = match (wrong, text_of(on_sheet, &one.name)) {
            (Some(wrong), _) => wrong,
            (None, found) => found,
        };
        let known = changes.iter().any(|change| change.name == one.name);
        if on_paper != record && !known {
            changes.push(ChangedFigure {
                name: one.name.clone(),
                on_sheet: on_paper,
                by_record: record,
            });
        }
    }
    changes
}

/// A text of HTML as a person reads it.
fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some((before, entity)) = rest.split_once('&') {
        out.push_str(before);
        let known = entity.split_once(';').and_then(|(name, behind)| {
            let letter = match name {
                "amp" => '&',
                "lt" => '<',
                "gt" => '>',
                "quot" => '"',
                "apos" => '\'',
                "nbsp" => ' ',
                number => {
                    let number = number.strip_prefix('#')?;
                    let code = match number.strip_prefix(['x', 'X']) {
                        Some(hex) => u32::from_str_radix(hex, 16).ok()?,
                        None => number.parse().ok()?,
                    };
                    char::from_u32(code)?
                }
            };
            Some((letter, behind))
        });
        match known {
            Some((letter, behind)) => {
                out.push(letter);
                rest = behind;
            }
            None => {
                out.push('&');
                rest = entity;
            }
        }
    }
    out.push_str(rest);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn printed(name: &str, text: &str) -> PrintedFigure {
        PrintedFigure {
            name: name.to_owned(),
            text: text.to_owned(),
        }
    }

    #[test]
    fn figures_are_read_as_a_person_reads_them() {
        let html = "<td data-figure=\"chamber 1\">64.21</td> <b class=\"big\" \
                    data-figure=\"average &#38; more\">10.48 &#177; 0.05\n</b>";
        let wanted = [
            printed("chamber 1", "64.21"),
            printed("average & more", "10.48 ± 0.05"),
        ];
        assert_eq!(figures_in(html), wanted);
    }

    #[test]
    fn a_figure_that_was_edited_on_the_sheet_or_moved_in_the_record_is_named() {
        let sheet = [printed("a", "1"), printed("a", "2"), printed("b", "3")];
        let record = [printed("a", "1"), printed("b", "3"), printed("c", "4")];
        let changes = changed(&sheet, &record);
        let told: Vec<_> = changes
            .iter()
            .map(|one| {
                (
                    one.name.as_str(),
                    one.on_sheet.as_deref(),
                    one.by_record.as_deref(),
                )
            })
            .collect();
        assert_eq!(told, [("a", Some("2"), Some("1")), ("c", None, Some("4"))]);
        assert!(changed(&record, &record).is_empty());
    }

    #[test]
    fn a_text_that_is_no_sheet_has_no_note() {
        assert_eq!(
            note_in("<html><meta name=\"other\" content=\"{}\"></html>"),
            None
        );
        assert_eq!(
            note_in("<meta name=\"benchhand-sheet\" content=\"{}\">"),
            None
        );
    }
}
