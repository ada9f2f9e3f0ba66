//! `gauge find` and `gauge profile`.
//!
//! Both are answered in this process even if a daemon runs. A port that the daemon holds is
//! reported as busy.

use std::path::Path;

use benchhand_wire::{CheckProfile, FindGauge, Finding, FoundGauge, Reason, Refusal};
use serde_json::Value;

use crate::args::GaugeFindArgs;
use crate::client::ask;
use crate::context::Context;
use crate::data::{read_text, shown};
use crate::errors::{Exit, Failure};
use crate::local::Local;
use crate::out;
use crate::show::find as show;

/// The line of a profile whose unit nobody has told yet.
const UNTOLD: &str = "unit = \"1\"";

/// Finds a profile for the gauge at a port.
///
/// # Errors
/// The port cannot be opened, or nothing is heard on it.
pub(super) fn find(context: &mut Context, args: GaugeFindArgs) -> Result<Exit, Failure> {
    if !context.json {
        out::warn("Listening for some ten seconds. Move the gauge meanwhile.");
    }
    let client = Local::open(&context.data()?)?;
    let mut answer = ask(
        &client,
        &FindGauge {
            port: args.port,
            allow_queries: args.allow_queries,
        },
    )?;
    if let Some(unit) = &args.unit {
        say_unit(&mut answer.found, unit)?;
    }
    if let Some(file) = &args.save {
        save(file, &answer.found)?;
    }
    context.answer(&as_document(&answer)?, |_| {
        show::found(&answer, args.save.as_deref().map(shown).as_deref())
    })?;
    Ok(Exit::Done)
}

/// Puts the unit that the person named into the profile.
fn say_unit(found: &mut Finding, unit: &str) -> Result<(), Refusal> {
    let known: benchhand_blueprint::Unit = unit
        .parse()
        .map_err(|e| Refusal::new(Reason::BadInput, format!("{e}")))?;
    match &found.unit {
        Some(told) if told != known.symbol() => Err(Refusal::new(
            Reason::Conflict,
            format!("the gauge itself sends {told}, not {known}"),
        )
        .todo("leave --unit out, or switch the gauge")),
        Some(_) => Ok(()),
        None => {
            found.profile = found
                .profile
                .replace(UNTOLD, &format!("unit = \"{}\"", known.symbol()));
            found.unit = Some(known.symbol().to_owned());
            Ok(())
        }
    }
}

fn save(file: &Path, found: &Finding) -> Result<(), Refusal> {
    let refused = |error: std::io::Error| {
        Refusal::new(Reason::Storage, format!("{}: {error}", file.display()))
            .todo("name another file; an existing file is not overwritten")
    };
    let mut options = std::fs::OpenOptions::new();
    let mut to = options
        .write(true)
        .create_new(true)
        .open(file)
        .map_err(refused)?;
    std::io::Write::write_all(&mut to, found.profile.as_bytes()).map_err(refused)
}

/// One object: the surest candidate, with the other candidates under `others`.
fn as_document(answer: &FoundGauge) -> std::io::Result<Value> {
    let mut document = serde_json::to_value(&answer.found)?;
    if let Value::Object(fields) = &mut document {
        fields.insert("others".to_owned(), serde_json::to_value(&answer.others)?);
    }
    Ok(document)
}

/// Checks a profile file.
///
/// # Errors
/// The first mistake, at its line, or the wrong result of a capture.
pub(super) fn check(context: &mut Context, file: &Path) -> Result<Exit, Failure> {
    let text = read_text(file)?;
    let client = Local::open(&context.data()?)?;
    let file = shown(file);
    let answer = ask(&client, &CheckProfile { text, file })?;
    context.answer(&answer, show::checked)?;
    Ok(Exit::Done)
}
