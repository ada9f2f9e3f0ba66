//! Tables of a JSON document: a list of objects is a table, and each object in it a row.
//!
//! This module does not know what a document means. Columns are named as in the document, so
//! that whoever reads JSON knows the tables too. Numbers keep all their digits.

use serde_json::{Map, Value};

/// The name of the table that holds everything that is no list.
const REST: &str = "summary";

/// Columns in the order in which they first appear, and rows of them.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Table {
    columns: Vec<String>,
    rows: Vec<Vec<(usize, String)>>,
}

/// A table with its name.
pub(super) type NamedTable = (String, Table);

impl Table {
    fn begin_row(&mut self) {
        self.rows.push(Vec::new());
    }

    fn put(&mut self, column: &str, value: String) {
        let known = self.columns.iter().position(|one| one == column);
        let at = known.unwrap_or_else(|| {
            self.columns.push(column.to_owned());
            self.columns.len() - 1
        });
        if let Some(row) = self.rows.last_mut() {
            row.push((at, value));
        }
    }

    /// The table as CSV (RFC 4180), headings first.
    ///
    /// # Errors
    /// What the writer of CSV refuses.
    pub(super) fn csv(&self) -> Result<Vec<u8>, String> {
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer
            .write_record(&self.columns)
            .map_err(|error| error.to_string())?;
        for row in &self.rows {
            let mut cells = vec![""; self.columns.len()];
            for (at, value) in row {
                if let Some(cell) = cells.get_mut(*at) {
                    *cell = value;
                }
            }
            writer
                .write_record(cells)
                .map_err(|error| error.to_string())?;
        }
        writer.into_inner().map_err(|error| error.to_string())
    }
}

/// Every table of a document.
pub(super) fn of(document: &Value) -> Vec<NamedTable> {
    let Value::Object(fields) = document else {
        return Vec::new();
    };
    let mut all = Vec::new();
    let mut rest = Table::default();
    for (name, value) in fields {
        match value {
            Value::Array(_) if !rows_of(value).is_empty() => all.extend(named(name, value)),
            Value::Object(inner) if figure(inner).is_none() => {
                for (below, value) in inner {
                    add_to_rest(&mut rest, &format!("{name}.{below}"), value, &mut all);
                }
            }
            other => add_to_rest(&mut rest, name, other, &mut all),
        }
    }
    if !rest.rows.is_empty() {
        all.push((REST.to_owned(), rest));
    }
    all
}

/// Adds a value that is no list as a row of its name and its value.
fn add_to_rest(rest: &mut Table, name: &str, value: &Value, all: &mut Vec<NamedTable>) {
    if !rows_of(value).is_empty() {
        return all.extend(named(name, value));
    }
    rest.begin_row();
    rest.put("name", name.to_owned());
    let fields = Map::from_iter([("value".to_owned(), value.clone())]);
    fill(rest, "", &fields);
}

/// The table of a list of objects, and those of the lists inside its rows.
pub(super) fn named(name: &str, list: &Value) -> Vec<NamedTable> {
    let mut all: Vec<NamedTable> = Vec::new();
    tabled(name, list, &[], &mut all);
    all
}

fn tabled(name: &str, list: &Value, above: &[(String, String)], all: &mut Vec<NamedTable>) {
    let place = all.iter().position(|(known, _)| known == name);
    let place = place.unwrap_or_else(|| {
        all.push((name.to_owned(), Table::default()));
        all.len() - 1
    });
    for row in rows_of(list) {
        if let Some((_, table)) = all.get_mut(place) {
            table.begin_row();
            // The columns that tell the rows apart come first.
            for (column, value) in above.iter().cloned().chain(names_of(row)) {
                table.put(&column, value);
            }
            fill(table, "", row);
        }
        let mut here = above.to_vec();
        here.extend(names_of(row));
        for (below, value) in row {
            if !rows_of(value).is_empty() {
                tabled(&format!("{name}.{below}"), value, &here, all);
            }
        }
    }
}

/// The plain fields of a row, by which the rows below it are told apart.
fn names_of(row: &Map<String, Value>) -> Vec<(String, String)> {
    let plain = |value: &Value| value.is_string() || value.is_u64();
    let fields = row.iter().filter(|(_, value)| plain(value));
    fields
        .map(|(name, value)| (name.clone(), cell(value)))
        .collect()
}

/// Fills a row with the fields of an object; `before` stands before their names.
fn fill(table: &mut Table, before: &str, fields: &Map<String, Value>) {
    for (name, value) in fields {
        let column = format!("{before}{name}");
        match value {
            Value::Object(inner) => {
                let mut inner = inner.clone();
                if let Some(number) = figure(&inner).cloned() {
                    table.put(&column, cell(&number));
                    inner.remove("value");
                }
                fill(table, &format!("{column}."), &inner);
            }
            // A list of rows is a table of its own.
            Value::Array(_) if !rows_of(value).is_empty() => {}
            other => table.put(&column, cell(other)),
        }
    }
}

/// The number of a figure: an object with a value and a unit.
fn figure(fields: &Map<String, Value>) -> Option<&Value> {
    fields.get("value").filter(|_| fields.contains_key("unit"))
}

/// The rows of a list of objects; none of anything else.
fn rows_of(value: &Value) -> Vec<&Map<String, Value>> {
    let list = value.as_array().map(Vec::as_slice).unwrap_or_default();
    let rows: Option<Vec<&Map<String, Value>>> = list.iter().map(Value::as_object).collect();
    rows.unwrap_or_default()
}

fn cell(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::String(text) => text.clone(),
        Value::Array(all) => all.iter().map(cell).collect::<Vec<_>>().join("; "),
        other => other.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn text(all: &[NamedTable], name: &str) -> String {
        let (_, table) = all
            .iter()
            .find(|(known, _)| known == name)
            .unwrap_or_else(|| panic!("{name} is no table"));
        String::from_utf8(table.csv().expect("CSV")).expect("text")
    }

    #[test]
    fn a_figure_has_its_u_and_unit_beside_it_and_a_missing_one_is_empty() {
        let document = json!({"cylinders": [
            {"cylinder": 1, "chamber": {"value": 64.25, "u": 0.05, "unit": "cc"}},
            {"cylinder": 2, "chamber": null, "marks": ["a", "b"]},
        ]});
        let csv = text(&of(&document), "cylinders");
        assert_eq!(
            csv,
            "cylinder,chamber,chamber.u,chamber.unit,marks\n1,64.25,0.05,cc,\n2,,,,a; b\n"
        );
    }

    #[test]
    fn a_list_inside_a_row_is_a_table_that_says_where_it_belongs() {
        let document = json!({"cylinders": [
            {"cylinder": 3, "points": [{"at": "front", "value": 1}, {"at": "rear", "value": 2}]},
        ]});
        let all = of(&document);
        assert_eq!(
            text(&all, "cylinders.points"),
            "cylinder,at,value\n3,front,1\n3,rear,2\n"
        );
        assert_eq!(text(&all, "cylinders"), "cylinder\n3\n");
    }

    #[test]
    fn what_is_no_table_stands_in_the_summary_and_commas_and_lines_stay_one_cell() {
        let document = json!({
            "stage": "as received",
            "note": "one, two\nthree \"four\"",
            "summary": {"chamber_mean": {"value": 64.0, "u": null, "unit": "cc"}},
        });
        let csv = text(&of(&document), "summary");
        assert!(csv.contains("stage,as received"), "{csv}");
        assert!(csv.contains("\"one, two\nthree \"\"four\"\"\""), "{csv}");
        assert!(csv.contains("summary.chamber_mean,64.0,,cc"), "{csv}");
    }
}
