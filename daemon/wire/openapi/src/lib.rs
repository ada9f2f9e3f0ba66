//! The description of the local API (OpenAPI 3.1), made from the types of the wire.
//!
//! A request type gives its path, how it is carried, its fields and, by its documentation, what it
//! does; its answer likewise. Only what no type says is written here: the security, the headers and
//! the event stream. This package knows neither the daemon nor HTTP.

mod documents;
mod paths;
mod schemas;

use benchhand_blueprint::Report;
use benchhand_blueprint::answers::{AnswerDocument, Question};
use benchhand_blueprint::report::OrderedReport;
use benchhand_wire::{API, Announced, Control, EVENTS, Event, Refusal};
use serde_json::{Map, Value, json};

pub use documents::documents;
use paths::Paths;
use schemas::Schemas;

/// The document as it is kept in the daemon's sources: indented, with a line end at its end.
///
/// # Panics
/// Where a type cannot be described: two types of one name, or a question whose fields do not fit a
/// query.
pub fn document() -> String {
    let mut schemas = Schemas::default();
    let mut paths = Paths::default();
    macro_rules! describe {
        ($($ask:ident),* $(,)?) => {
            $(paths.request::<benchhand_wire::$ask>(&mut schemas);)*
        };
    }
    benchhand_wire::every_request!(describe);
    let announced = schemas.answered::<Announced>();
    paths.add(EVENTS, "get", events(&announced));
    schemas.answered::<Refusal>();
    // Both are flattened into other types, where their names would be lost.
    schemas.asked::<Control>();
    schemas.answered::<Event>();
    // The wire carries the blueprint's documents without knowing their shape.
    let question = schemas.asked::<Question>();
    let answered = schemas.answered::<AnswerDocument>();
    let report = schemas.answered::<Report>();
    let beside = schemas.answered::<OrderedReport>();
    let mut schemas = schemas.into_map();
    for (holder, field, document) in [
        ("DecideJob", "question", &question),
        ("DecideAnswer", "document", &answered),
        ("ReportAnswer", "document", &report),
    ] {
        schemas::give_shape(&mut schemas, holder, field, document);
    }
    schemas::give_items_shape(&mut schemas, "OrdersAnswer", "document", &beside);
    let document = json!({
        "openapi": "3.1.0",
        "info": {
            "title": "benchhand local API",
            "version": API.trim_start_matches('v'),
            "description": "HTTP and server-sent events on loopback. The address and the token stand in daemon.json in the data folder, which only its owner can read. The board page, served at /, asks with a cookie instead. A field of an answer that is not required is absent where there is nothing to say.",
            "license": {"name": "MIT OR Apache-2.0", "identifier": "MIT OR Apache-2.0"},
        },
        "security": [{"token": []}, {"page": []}],
        "paths": paths.into_map(),
        "components": {
            "schemas": schemas,
            "securitySchemes": security(),
        },
    });
    format!("{document:#}\n")
}

fn security() -> Value {
    json!({
        "token": {"type": "http", "scheme": "bearer"},
        "page": {
            "type": "apiKey",
            "in": "cookie",
            "name": "benchhand-PORT",
            "description": "The board page's pass, given for a one-time code posted to /enter; a change must then name its Origin.",
        },
    })
}

fn events(announced: &Value) -> Map<String, Value> {
    let mut events = Map::new();
    events.insert("operationId".to_owned(), json!("events"));
    events.insert(
        "summary".to_owned(),
        json!(
            "What goes on at the bench, as server-sent events; each data line is an Announced object."
        ),
    );
    events.insert(
        "parameters".to_owned(),
        json!([{
            "name": "Last-Event-ID",
            "in": "header",
            "required": false,
            "description": "The number of the last event that was seen.",
            "schema": {"type": "integer"},
        }]),
    );
    events.insert(
        "responses".to_owned(),
        paths::responses("The event stream.", "text/event-stream", announced),
    );
    events
}
