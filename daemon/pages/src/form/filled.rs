//! What was filled into a form becomes the request.

use benchhand_blueprint::units::number;
use serde_json::{Map, Value};

use super::{FieldKind, FilledFields, FormField, RequestForm, points};

/// What was filled in and cannot be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotUsable {
    /// The field, as a person reads it.
    pub label: &'static str,
    /// What was filled in.
    pub found: String,
    /// What is expected.
    pub expected: &'static str,
}

/// The request that a form asks for. What was left empty is left out; fields that the form does
/// not have are not looked at.
///
/// # Errors
/// The first field that cannot be used.
pub fn request_of(form: &RequestForm, filled: &FilledFields) -> Result<Value, NotUsable> {
    let mut request = Map::new();
    for field in form.fields {
        if let FieldKind::Always(text) = field.kind {
            put(&mut request, field.name, Value::from(text));
            continue;
        }
        let found = filled.iter().find(|(name, _)| name == field.name);
        let text = found.map_or("", |(_, text)| text.as_str());
        // A file's own blanks and line ends stay.
        let text = if field.kind == FieldKind::Lines {
            text
        } else {
            text.trim()
        };
        if text.trim().is_empty() {
            if field.needed && field.kind != FieldKind::Tick {
                return Err(not_usable(field, text, "something filled in"));
            }
            continue;
        }
        put(&mut request, field.name, value(field, text)?);
    }
    Ok(Value::Object(request))
}

fn not_usable(field: &FormField, found: &str, expected: &'static str) -> NotUsable {
    NotUsable {
        label: field.label,
        found: found.to_owned(),
        expected,
    }
}

/// Whether a field takes a name or a sentence, in which a comma is a comma.
fn is_said(name: &str) -> bool {
    let last = name.rsplit('.').next().unwrap_or(name);
    let said = [
        "name", "job", "stage", "what", "reason", "note", "by", "gauge",
    ];
    said.contains(&last)
}

fn value(field: &FormField, text: &str) -> Result<Value, NotUsable> {
    let whole = |text: &str| {
        let number: Result<i64, _> = text.parse();
        number
            .map(Value::from)
            .map_err(|_| not_usable(field, text, "a whole number"))
    };
    let parts = || {
        text.split([',', ' ', '\t', '\r', '\n'])
            .filter(|p| !p.is_empty())
    };
    Ok(match field.kind {
        FieldKind::Text if !is_said(field.name) => Value::from(points(text)),
        FieldKind::Text | FieldKind::Always(_) | FieldKind::Lines => Value::from(text),
        FieldKind::Number => {
            Value::from(number(text).map_err(|_| not_usable(field, text, "a number"))?)
        }
        FieldKind::Whole => whole(text)?,
        FieldKind::Words => parts().map(Value::from).collect(),
        FieldKind::Wholes => Value::Array(parts().map(whole).collect::<Result<_, _>>()?),
        FieldKind::Choice(choices) | FieldKind::WholeChoice(choices) => {
            if !choices.iter().any(|(name, _)| *name == text) {
                return Err(not_usable(field, text, "one of those offered"));
            }
            if matches!(field.kind, FieldKind::WholeChoice(_)) {
                whole(text)?
            } else {
                Value::from(text)
            }
        }
        FieldKind::Tick => Value::from(text == "yes"),
        FieldKind::Rows(names) => Value::Array(
            lines(text)
                .map(|l| row(field, names, l))
                .collect::<Result<_, _>>()?,
        ),
        FieldKind::Lists => named(field, text, |words| {
            words
                .split([',', ' '])
                .filter(|w| !w.is_empty())
                .map(Value::from)
                .collect()
        })?,
        FieldKind::Pairs => named(field, text, |name| Value::from(name))?,
    })
}

fn lines(text: &str) -> impl Iterator<Item = &str> {
    text.lines().map(str::trim).filter(|line| !line.is_empty())
}

/// One line of columns; a column that is left empty is left out. Where numbers have decimal commas,
/// columns are parted by semicolons.
fn row(field: &FormField, names: &[&str], line: &str) -> Result<Value, NotUsable> {
    let parted_by = if line.contains(';') { ';' } else { ',' };
    let columns: Vec<String> = line
        .split(parted_by)
        .map(|cell| points(cell.trim()))
        .collect();
    if columns.len() > names.len() {
        return Err(not_usable(field, line, "no more columns than are named"));
    }
    let filled = names
        .iter()
        .zip(columns)
        .filter(|(_, text)| !text.is_empty());
    Ok(filled
        .map(|(name, text)| ((*name).to_owned(), Value::from(text)))
        .collect::<Map<_, _>>()
        .into())
}

/// Lines of a name, `=`, and what it is.
fn named(field: &FormField, text: &str, value: impl Fn(&str) -> Value) -> Result<Value, NotUsable> {
    let one = |line: &str| {
        let (name, rest) = line
            .split_once('=')
            .ok_or_else(|| not_usable(field, line, "a name, = and what it is"))?;
        Ok((name.trim().to_owned(), value(rest.trim())))
    };
    Ok(lines(text)
        .map(one)
        .collect::<Result<Map<_, _>, _>>()?
        .into())
}

