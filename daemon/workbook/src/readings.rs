//! Every reading of the job, those that no longer count too.

use benchhand_blueprint::Unit;
use benchhand_blueprint::engine::LengthUnits;
use benchhand_wire::ShownReading;
use benchhand_words::lifts::lifts_in;
use benchhand_words::{day_and_minute, spot_said};
use rust_xlsxwriter::{Worksheet, XlsxError};

use crate::cells::{Formats, lay_out, number};

/// The columns before those of the parts, and behind them, each with its width.
const BEFORE: [(&str, u16); 5] = [
    ("Number", 8),
    ("Spot", 24),
    ("Stage", 16),
    ("Value", 10),
    ("Unit", 7),
];
const BEHIND: [(&str, u16); 6] = [
    ("State", 11),
    ("Gauge", 14),
    ("How", 10),
    ("Round", 7),
    ("Kept", 17),
    ("Note", 30),
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

/// The parts that readings have beside their value, such as a metering pressure, each with its unit:
/// numbers of two units do not stand in one column.
fn parts(readings: &[ShownReading]) -> Vec<(&str, &str)> {
    let mut all: Vec<(&str, &str)> = Vec::new();
    for (name, figure) in readings.iter().flat_map(|one| &one.parts) {
        let part = (name.as_str(), figure.unit.as_str());
        if !all.contains(&part) {
            all.push(part);
        }
    }
    all
}

/// "Metering, Pa".
fn heading((name, unit): (&str, &str)) -> String {
    let mut letters = name.chars();
    let first = letters.next().map(|one| one.to_uppercase().to_string());
    let name = format!("{}{}", first.unwrap_or_default(), letters.as_str());
    let name = name.replace('_', " ");
    match unit {
        "1" | "" => name,
        unit => format!("{name}, {unit}"),
    }
}

pub(crate) fn write(
    sheet: &mut Worksheet,
    readings: &[ShownReading],
    units: LengthUnits,
    formats: &Formats,
) -> Result<(), XlsxError> {
    sheet.set_name("Readings")?;
    let parts = parts(readings);
    let named = |(name, width): &(&str, u16)| ((*name).to_owned(), *width);
    let headings: Vec<(String, u16)> = BEFORE
        .iter()
        .map(named)
        .chain(parts.iter().map(|part| (heading(*part), 11)))
        .chain(BEHIND.iter().map(named))
        .collect();
    for (column, (name, width)) in (0..).zip(&headings) {
        sheet.write_string_with_format(0, column, name, &formats.heading)?;
        sheet.set_column_width(column, *width)?;
    }
    sheet.set_row_height(0, 32)?;
    let unit_of = |text: &str| text.parse().unwrap_or(Unit::One);
    for (row, one) in (1..).zip(readings) {
        let figure = &one.figure;
        match one.station.is_empty() {
            true => sheet.write_number(row, 0, one.number as f64)?,
            false => sheet.write_string(row, 0, one.said_number())?,
        };
        let spot = lifts_in(&spot_said(&one.spot), units);
        sheet.write_string_with_format(row, 1, spot, &formats.word)?;
        sheet.write_string(row, 2, &one.stage)?;
        sheet.write_number_with_format(row, 3, figure.value, &number(unit_of(&figure.unit)))?;
        sheet.write_string_with_format(row, 4, &figure.unit, &formats.word)?;
        let mut column = 5;
        for part in &parts {
            let mut own = one.parts.iter();
            let same = |(name, figure): &&(String, benchhand_wire::Figure)| {
                (name.as_str(), figure.unit.as_str()) == *part
            };
            if let Some((_, figure)) = own.find(same) {
                let format = number(unit_of(&figure.unit));
                sheet.write_number_with_format(row, column, figure.value, &format)?;
            }
            column += 1;
        }
        sheet.write_string_with_format(row, column, standing(&one.state), &formats.word)?;
        sheet.write_string(row, column + 1, one.gauge.as_deref().unwrap_or_default())?;
        sheet.write_string(row, column + 2, &one.source)?;
        sheet.write_number(row, column + 3, f64::from(one.round))?;
        let kept = day_and_minute(&one.at);
        sheet.write_string_with_format(row, column + 4, kept, &formats.word)?;
        let note = lifts_in(&one.note, units);
        sheet.write_string_with_format(row, column + 5, note, &formats.text)?;
    }
    let last = u32::try_from(readings.len()).unwrap_or(u32::MAX);
    let columns = u16::try_from(headings.len()).unwrap_or(u16::MAX);
    sheet.autofilter(0, 0, last, columns.saturating_sub(1))?;
    sheet.set_freeze_panes(1, 0)?;
    sheet.set_repeat_rows(0, 0)?;
    lay_out(sheet);
    Ok(())
}
