//! `gauge find` and `gauge profile`.
//!
//! Both are answered in this process even if a daemon runs. A port that the daemon holds is
//! reported as busy.

use std::path::Path;

use benchhand_wire::{CheckProfile, FindGauge, Finding, FoundGauge, Reason, Refusal, UNIT_UNTOLD};
use serde_json::Value;

use crate::args::GaugeFindArgs;
use crate::client::ask;
use crate::context::Context;
use crate::data::{read_text, shown};
use crate::errors::{Exit, Failure};
use crate::local::Local;
use crate::out;
use crate::show::find as show;
use crate::written;

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
            port: args.port.clone(),
            allow_queries: args.allow_queries,
            questions: args.ask.iter().flat_map(|text| ended(text)).collect(),
        },
    )?;
    if let Some(unit) = &args.unit {
        say_unit(&mut answer.found, unit)?;
    }
    if let Some(file) = &args.save {
        save(file, &answer.found)?;
    }
    context.answer(&as_document(&answer)?, |_| {
        let saved = args.save.as_deref().map(shown);
        show::found(&answer, &next_command(&args), saved.as_deref())
    })?;
    Ok(Exit::Done)
}

/// The question with each line end that may be meant: its own, or CR, then CR LF.
fn ended(text: &str) -> Vec<String> {
    match text
        .chars()
        .last()
        .is_some_and(|last| last.is_ascii_control())
    {
        true => vec![text.to_owned()],
        false => vec![format!("{text}\r"), format!("{text}\r\n")],
    }
}

/// The command that comes next, as it can be pasted: keep the profile, or set the gauge up with it.
fn next_command(args: &GaugeFindArgs) -> String {
    let port = pasted(&args.port);
    if let Some(file) = &args.save {
        let file = pasted(&file.to_string_lossy());
        return format!("benchhand gauge set my-gauge --profile-file {file} --port {port}");
    }
    let mut command = format!("benchhand gauge find --port {port}");
    if args.allow_queries {
        command += " --allow-queries";
    }
    for text in &args.ask {
        let escaped: String = text.chars().flat_map(escaped).collect();
        command += &format!(" --ask {}", pasted(&escaped));
    }
    if let Some(unit) = &args.unit {
        command += &format!(" --unit {}", pasted(unit));
    }
    command + " --save my-gauge.toml"
}

/// A byte as `--ask` takes it.
fn escaped(byte: char) -> Vec<char> {
    let text = match byte {
        '\r' => "\\r".to_owned(),
        '\n' => "\\n".to_owned(),
        '\\' => "\\\\".to_owned(),
        ' '..='~' => byte.to_string(),
        _ => format!("\\x{:02X}", u32::from(byte)),
    };
    text.chars().collect()
}

/// An argument as a shell takes it.
fn pasted(argument: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || "/._-:@%+,".contains(c);
    match !argument.is_empty() && argument.chars().all(plain) {
        true => argument.to_owned(),
        false => format!("'{}'", argument.replace('\'', "'\\''")),
    }
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
            found.reasons.retain(|reason| reason != UNIT_UNTOLD);
            Ok(())
        }
    }
}

fn save(file: &Path, found: &Finding) -> Result<(), Refusal> {
    let saved = written::whole(file, found.profile.as_bytes(), false);
    saved.map_err(|refusal| refusal.todo("name another file; an existing file is not overwritten"))
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
