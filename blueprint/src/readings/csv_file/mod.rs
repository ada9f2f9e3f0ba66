//! Readings from CSV: `spot,value,unit` and optionally `u`, `dof`, `gauge`, `stage`, `note`.
//!
//! All or nothing: if one row is bad, nothing is taken and every bad row is named.

mod rows;

use std::collections::BTreeMap;
use std::fmt;

use rows::{Row, gather};

use super::{FIRST_STAGE, Reading, ReadingValue};
use crate::engine::Engine;
use crate::most_told::MOST_TOLD;
use crate::spot::{FlowPart, Spot};
use crate::units::{Quantity, QuantityKind, Unit, delimiter, number, written_step};

/// One fault of a CSV file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CsvFault {
    /// The line, from 1.
    pub line: u64,
    /// The column in characters, from 1.
    pub column: usize,
    /// The name of the field; empty if it is the row as a whole.
    pub field: String,
    /// What was found, what was expected and what to do.
    pub message: String,
}

impl fmt::Display for CsvFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}, column {}: ", self.line, self.column)?;
        if !self.field.is_empty() {
            write!(f, "{}: ", self.field)?;
        }
        f.write_str(&self.message)
    }
}

/// The faults of a CSV file, in the order of its lines.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub struct CsvFaults {
    /// The first [`MOST_TOLD`] faults; at least one.
    pub faults: Vec<CsvFault>,
    /// How many further faults there are.
    pub more: usize,
}

impl CsvFaults {
    /// All the faults of a file.
    #[must_use]
    pub fn new(mut faults: Vec<CsvFault>) -> CsvFaults {
        let more = faults.len().saturating_sub(MOST_TOLD);
        faults.truncate(MOST_TOLD);
        CsvFaults { faults, more }
    }

    /// How many faults there are in all.
    #[must_use]
    pub fn count(&self) -> usize {
        self.faults.len().saturating_add(self.more)
    }
}

impl fmt::Display for CsvFaults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut list: Vec<String> = self.faults.iter().map(CsvFault::to_string).collect();
        if self.more > 0 {
            list.push(format!("and {} more", self.more));
        }
        f.write_str(&list.join("\n"))
    }
}

const FIELDS: [&str; 8] = [
    "spot", "value", "unit", "u", "dof", "gauge", "stage", "note",
];
const NEEDED: [&str; 3] = ["spot", "value", "unit"];

/// Reads readings from CSV and checks that the engine has their cylinders.
///
/// Lines that begin with `#` are comments. The fields are parted by commas, or by semicolons where the header
/// is. A reading without a stage is of "as received". The id
/// of a reading is `line` and the number of its line.
pub fn from_csv(text: &str, engine: &Engine) -> Result<Vec<Reading>, CsvFaults> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let delimiter = delimiter(text);
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .trim(csv::Trim::All)
        .flexible(true)
        .delimiter(delimiter)
        .from_reader(text.as_bytes());
    let mut sheet = Sheet {
        text,
        engine,
        delimiter: char::from(delimiter),
        columns: BTreeMap::new(),
        faults: Vec::new(),
        found: 0,
        counted: (0, 1),
    };
    match reader.headers() {
        Ok(headers) => sheet.header(&headers.clone()),
        Err(error) => sheet.broken(&error),
    }
    if sheet.found > 0 {
        return Err(sheet.into_faults());
    }
    let mut rows = Vec::new();
    for record in reader.records() {
        match record {
            Ok(record) if record.iter().all(str::is_empty) => {}
            Ok(record) => rows.extend(sheet.row(&record)),
            Err(error) => sheet.broken(&error),
        }
    }
    if rows.is_empty() && sheet.found == 0 {
        sheet.fault(
            1,
            1,
            "",
            "found no reading; expected rows below the header".to_owned(),
        );
    }
    if sheet.found == 0 {
        Ok(gather(rows))
    } else {
        Err(sheet.into_faults())
    }
}

struct Sheet<'a> {
    text: &'a str,
    engine: &'a Engine,
    /// What parts the fields.
    delimiter: char,
    columns: BTreeMap<String, usize>,
    /// The first faults.
    faults: Vec<CsvFault>,
    /// How many faults there are in all.
    found: usize,
    /// The beginning of the current record and its line.
    counted: (usize, u64),
}

