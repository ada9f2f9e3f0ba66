//! Puts new values into a person's text; remarks and the order of the lines stay.

use toml_edit::{DocumentMut, Item, Table, Value};

use super::RegisterEntry;

/// The text `old` with the values of `gauge`.
///
/// # Errors
/// In words, where the old text is no TOML.
pub(super) fn merged(old: &str, gauge: &RegisterEntry) -> Result<String, String> {
    let mut document: DocumentMut = old
        .parse()
        .map_err(|error: toml_edit::TomlError| error.message().to_owned())?;
    let plain = toml::to_string(gauge).map_err(|error| error.to_string())?;
    let new: DocumentMut = plain
        .parse()
        .map_err(|error: toml_edit::TomlError| error.message().to_owned())?;
    merge(document.as_table_mut(), new.as_table());
    Ok(document.to_string())
}

fn merge(old: &mut Table, new: &Table) {
    let gone: Vec<_> = old
        .iter()
        .map(|(key, _)| key.to_owned())
        .filter(|key| !new.contains_key(key))
        .collect();
    for key in gone {
        old.remove(&key);
    }
    for (key, item) in new {
        match (old.get_mut(key), item) {
            (Some(Item::Table(old)), Item::Table(new)) => merge(old, new),
            (Some(Item::Value(old)), Item::Value(new)) => replace(old, new),
            (Some(Item::Value(old @ Value::InlineTable(_))), Item::Table(new)) => {
                replace(old, &Value::InlineTable(new.clone().into_inline_table()));
            }
            (Some(Item::ArrayOfTables(old)), Item::ArrayOfTables(new))
                if old.len() == new.len() =>
            {
                old.iter_mut()
                    .zip(new)
                    .for_each(|(old, new)| merge(old, new));
            }
            _ => drop(old.insert(key, item.clone())),
        }
    }
}

/// Replaces a value, and keeps the blanks and the remark around it.
fn replace(old: &mut Value, new: &Value) {
    if bare(old) != bare(new) {
        let around = old.decor().clone();
        *old = new.clone();
        *old.decor_mut() = around;
    }
}

fn bare(value: &Value) -> String {
    value.clone().decorated("", "").to_string()
}
