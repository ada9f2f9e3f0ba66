//! The types that requests and answers are made of, each described once by its name.
//!
//! A field with a default may be left out of a request and is always there in an answer, so the two
//! are described apart. A type that stands in both is described as a request may give it, which
//! holds of an answer too.

use std::collections::BTreeMap;

use schemars::generate::SchemaSettings;
use schemars::transform::transform_subschemas;
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde_json::{Map, Value, json};

const AT: &str = "/components/schemas";

/// The types that are described so far.
pub(crate) struct Schemas {
    asked: SchemaGenerator,
    answered: SchemaGenerator,
}

impl Default for Schemas {
    fn default() -> Schemas {
        Schemas {
            asked: settings().for_deserialize().into_generator(),
            answered: settings().for_serialize().into_generator(),
        }
    }
}

impl Schemas {
    /// A reference to a type that stands in a request.
    pub(crate) fn asked<T: JsonSchema>(&mut self) -> Value {
        self.asked.subschema_for::<T>().to_value()
    }

    /// A reference to a type that stands in an answer.
    pub(crate) fn answered<T: JsonSchema>(&mut self) -> Value {
        self.answered.subschema_for::<T>().to_value()
    }

    /// A type by itself, as a request may give it.
    pub(crate) fn of<T: JsonSchema>() -> Value {
        let generator = settings().for_deserialize().into_generator();
        generator.into_root_schema_for::<T>().to_value()
    }

    /// Every type by its name.
    pub(crate) fn into_map(mut self) -> Map<String, Value> {
        let mut all = self.answered.take_definitions(true);
        let asked = self.asked.take_definitions(true);
        let mut twice: Vec<&String> = Vec::new();
        for (name, asked) in &asked {
            let other = |answered: &Value| answered["description"] != asked["description"];
            if all.get(name).is_some_and(other) {
                twice.push(name);
            }
        }
        // A second type of one name is numbered.
        let numbered = |name: &&String| name.ends_with(|last: char| last.is_ascii_digit());
        twice.extend(all.keys().chain(asked.keys()).filter(numbered));
        assert!(twice.is_empty(), "names of two types: {twice:?}");
        all.extend(asked);
        name_flattened(&mut all);
        all
    }
}

/// A reference to the type called `name`.
pub(crate) fn named(name: &str) -> Value {
    json!({ "$ref": format!("#{AT}/{name}") })
}

/// Says of a field that holds any JSON, as far as its own package knows, which type it holds.
///
/// # Panics
/// Where there is no such field, or its type is known.
pub(crate) fn give_shape(all: &mut Map<String, Value>, holder: &str, field: &str, shape: &Value) {
    let at = format!("{holder}.{field}");
    let found = all
        .get_mut(holder)
        .and_then(|holder| holder["properties"].get_mut(field))
        .and_then(Value::as_object_mut);
    let field = found.unwrap_or_else(|| panic!("{at}: there is no such field"));
    let untyped = field.keys().all(|key| key == "description");
    assert!(untyped, "{at} has a type of its own");
    field.extend(shape.as_object().cloned().unwrap_or_default());
}

/// Says of a list of any JSON which type its items have.
///
/// # Panics
/// Where there is no such field, or its items have a type.
pub(crate) fn give_items_shape(
    all: &mut Map<String, Value>,
    holder: &str,
    field: &str,
    shape: &Value,
) {
    let at = format!("{holder}.{field}");
    let found = all
        .get_mut(holder)
        .and_then(|holder| holder["properties"].get_mut(field));
    let field = found.unwrap_or_else(|| panic!("{at}: there is no such field"));
    assert_eq!(
        field["items"],
        Value::Bool(true),
        "{at} has items of a type"
    );
    field["items"] = shape.clone();
}

fn settings() -> SchemaSettings {
    SchemaSettings::draft2020_12()
        .with(|settings| {
            settings.definitions_path = AT.into();
            settings.meta_schema = None;
        })
        .with_transform(plain_descriptions)
}

/// Descriptions without the source's line ends and links, in the words of JSON.
fn plain_descriptions(schema: &mut Schema) {
    if let Some(Value::String(text)) = schema.get_mut("description") {
        let paragraphs: Vec<String> = text
            .split("\n\n")
            .map(|paragraph| paragraph.split_whitespace().collect::<Vec<_>>().join(" "))
            .collect();
        *text = paragraphs
            .join("\n\n")
            .replace("[`", "`")
            .replace("`]", "`")
            .replace("`None`", "`null`");
    }
    transform_subschemas(&mut plain_descriptions, schema);
}

/// A type that was flattened into another has left its variants there; they become a reference.
fn name_flattened(all: &mut Map<String, Value>) {
    let mut owners: BTreeMap<String, String> = BTreeMap::new();
    for (name, schema) in all.iter() {
        // What has fields beside its variants is the one that others were flattened into.
        if let (Some(variants), None) = (schema.get("oneOf"), schema.get("properties")) {
            owners.insert(variants.to_string(), name.clone());
        }
    }
    for schema in all.values_mut().filter_map(Value::as_object_mut) {
        if !schema.contains_key("properties") {
            continue;
        }
        let owner = schema.get("oneOf").map(Value::to_string);
        if let Some(owner) = owner.and_then(|variants| owners.get(&variants)) {
            schema.remove("oneOf");
            schema.insert("allOf".to_owned(), json!([named(owner)]));
        }
    }
}