/// Puts a value where a dotted name says.
fn put(object: &mut Map<String, Value>, name: &str, value: Value) {
    let Some((outer, inner)) = name.split_once('.') else {
        object.insert(name.to_owned(), value);
        return;
    };
    let below = object
        .entry(outer)
        .or_insert_with(|| Value::Object(Map::new()));
    if let Value::Object(below) = below {
        put(below, inner, value);
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;
    use crate::form::form_of;

    fn filled(fields: &[(&str, &str)]) -> FilledFields {
        let owned = |(name, value): &(&str, &str)| ((*name).to_owned(), (*value).to_owned());
        fields.iter().map(owned).collect()
    }

    fn request(of: &str, fields: &[(&str, &str)]) -> Result<Value, NotUsable> {
        request_of(form_of(of).expect("a form"), &filled(fields))
    }

    #[test]
    fn what_is_left_empty_is_left_out() {
        let asked = request(
            "conditions/set",
            &[
                ("job", "v8"),
                ("name", "liquid"),
                ("value", " water "),
                ("u", ""),
                ("since", "  "),
            ],
        );
        assert_eq!(
            asked,
            Ok(json!({"job": "v8", "name": "liquid", "value": "water"}))
        );
    }

    #[test]
    fn a_field_that_is_needed_is_named_where_it_is_empty() {
        let refused = request(
            "readings/void",
            &[("job", "v8"), ("number", "7"), ("reason", " ")],
        );
        assert_eq!(refused.expect_err("no reason").label, "Why");
    }

    #[test]
    fn numbers_are_numbers_and_words_a_list() {
        let asked = request(
            "jobs/cut",
            &[
                ("job", "v8"),
                ("stage", "milled 1"),
                ("what", "both"),
                ("changes", "chamber, deck"),
            ],
        );
        assert_eq!(
            asked.expect("usable")["changes"],
            json!(["chamber", "deck"])
        );
        let moved = request(
            "readings/move",
            &[("job", "v8"), ("number", "12"), ("to", "chamber/5")],
        );
        assert_eq!(moved.expect("usable")["number"], json!("12"));
    }

    #[test]
    fn a_decimal_comma_is_taken_where_a_number_is_typed_and_left_in_a_text() {
        let set = request(
            "gauges/set",
            &[
                ("setup.name", "b"),
                ("setup.profile", "ascii-volume"),
                ("setup.resolution", "0,01 cc"),
                ("setup.scale_u", "0,001"),
                ("setup.calibrated", "2026-01-12, weighed water at 20,5 degC"),
            ],
        );
        let set = set.expect("usable");
        assert_eq!(set["setup"]["resolution"], "0.01 cc");
        assert_eq!(set["setup"]["scale_u"], json!(0.001));
        assert_eq!(
            set["setup"]["calibrated"],
            "2026-01-12, weighed water at 20,5 degC"
        );
        let compared = request(
            "gauges/compare",
            &[
                ("name", "b"),
                ("job", "v8"),
                ("points", "10 cc; 10,02 cc\n20 cc; 20,05 cc; 0,01 cc\n"),
            ],
        );
        assert_eq!(
            compared.expect("usable")["points"],
            json!([
                {"master": "10 cc", "shown": "10.02 cc"},
                {"master": "20 cc", "shown": "20.05 cc", "u": "0.01 cc"}
            ])
        );
    }

    #[test]
    fn lines_become_rows_and_named_lists() {
        let compared = request(
            "gauges/compare",
            &[
                ("name", "b"),
                ("job", "v8"),
                ("points", "10 cc, 10.02 cc\n20 cc, 20.05 cc, 0.01 cc\n"),
            ],
        );
        assert_eq!(
            compared.expect("usable")["points"],
            json!([
                {"master": "10 cc", "shown": "10.02 cc"},
                {"master": "20 cc", "shown": "20.05 cc", "u": "0.01 cc"}
            ])
        );
        let begun = request(
            "routes/start",
            &[
                ("job", "v8"),
                ("route", "flow"),
                ("lists", "lift = 0.1in 0.2in"),
                ("gauges", "pressure = manometer"),
                ("cylinders", "3 4"),
            ],
        )
        .expect("usable");
        assert_eq!(begun["lists"], json!({"lift": ["0.1in", "0.2in"]}));
        assert_eq!(begun["gauges"], json!({"pressure": "manometer"}));
        assert_eq!(begun["cylinders"], json!([3, 4]));
    }

    #[test]
    fn a_dotted_name_is_a_field_inside_a_field() {
        let set = request(
            "gauges/set",
            &[
                ("setup.name", "b"),
                ("setup.profile", "by-eye-volume"),
                ("setup.sense", "-1"),
            ],
        );
        let set = set.expect("usable");
        assert_eq!(set["setup"]["name"], "b");
        assert_eq!(set["setup"]["sense"], json!(-1));
    }
}
