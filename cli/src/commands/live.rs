//! `live`, and what every command needs that follows the bench: events, Ctrl-C, typed lines
//! and a screen.

use std::io::{self, BufRead as _, IsTerminal as _};
use std::sync::mpsc::{self, Receiver, Sender};

use benchhand_wire::{Announced, Event, Reason, Refusal, State, Watch};
use indicatif::{ProgressBar, ProgressStyle};

use crate::client::events::{self, Told};
use crate::client::{Http, ask};
use crate::context::Context;
use crate::errors::{Exit, Failure};
use crate::interrupt;
use crate::show::live::View;

/// Shows gauges and routes until Ctrl-C.
///
/// # Errors
/// Where live gauges cannot be had, or the daemon ends.
pub(super) fn run(context: &mut Context, job: Option<String>) -> Result<Exit, Failure> {
    let live = context.live()?;
    let listening = Listening::start(&live.http)?;
    let mut view = View::new(job);
    let mut screen = Screen::new(context.json);
    if context.json {
        for announced in as_events(&listening.state) {
            if view.wants(&announced.event) {
                context.out.json_line(&announced)?;
            }
        }
    } else {
        view.renew(&listening.state);
        screen.stand(&view);
        if !screen.in_terminal() {
            context.out.text(&view.standing().join("\n"))?;
        }
    }
    loop {
        match listening.next() {
            Heard::Event(announced) => {
                follow(context, &live.http, &mut view, &mut screen, &announced)?
            }
            Heard::Typed(_) => {}
            Heard::Lost => {
                view.lost();
                screen.stand(&view);
            }
            Heard::Interrupted => break,
            Heard::Ended => return Err(ended().into()),
        }
    }
    drop(screen);
    live.finish()?;
    Ok(Exit::Done)
}

/// Takes one event: prints what is to be said and renews what stands.
///
/// # Errors
/// Where standard output cannot be written, or the state cannot be had after missed events.
pub(super) fn follow(
    context: &mut Context,
    http: &Http,
    view: &mut View,
    screen: &mut Screen,
    announced: &Announced,
) -> Result<(), Failure> {
    if context.json {
        if view.wants(&announced.event) {
            context.out.json_line(announced)?;
        }
        return Ok(());
    }
    if let Event::Caught { missed: true } = announced.event {
        view.renew(&ask(http, &Watch {})?);
    }
    if let Some(line) = view.take(&announced.event) {
        screen.print(context, &line)?;
    }
    screen.stand(view);
    Ok(())
}

/// The state as the events that would lead to it, so that a program reads one form only.
fn as_events(state: &State) -> Vec<Announced> {
    let gauges = state.gauges.iter().map(|gauge| Event::Link {
        gauge: gauge.clone(),
    });
    let routes = state.routes.iter().map(|progress| Event::Route {
        progress: progress.clone(),
    });
    gauges
        .chain(routes)
        .map(|event| Announced {
            id: state.id,
            event,
        })
        .collect()
}

/// The refusal for a daemon that went away.
pub(super) fn ended() -> Refusal {
    let found = "the daemon ended; every reading that was taken until then is kept";
    Refusal::new(Reason::Unavailable, found)
        .todo("start it with `benchhand serve`, then the same command again")
}

/// One thing heard while following the bench.
#[derive(Debug)]
pub(super) enum Heard {
    /// An event.
    Event(Box<Announced>),
    /// A line typed in the terminal.
    Typed(String),
    /// Ctrl-C.
    Interrupted,
    /// The connection is lost and being sought again.
    Lost,
    /// The daemon ended.
    Ended,
}

/// Following the bench: all that can be heard, in one queue.
#[derive(Debug)]
pub(super) struct Listening {
    /// What was live when it began; every later event is heard.
    pub(super) state: State,
    heard: Receiver<Heard>,
    to: Sender<Heard>,
}

impl Listening {
    /// Begins to follow. From now on Ctrl-C is heard instead of ending the process; a second
    /// one ends it all the same, which loses nothing that was acknowledged.
    ///
    /// # Errors
    /// Where the daemon does not answer.
    pub(super) fn start(http: &Http) -> Result<Self, Refusal> {
        let (to, heard) = mpsc::channel();
        let interrupted = to.clone();
        let mut before = false;
        interrupt::on_each(move || {
            if std::mem::replace(&mut before, true) {
                std::process::exit(Exit::Interrupted.code().into());
            }
            let _ = interrupted.send(Heard::Interrupted);
        });
        let state = ask(http, &Watch {})?;
        let told = to.clone();
        events::follow(http, state.id, move |one| {
            let one = match one {
                Told::Event(event) => Heard::Event(event),
                Told::Lost => Heard::Lost,
                Told::Ended => Heard::Ended,
            };
            told.send(one).is_ok()
        })?;
        Ok(Listening { state, heard, to })
    }

    /// Hears typed lines too, where standard input is a terminal: a run without one is never
    /// steered by chance.
    pub(super) fn hear_typed_lines(&self) -> bool {
        if !io::stdin().is_terminal() {
            return false;
        }
        let to = self.to.clone();
        std::thread::spawn(move || {
            for line in io::stdin().lock().lines().map_while(Result::ok) {
                if to.send(Heard::Typed(line)).is_err() {
                    return;
                }
            }
        });
        true
    }

    /// Waits for the next thing.
    pub(super) fn next(&self) -> Heard {
        self.heard.recv().unwrap_or(Heard::Ended)
    }
}

/// What stands at the foot of a terminal while lines scroll above it; outside a terminal only
/// the lines are printed.
#[derive(Debug)]
pub(super) struct Screen {
    bar: Option<ProgressBar>,
}

impl Screen {
    /// A screen on standard error where both outputs are terminals and no JSON is wanted.
    pub(super) fn new(json: bool) -> Self {
        let terminal = io::stdout().is_terminal() && io::stderr().is_terminal();
        let bar = (terminal && !json).then(|| {
            let bar = ProgressBar::new_spinner();
            if let Ok(style) = ProgressStyle::with_template("{msg}") {
                bar.set_style(style);
            }
            bar
        });
        Screen { bar }
    }

    /// Whether something can stand on it.
    pub(super) fn in_terminal(&self) -> bool {
        self.bar.is_some()
    }

    /// Renews what stands.
    pub(super) fn stand(&self, view: &View) {
        if let Some(bar) = &self.bar {
            bar.set_message(view.standing().join("\n"));
        }
    }

    /// Prints a line above what stands.
    ///
    /// # Errors
    /// Where standard output cannot be written.
    pub(super) fn print(&self, context: &mut Context, line: &str) -> io::Result<()> {
        match &self.bar {
            Some(bar) => bar.suspend(|| context.out.text(line)),
            None => context.out.text(line),
        }
    }

    /// Prints a line for a person; where JSON is printed, on standard error.
    ///
    /// # Errors
    /// Where standard output cannot be written.
    pub(super) fn print_unless_json(&self, context: &mut Context, line: &str) -> io::Result<()> {
        if context.json {
            crate::out::warn(line);
            return Ok(());
        }
        self.print(context, line)
    }

    /// Lets one line stand; outside a terminal, prints it.
    ///
    /// # Errors
    /// Where standard output cannot be written.
    pub(super) fn renew_or_print(&mut self, context: &mut Context, line: &str) -> io::Result<()> {
        match &self.bar {
            Some(bar) => {
                bar.set_message(line.to_owned());
                Ok(())
            }
            None => context.out.text(line),
        }
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}
