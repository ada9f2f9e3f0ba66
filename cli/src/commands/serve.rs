//! `serve` and `stop`.

use benchhand_wire::{Hello, Reason, Refusal, StopDaemon};
use serde_json::json;

use super::live::{FollowedEvents, ScreenInput};
use crate::arenas;
use crate::args::ServeArgs;
use crate::client::ask;
use crate::context::Context;
use crate::errors::{Exit, Failure};
use crate::foreground;

/// Runs the daemon until Ctrl-C, SIGTERM or `benchhand stop`.
///
/// # Errors
/// A daemon already runs on the folder, or it cannot be started.
pub(super) fn run(context: &mut Context, args: &ServeArgs) -> Result<Exit, Failure> {
    arenas::few();
    let data = context.data()?;
    if let Some(daemon) = context.daemon()? {
        let process = ask(&daemon, &Hello {}).map(|hello| format!(" (process {})", hello.pid));
        return Err(Refusal::new(
            Reason::StoreBusy,
            format!(
                "a daemon{} runs on {} already",
                process.unwrap_or_default(),
                data.display()
            ),
        )
        .todo("use that daemon, or end it with `benchhand stop`")
        .into());
    }
    let mut printed = Ok(());
    foreground::run(&data, args.listen_port, args.speed, |ready| {
        printed = if context.json {
            context.out.json_line(&json!({
                "address": ready.address.to_string(),
                "data": data,
                "board": ready.board,
            }))
        } else {
            context.out.text(&format!(
                "The daemon answers at http://{}\nEverything is kept in {}\n\
                 The board, once, within two minutes: {}\n\
                 `benchhand board` gives a fresh address. Ctrl-C or `benchhand stop` ends it.",
                ready.address,
                data.display(),
                ready.board
            ))
        };
    })?;
    printed?;
    Ok(Exit::Done)
}

/// Asks the daemon to end, and waits until it has kept everything.
///
/// # Errors
/// No daemon runs.
pub(super) fn stop(context: &mut Context) -> Result<Exit, Failure> {
    let http = context.running()?;
    let listening = FollowedEvents::start(&http)?;
    let answer = ask(&http, &StopDaemon {})?;
    loop {
        match listening.next() {
            ScreenInput::Ended => break,
            ScreenInput::Interrupted => return Ok(Exit::Interrupted),
            ScreenInput::Event(_) | ScreenInput::Lost | ScreenInput::Typed(_) => {}
        }
    }
    context.answer(&answer, |answer| {
        format!("The daemon (process {}) is ending.", answer.pid)
    })?;
    Ok(Exit::Done)
}
