//! The OpenAPI document of the local API, which the daemon serves at `/openapi.json`.
//!
//! The package `benchhand-openapi` makes it from the wire's types; a test of that package fails
//! where the file and the types differ.

use std::sync::OnceLock;

use axum::extract::Path;
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse as _, Response};
use benchhand_wire::{Reason, Refusal, SCHEMAS, document_schema};
use serde_json::Value;

use super::refuse;

const TEXT: &str = include_str!("openapi.json");

/// The document.
pub fn document() -> &'static Value {
    static DOCUMENT: OnceLock<Value> = OnceLock::new();
    DOCUMENT.get_or_init(|| serde_json::from_str(TEXT).unwrap_or_default())
}

/// The schema of a document that commands print, at `/schemas/NAME.json`.
pub(super) async fn schema(Path(file): Path<String>) -> Response {
    let name = file.strip_suffix(".json").unwrap_or(&file);
    match document_schema(name) {
        Some(found) => ([(CONTENT_TYPE, "application/schema+json")], found.schema).into_response(),
        None => {
            let names: Vec<&str> = SCHEMAS.iter().map(|one| one.name).collect();
            refuse(
                &Refusal::new(Reason::NotFound, format!("no document is called {name:?}"))
                    .expected(format!("one of {}", names.join(", "))),
            )
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::desk::Desk;
    use benchhand_wire::{AnswerWord, Carry, Control, QuestionAbout, SaidAs, Typed};

    #[test]
    fn the_document_describes_exactly_the_requests_that_are_answered() {
        let paths = document()["paths"].as_object().unwrap();
        let mut described: Vec<(String, Carry)> = paths
            .iter()
            .filter(|(path, _)| *path != "/v1/events")
            .map(|(path, what)| {
                let carry = if what["get"].is_object() {
                    Carry::Question
                } else if what["post"]["parameters"].is_null() {
                    Carry::Inquiry
                } else {
                    Carry::Change
                };
                (path.trim_start_matches("/v1/").to_owned(), carry)
            })
            .collect();
        described.sort_by(|a, b| a.0.cmp(&b.0));
        let mut answered: Vec<(String, Carry)> = Desk::requests()
            .map(|(path, carry)| (path.to_owned(), carry))
            .collect();
        answered.sort_by(|a, b| a.0.cmp(&b.0));
        assert_eq!(described, answered);
    }

    /// The words of an enumeration, each with what it means.
    fn words(name: &str) -> Vec<Value> {
        let one_of = document()["components"]["schemas"][name]["oneOf"].as_array();
        let words: Vec<Value> = one_of
            .unwrap()
            .iter()
            .map(|one| one["const"].clone())
            .collect();
        assert!(!words.is_empty(), "{name}");
        words
    }

    #[test]
    fn the_document_names_every_control_and_every_answer() {
        let schemas = &document()["components"]["schemas"];
        let controls = schemas["Control"]["oneOf"].as_array().unwrap();
        let named: Vec<String> = controls.iter().map(|one| one.to_string()).collect();
        let controls = [
            Control::Take,
            Control::Again,
            Control::Back,
            Control::Skip,
            Control::Add,
            Control::Hold,
            Control::Resume,
            Control::Keep,
            Control::Refill,
            Control::Delivered,
            Control::Split,
            Control::Drop,
            Control::Undo,
            Control::Go {
                spot: String::new(),
            },
            Control::Type(Typed::default()),
            Control::End,
        ];
        assert_eq!(named.len(), controls.len());
        for control in &controls {
            let word = serde_json::to_value(control).unwrap()["control"].to_string();
            let has = |one: &&String| one.contains(&format!("\"const\":{word}"));
            assert_eq!(named.iter().filter(has).count(), 1, "{word}");
        }
        for answer in words("AnswerWord") {
            serde_json::from_value::<AnswerWord>(answer.clone()).expect("an answer");
            let is = |one: &&String| one.contains(&format!("\"const\":{answer}"));
            assert_eq!(named.iter().filter(is).count(), 1, "{answer} is a control");
        }
        for about in words("QuestionAbout") {
            serde_json::from_value::<QuestionAbout>(about.clone()).expect("what it is about");
        }
        for said in words("SaidAs") {
            serde_json::from_value::<SaidAs>(said.clone()).expect("a tone");
        }
    }

    #[test]
    fn every_reference_in_the_document_resolves() {
        let schemas = document()["components"]["schemas"].as_object().unwrap();
        let text = TEXT.split("\"#/components/schemas/").skip(1);
        for name in text.filter_map(|rest| rest.split('"').next()) {
            assert!(schemas.contains_key(name), "{name}");
        }
    }
}
