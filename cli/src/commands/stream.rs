//! `play` and `replay`: recorded streams, without daemon or store.

use crate::args::{Play, Replay, Turn};
use crate::bench::Bench;
use crate::data::{read_text, shown};
use crate::errors::{Exit, Failure};
use crate::local;
use crate::show::streams;

/// Decodes a recorded stream: a table, or one sample a line.
///
/// # Errors
/// Where the file cannot be read or is no recorded stream.
pub(super) fn play(bench: &mut Bench, args: &Play) -> Result<Exit, Failure> {
    let answer = local::play(&read_text(&args.file)?, &shown(&args.file))?;
    if bench.json {
        for sample in &answer.samples {
            bench.out.json_line(sample)?;
        }
        for (at_us, trouble) in &answer.troubles {
            crate::out::warn(&format!("at {at_us} µs: {trouble}"));
        }
    } else {
        bench.out.text(&streams::played(&answer))?;
    }
    Ok(Exit::Done)
}

/// Captures readings from a recorded stream: a table, or one capture event a line.
///
/// # Errors
/// Where the file cannot be read or is no recorded stream.
pub(super) fn replay(bench: &mut Bench, args: &Replay) -> Result<Exit, Failure> {
    let text = read_text(&args.file)?;
    let turn = args.turn.map(Turn::word);
    let lines = local::replay(&text, &shown(&args.file), args.mode.word(), turn)?;
    if bench.json {
        for line in &lines {
            bench.out.json_line(line)?;
        }
    } else {
        bench.out.text(&streams::replayed(&lines))?;
    }
    Ok(Exit::Done)
}
