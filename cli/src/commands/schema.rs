//! `schema`: what the JSON documents of this program hold.

use benchhand_blueprint::known_word::meant;
use benchhand_wire::{Reason, Refusal, SCHEMAS, document_schema};
use serde::Serialize;

use crate::args::SchemaArgs;
use crate::context::Context;
use crate::errors::{Exit, Failure};
use crate::show::documents;

/// The documents, by name.
#[derive(Debug, Serialize)]
struct Documents {
    documents: Vec<Document>,
}

/// A document in the list.
#[derive(Debug, Serialize)]
struct Document {
    name: &'static str,
    printed_by: &'static str,
}

/// Prints one schema, or the names of all.
///
/// # Errors
/// No document has that name, or standard output cannot be written.
pub(super) fn run(context: &mut Context, args: &SchemaArgs) -> Result<Exit, Failure> {
    let Some(wanted) = &args.name else {
        let all = SCHEMAS.iter().map(|one| Document {
            name: one.name,
            printed_by: one.printed_by,
        });
        let all = Documents {
            documents: all.collect(),
        };
        context.answer(&all, |_| documents::list())?;
        return Ok(Exit::Done);
    };
    let found = meant(wanted, SCHEMAS.iter().map(|one| one.name));
    let found = found.map(document_schema);
    let Ok(Some(found)) = found else {
        let names: Vec<&str> = SCHEMAS.iter().map(|one| one.name).collect();
        return Err(Refusal::new(
            Reason::NotFound,
            format!("no document is called {wanted:?}"),
        )
        .expected(format!("one of {}", names.join(", ")))
        .into());
    };
    context.out.text(found.schema)?;
    Ok(Exit::Done)
}
