//! `play` and `replay`: recorded streams, without daemon or store.

use std::path::Path;

use benchhand_wire::{Refusal, ReplayNote};

use crate::args::{PlayArgs, ReplayArgs, TurningPoint};
use crate::context::Context;
use crate::data::{read_text, shown};
use crate::errors::{Exit, Failure};
use crate::local;
use crate::show::streams;

/// Decodes a recorded stream into a table, or into one sample on each line.
///
/// # Errors
/// The file cannot be read or is not a recorded stream.
pub(super) fn play(context: &mut Context, args: &PlayArgs) -> Result<Exit, Failure> {
    let own = profile(args.profile_file.as_deref())?;
    let answer = local::play(&read_text(&args.file)?, &shown(&args.file), own.as_ref())?;
    if context.json {
        for sample in &answer.samples {
            context.out.json_line(sample)?;
        }
        for (at_us, trouble) in &answer.troubles {
            crate::out::warn(&format!("at {at_us} µs: {trouble}"));
        }
    } else {
        context.out.text(&streams::played(&answer))?;
    }
    Ok(Exit::Done)
}

/// The user's own profile: the name of its file, and its text.
fn profile(file: Option<&Path>) -> Result<Option<(String, String)>, Refusal> {
    file.map(|file| Ok((shown(file), read_text(file)?)))
        .transpose()
}

/// Captures readings from a recorded stream into a table, or into one capture event on each line.
///
/// # Errors
/// The file cannot be read or is not a recorded stream.
pub(super) fn replay(context: &mut Context, args: &ReplayArgs) -> Result<Exit, Failure> {
    let text = read_text(&args.file)?;
    let turn = args.turn.map(TurningPoint::word);
    let own = profile(args.profile_file.as_deref())?;
    let replayed = local::replay(
        &text,
        &shown(&args.file),
        own.as_ref(),
        args.mode.word(),
        turn,
        args.resolution.as_deref(),
    )?;
    if !context.json {
        context.out.text(&streams::replayed(&replayed))?;
        return Ok(Exit::Done);
    }
    let mut notes = replayed.notes.iter().peekable();
    for line in &replayed.lines {
        while let Some(note) = notes.next_if(|note| note.at_us <= line.at_us) {
            say(context, note, args.notes)?;
        }
        context.out.json_line(line)?;
    }
    for note in notes {
        say(context, note, args.notes)?;
    }
    if let Some(why) = &replayed.why_nothing {
        crate::out::warn(&format!("nothing was captured: {why}"));
    }
    Ok(Exit::Done)
}

/// Prints a note beside JSON: as a separate line if asked for, otherwise on standard error.
fn say(context: &mut Context, note: &ReplayNote, as_line: bool) -> Result<(), Failure> {
    if as_line {
        context.out.json_line(note)?;
    } else {
        crate::out::warn(&streams::note(note));
    }
    Ok(())
}
