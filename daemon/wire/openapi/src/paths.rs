//! The paths of the requests, each with its fields, its answer and its refusal.

use benchhand_wire::{API, Ask, Carry, KEY_HEADER};
use schemars::JsonSchema;
use serde_json::{Map, Value, json};

use crate::schemas::{Schemas, named};

/// The paths that are described so far.
#[derive(Default)]
pub(crate) struct Paths(Map<String, Value>);

impl Paths {
    /// Describes a request by its type.
    pub(crate) fn request<A>(&mut self, schemas: &mut Schemas)
    where
        A: Ask + JsonSchema,
        A::Answer: JsonSchema,
    {
        let fields = Schemas::of::<A>();
        let answer = schemas.answered::<A::Answer>();
        let of_answer = Schemas::of::<A::Answer>();
        let mut request = Map::new();
        request.insert("operationId".to_owned(), json!(snake(&A::schema_name())));
        request.insert("summary".to_owned(), fields["description"].clone());
        let said = of_answer["description"].as_str().unwrap_or_default();
        let responses = responses(said, "application/json", &answer);
        request.insert("responses".to_owned(), responses);
        if A::CARRY == Carry::Question {
            let parameters = parameters(A::PATH, &fields);
            if !parameters.is_empty() {
                request.insert("parameters".to_owned(), Value::Array(parameters));
            }
        } else {
            let body = json!({
                "required": true,
                "content": {"application/json": {"schema": schemas.asked::<A>()}},
            });
            request.insert("requestBody".to_owned(), body);
        }
        if A::CARRY == Carry::Change {
            request.insert("parameters".to_owned(), json!([write_key()]));
        }
        let method = match A::CARRY {
            Carry::Question => "get",
            Carry::Inquiry | Carry::Change => "post",
        };
        self.add(A::PATH, method, request);
    }

    /// Adds what is described by hand, at `path` below the API's version.
    pub(crate) fn add(&mut self, path: &str, method: &str, what: Map<String, Value>) {
        let before = self
            .0
            .insert(format!("/{API}/{path}"), json!({ method: what }));
        assert!(before.is_none(), "{path} is described twice");
    }

    pub(crate) fn into_map(self) -> Map<String, Value> {
        self.0
    }
}

/// What a request is answered with: `schema`, or a refusal.
pub(crate) fn responses(description: &str, media: &str, schema: &Value) -> Value {
    json!({
        "200": {"description": description, "content": {media: {"schema": schema}}},
        "default": {
            "description": "The request was refused.",
            "content": {"application/json": {"schema": named("Refusal")}},
        },
    })
}

fn write_key() -> Value {
    json!({
        "name": KEY_HEADER,
        "in": "header",
        "required": true,
        "description": "New for each change; the same again makes a repeated request count once.",
        "schema": {"type": "string", "minLength": 1, "maxLength": 200},
    })
}

/// The fields of a question, which stand in the query: texts, each by itself.
fn parameters(path: &str, fields: &Value) -> Vec<Value> {
    let required = fields["required"].as_array().cloned().unwrap_or_default();
    let properties = fields["properties"].as_object().into_iter().flatten();
    let parameter = |(name, field): (&String, &Value)| {
        let text = field["type"] == "string" || field["type"] == json!(["string", "null"]);
        assert!(
            text,
            "{path}: {name} is no text and cannot stand in a query"
        );
        json!({
            "name": name,
            "in": "query",
            "required": required.iter().any(|one| one == name),
            "description": field["description"],
            "schema": {"type": "string"},
        })
    };
    properties.map(parameter).collect()
}

/// `CheckGauge` as `check_gauge`.
fn snake(name: &str) -> String {
    let mut all = String::new();
    for (i, letter) in name.chars().enumerate() {
        if letter.is_uppercase() && i > 0 {
            all.push('_');
        }
        all.extend(letter.to_lowercase());
    }
    all
}
