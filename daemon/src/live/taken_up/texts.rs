//! The differences between two texts of the same kind, key by key.

use std::collections::BTreeMap;

use toml::{Table, Value};

/// More differences than this are counted, not listed.
const LISTED: usize = 8;

/// Keys that say nothing of how a gauge measures: their values are learned anew, or differ in every
/// job.
const LEFT_OUT: [&str; 3] = ["learned", "zero", "note"];

/// What has changed from `then` to `now`, in words: `stroke 3.62 in, was 3.48 in`. A text that is
/// no TOML counts as one value.
pub(super) fn changes(then: &str, now: &str) -> Vec<String> {
    if then == now {
        return Vec::new();
    }
    let (Ok(then), Ok(now)) = (then.parse::<Table>(), now.parse::<Table>()) else {
        return vec!["it reads otherwise".to_owned()];
    };
    let (then, now) = (flat(then), flat(now));
    let keys = then
        .keys()
        .chain(now.keys().filter(|k| !then.contains_key(*k)));
    let mut told: Vec<String> = keys
        .filter_map(|key| match (then.get(key), now.get(key)) {
            (Some(was), Some(is)) if was == is => None,
            (Some(was), Some(is)) => Some(format!("{key} {is}, was {was}")),
            (None, Some(is)) => Some(format!("{key} {is}, was not said")),
            (Some(was), None) => Some(format!("{key} not said any more, was {was}")),
            (None, None) => None,
        })
        .collect();
    if told.len() > LISTED {
        let more = told.len() - LISTED;
        told.truncate(LISTED);
        told.push(format!("and {more} more"));
    }
    told
}

/// Every value by its whole key, in spoken form: `calibration u`.
fn flat(table: Table) -> BTreeMap<String, String> {
    let mut all = BTreeMap::new();
    for (key, value) in table {
        if !LEFT_OUT.contains(&key.as_str()) {
            into(&mut all, plain(&key), value);
        }
    }
    all
}

fn into(all: &mut BTreeMap<String, String>, key: String, value: Value) {
    match value {
        Value::Table(table) => {
            for (inner, value) in table {
                into(all, format!("{key} {}", plain(&inner)), value);
            }
        }
        Value::Array(list) if list.iter().any(Value::is_table) => {
            for (at, value) in list.into_iter().enumerate() {
                into(all, format!("{key} {}", at + 1), value);
            }
        }
        Value::String(text) => drop(all.insert(key, text)),
        other => drop(all.insert(key, other.to_string())),
    }
}

/// A key in spoken form.
fn plain(key: &str) -> String {
    match key {
        "sense" => "direction".to_owned(),
        "u" => "uncertainty".to_owned(),
        _ => key.replace('_', " "),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_key_that_differs_is_told_with_what_it_was() {
        let then = "sense = 1\n[calibration]\nu = \"0.02 cc\"\n[learned]\nsigma = \"1 mm\"\n";
        let now = "sense = -1\n[calibration]\nu = \"0.02 cc\"\nscale = 0.001\n";
        let expected = [
            "direction -1, was 1",
            "calibration scale 0.001, was not said",
        ];
        let mut told = changes(then, now);
        told.sort();
        let mut expected = expected.to_vec();
        expected.sort_unstable();
        assert_eq!(told, expected);
        assert!(changes(then, then).is_empty());
    }

    #[test]
    fn many_differences_are_counted() {
        let text = |n: usize| {
            (0..20)
                .map(|i| format!("k{i:02} = {n}\n"))
                .collect::<String>()
        };
        let told = changes(&text(1), &text(2));
        assert_eq!((told.len(), told[8].as_str()), (9, "and 12 more"));
    }
}