impl Sheet<'_> {
    fn fault(&mut self, line: u64, column: usize, field: &str, message: String) {
        self.found = self.found.saturating_add(1);
        if self.faults.len() < MOST_TOLD {
            self.faults.push(CsvFault {
                line,
                column,
                field: field.to_owned(),
                message,
            });
        }
    }

    fn into_faults(self) -> CsvFaults {
        CsvFaults {
            more: self.found.saturating_sub(self.faults.len()),
            faults: self.faults,
        }
    }

    fn broken(&mut self, error: &csv::Error) {
        let line = error.position().map_or(1, csv::Position::line);
        self.fault(
            line,
            1,
            "",
            format!("found a row that cannot be read: {error}; correct it"),
        );
    }

    fn header(&mut self, headers: &csv::StringRecord) {
        let line = self.start(headers);
        if headers.len() == 1 && headers.iter().any(|one| one.contains('\t')) {
            let message = "found fields that are not separated by commas or semicolons; save the file with one of them";
            return self.fault(line, 1, "", message.to_owned());
        }
        for (at, name) in headers.iter().enumerate() {
            let name = name.to_ascii_lowercase();
            let column = self.column(at);
            if !FIELDS.contains(&name.as_str()) {
                let message = format!("found the column {name:?}; expected {}", FIELDS.join(", "));
                self.fault(line, column, &name, message);
            } else if self.columns.insert(name.clone(), at).is_some() {
                self.fault(
                    line,
                    column,
                    &name,
                    "found this column twice; keep one".to_owned(),
                );
            }
        }
        for name in NEEDED {
            if !self.columns.contains_key(name) {
                let message = "found no such column; the first line must name spot, value and unit";
                self.fault(line, 1, name, message.to_owned());
            }
        }
    }

    /// Where a record begins, past the comments and empty lines before it, as its line.
    /// Records are asked for in their order.
    fn start(&mut self, record: &csv::StringRecord) -> u64 {
        let mut at = record
            .position()
            .map_or(0, |position| position.byte() as usize);
        loop {
            let rest = self.text.get(at..).unwrap_or("");
            let past = rest.trim_start_matches(['\r', '\n']);
            at = self.text.len().saturating_sub(past.len());
            if !past.starts_with('#') {
                break;
            }
            at = at.saturating_add(past.find('\n').unwrap_or(past.len()));
        }
        let (counted, lines) = self.counted;
        let new = self
            .text
            .get(counted..at)
            .map_or(0, |between| between.matches('\n').count());
        self.counted = (at.max(counted), lines.saturating_add(new as u64));
        self.counted.1
    }

    /// The column in characters at which a field of the current record begins.
    fn column(&self, field: usize) -> usize {
        // What is only counted needs no place.
        if self.faults.len() >= MOST_TOLD {
            return 1;
        }
        let line = self.text.get(self.counted.0..).unwrap_or("");
        let (mut quoted, mut commas, mut column) = (false, 0_usize, 1_usize);
        for letter in line.chars() {
            if commas == field {
                break;
            }
            match letter {
                '"' => quoted = !quoted,
                parts if parts == self.delimiter && !quoted => commas = commas.saturating_add(1),
                '\r' | '\n' if !quoted => break,
                _ => {}
            }
            column = column.saturating_add(1);
        }
        column
    }

    fn row(&mut self, record: &csv::StringRecord) -> Option<Row> {
        let line = self.start(record);
        let before = self.found;
        let widest = self.columns.len();
        if record.len() > widest {
            let column = self.column(widest);
            let message = format!(
                "found {} fields where the header has {widest}; put a number with a decimal comma and a text with a comma in quotation marks, or separate the fields by semicolons",
                record.len()
            );
            self.fault(line, column, "", message);
        }
        let field = |name: &str| {
            let at = *self.columns.get(name)?;
            Some((at, record.get(at).unwrap_or(""))).filter(|(_, text)| !text.is_empty())
        };
        let (spot, value, unit) = (field("spot"), field("value"), field("unit"));
        let (u, dof, stage) = (field("u"), field("dof"), field("stage"));
        let [gauge, note] =
            ["gauge", "note"].map(|name| field(name).map(|(_, text)| text.to_owned()));
        let spot = self.needed("spot", spot, |sheet, text| sheet.spot(text));
        let number = self.needed("value", value, |_, text| read_number(text));
        let unit = self.needed("unit", unit, |_, text| {
            text.parse::<Unit>()
                .map_err(|error| format!("{error}; correct the unit"))
        });
        if let (Some((spot, part)), Some(unit)) = (&spot, unit) {
            let expected = part.map_or_else(|| self.engine.kind_of(spot), FlowPart::kind);
            if !self.engine.takes(expected, unit.kind()) {
                let weight = match (expected, unit.kind()) {
                    (QuantityKind::Volume, QuantityKind::Mass) => {
                        "; a weight serves where the engine file states the liquid, in [liquid]"
                    }
                    _ => "",
                };
                let message = format!(
                    "found {unit}, which is {}; this spot takes {expected}{weight}",
                    unit.kind()
                );
                let column = self.columns.get("unit").map_or(1, |&at| self.column(at));
                self.fault(line, column, "unit", message);
            }
        }
        if let (Some((spot, None | Some(FlowPart::Test))), Some((value, _)), Some(unit)) =
            (&spot, number, unit)
            && let Some(message) = spot.impossible(Quantity { value, unit })
            && self.found == before
        {
            let column = self.columns.get("value").map_or(1, |&at| self.column(at));
            self.fault(line, column, "value", message);
        }
        let size = |_: &Sheet<'_>, text: &str| {
            read_number(text).and_then(|(size, _)| {
                let message = format!("found {text:?}; a size cannot be negative");
                if size < 0.0 { Err(message) } else { Ok(size) }
            })
        };
        let u = u.and_then(|found| self.needed("u", Some(found), size));
        let dof = dof.and_then(|found| self.needed("dof", Some(found), size));
        if self.found > before {
            return None;
        }
        let ((spot, part), (value, step)) = (spot?, number?);
        let reading = Reading {
            id: format!("line {line}"),
            spot,
            value: ReadingValue::One(Quantity { value, unit: unit? }),
            u,
            dof: dof.filter(|&dof| dof > 0.0),
            gauge,
            step,
            zero: None,
            stage: stage.map_or(FIRST_STAGE, |(_, text)| text).to_owned(),
            note,
            conditions: None,
        };
        Some(Row { reading, part })
    }

    fn needed<T>(
        &mut self,
        name: &str,
        found: Option<(usize, &str)>,
        read: impl Fn(&Sheet<'_>, &str) -> Result<T, String>,
    ) -> Option<T> {
        let line = self.counted.1;
        let result = match found {
            Some((_, text)) => read(self, text),
            None => Err(format!("found nothing; expected a {name} in every row")),
        };
        match result {
            Ok(value) => Some(value),
            Err(message) => {
                let at = self.columns.get(name).copied().unwrap_or(0);
                let column = self.column(at);
                self.fault(line, column, name, message);
                None
            }
        }
    }

    /// A spot, and for a flow spot the part that its row holds.
    fn spot(&self, text: &str) -> Result<(Spot, Option<FlowPart>), String> {
        let by_part = text.rsplit_once('/').and_then(|(front, last)| {
            let part = FlowPart::named(last)?;
            text.starts_with("flow/").then_some((front, part))
        });
        let (front, part) = by_part.map_or((text, None), |(front, part)| (front, Some(part)));
        let spot: Spot = front
            .parse()
            .map_err(|error: crate::spot::SpotError| error.to_string())?;
        if matches!(spot, Spot::Flow { .. }) && part.is_none() {
            return Err(format!(
                "found {text:?} without its part; give each part a row of its own: {text}/test and {text}/metering"
            ));
        }
        self.engine
            .admit(&spot)
            .map_err(|error| error.to_string())?;
        Ok((spot, part))
    }
}

fn read_number(text: &str) -> Result<(f64, Option<f64>), String> {
    number(text)
        .map(|value| (value, written_step(text)))
        .map_err(|error| error.to_string())
}
