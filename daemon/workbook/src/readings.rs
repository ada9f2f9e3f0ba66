//! Every reading of the job, those that no longer count too.

use benchhand_blueprint::Unit;
use benchhand_wire::ShownReading;
use benchhand_words::{day_and_minute, spot_said};
use rust_xlsxwriter::{Worksheet, XlsxError};

use crate::cells::{Formats, number};

const HEADINGS: [&str; 11] = [
    "Number", "Spot", "Stage", "Value", "Unit", "State", "Gauge", "How", "Round", "Kept", "Note",
];

/// Whether a reading counts, in the words of the page.
fn standing(state: &str) -> &str {
    match state {
        "voided" => "void",
        "superseded" => "replaced",
        "asked" => "a question waits",
        other => other,
    }
}

pub(crate) fn write(
    sheet: &mut Worksheet,
    readings: &[ShownReading],
    formats: &Formats,
) -> Result<(), XlsxError> {
    sheet.set_name("Readings")?;
    for (column, heading) in (0..).zip(HEADINGS) {
        sheet.write_string_with_format(0, column, heading, &formats.heading)?;
    }
    for (column, width) in (0..).zip([8, 22, 16, 10, 6, 11, 14, 10, 7, 18, 40]) {
        sheet.set_column_width(column, width)?;
    }
    for (row, one) in (1..).zip(readings) {
        let figure = &one.figure;
        match one.station.is_empty() {
            true => sheet.write_number(row, 0, one.number as f64)?,
            false => sheet.write_string(row, 0, one.said_number())?,
        };
        sheet.write_string(row, 1, spot_said(&one.spot))?;
        sheet.write_string(row, 2, &one.stage)?;
        let unit = figure.unit.parse().unwrap_or(Unit::One);
        sheet.write_number_with_format(row, 3, figure.value, &number(unit))?;
        sheet.write_string(row, 4, &figure.unit)?;
        sheet.write_string(row, 5, standing(&one.state))?;
        sheet.write_string(row, 6, one.gauge.as_deref().unwrap_or_default())?;
        sheet.write_string(row, 7, &one.source)?;
        sheet.write_number(row, 8, f64::from(one.round))?;
        sheet.write_string(row, 9, day_and_minute(&one.at))?;
        sheet.write_string(row, 10, &one.note)?;
    }
    let last = u32::try_from(readings.len()).unwrap_or(u32::MAX);
    sheet.autofilter(0, 0, last, 10)?;
    sheet.set_freeze_panes(1, 0)?;
    sheet.set_landscape();
    sheet.set_print_fit_to_pages(1, 0);
    Ok(())
}
