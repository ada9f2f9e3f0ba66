//! The short report as a table: averages, verdicts, what to check, what to do next.

use benchhand_words::ShortReport;
use rust_xlsxwriter::{Worksheet, XlsxError};

use crate::cells::{Columns, Formats, lay_out};

/// The columns' widths.
const WIDE: Columns<'_> = Columns(&[24, 8, 20, 20, 14, 18, 22]);

pub(crate) fn write(
    sheet: &mut Worksheet,
    short: &ShortReport,
    formats: &Formats,
) -> Result<(), XlsxError> {
    sheet.set_name("Report")?;
    WIDE.set(sheet)?;
    WIDE.write_title(sheet, &short.title.join(", "), formats)?;
    if !short.measured.is_empty() {
        let measured = format!("Measured: {}", short.measured);
        WIDE.write_over(sheet, 1, &measured, &formats.text)?;
    }
    let headings = [
        "", "Unit", "Average", "Spread", "Allowed", "Verdict", "Target",
    ];
    for (column, heading) in (0..).zip(headings) {
        sheet.write_string_with_format(3, column, heading, &formats.heading)?;
    }
    let mut row = 4;
    for average in &short.averages {
        let target = average.target.as_ref();
        let cells = [
            average.name.as_str(),
            &average.unit,
            &average.mean,
            &average.spread,
            &average.allowed,
            average.judged.map_or("", |judged| judged.words),
            &target.map_or(String::new(), |(target, off)| format!("{target}, {off}")),
        ];
        for (column, cell) in (0..).zip(cells) {
            sheet.write_string(row, column, cell)?;
        }
        row += 1;
    }
    row += 1;
    let next = short.next.iter().map(|step| match step.more.is_empty() {
        true => format!("{}.", step.what),
        false => format!("{}. {}", step.what, step.more),
    });
    for (heading, lines) in [
        ("Next", next.collect::<Vec<_>>()),
        (
            "Check these",
            short.checks.iter().map(|one| one.text.clone()).collect(),
        ),
        ("Covers", vec![short.covers.clone()]),
        ("Cautions", short.cautions.clone()),
    ] {
        if lines.is_empty() {
            continue;
        }
        sheet.write_string_with_format(row, 0, heading, &formats.name)?;
        row += 1;
        for line in lines {
            WIDE.write_over(sheet, row, &line, &formats.text)?;
            row += 1;
        }
        row += 1;
    }
    lay_out(sheet);
    Ok(())
}
