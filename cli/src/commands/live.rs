//! `live`, and what every command that follows live gauges needs: events, Ctrl-C, typed lines and
//! a screen.

use std::io::{self, BufRead as _, IsTerminal as _};
use std::sync::mpsc::{self, Receiver, Sender};

use benchhand_blueprint::Report;
use benchhand_wire::{Announced, Event, JobReport, Reason, Refusal, State, Watch};
use benchhand_words::flowed;
use indicatif::{ProgressBar, ProgressStyle};

use crate::client::events::{self, FollowerNews};
use crate::client::{Http, ask};
use crate::context::Context;
use crate::errors::{Exit, Failure};
use crate::interrupt;
use crate::show::live::LiveView;

/// Shows gauges and routes until Ctrl-C.
///
/// # Errors
/// Live gauges are not available, or the daemon ends.
pub(super) fn run(context: &mut Context, job: Option<String>) -> Result<Exit, Failure> {
    let live = context.live()?;
    let listening = FollowedEvents::start(&live.http)?;
    let mut view = LiveView::new(job);
    let mut screen = LiveScreen::new(context.json);
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
            ScreenInput::Event(announced) => {
                follow(context, &live.http, &mut view, &mut screen, &announced)?
            }
            ScreenInput::Typed(_) => {}
            ScreenInput::Lost => {
                view.lost();
                screen.stand(&view);
            }
            ScreenInput::Interrupted => break,
            ScreenInput::Ended => return Err(ended().into()),
        }
    }
    drop(screen);
    live.finish()?;
    Ok(Exit::Done)
}

/// Takes one event: prints its line and renews the fixed lines at the foot of the screen.
///
/// # Errors
/// Standard output cannot be written, or the state is not available after missed events.
pub(super) fn follow(
    context: &mut Context,
    http: &Http,
    view: &mut LiveView,
    screen: &mut LiveScreen,
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
    if let Some(line) = came_to(http, view, &announced.event) {
        screen.print(context, &line)?;
    }
    screen.stand(view);
    Ok(())
}

/// What a flow reading comes to at the reference depression, as the report has it. A report that
/// cannot be had says nothing: the reading is told all the same.
fn came_to(http: &Http, view: &LiveView, event: &Event) -> Option<String> {
    let Event::Reading { job, reading } = event else {
        return None;
    };
    let counts = matches!(reading.state.as_str(), "held" | "final");
    if !(view.wants(event) && counts && reading.spot.starts_with("flow/")) {
        return None;
    }
    let asked = JobReport {
        job: job.clone(),
        stage: None,
    };
    let report: Report = serde_json::from_value(ask(http, &asked).ok()?.document).ok()?;
    Some(format!("  {}", flowed(&report, &reading.spot)?))
}

/// The state as the events that would lead to it, so a program needs to read only one form.
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

/// The refusal that tells that the daemon ended.
pub(super) fn ended() -> Refusal {
    let found = "the daemon ended; every reading that was taken until then is kept";
    Refusal::new(Reason::Unavailable, found)
        .todo("start it with `benchhand serve`, then the same command again")
}

/// One input while live gauges are followed.
#[derive(Debug)]
pub(super) enum ScreenInput {
    /// An event.
    Event(Box<Announced>),
    /// A line typed in the terminal.
    Typed(String),
    /// Ctrl-C.
    Interrupted,
    /// The connection is lost and is being made again.
    Lost,
    /// The daemon ended.
    Ended,
}

/// All inputs while live gauges are followed, in one queue.
#[derive(Debug)]
pub(super) struct FollowedEvents {
    /// The live state at the beginning. Every later event follows it.
    pub(super) state: State,
    heard: Receiver<ScreenInput>,
    to: Sender<ScreenInput>,
}

impl FollowedEvents {
    /// Begins to follow. From now on Ctrl-C is an input and does not end the process. A second
    /// Ctrl-C ends it, which loses nothing that was acknowledged.
    ///
    /// # Errors
    /// The daemon does not answer.
    pub(super) fn start(http: &Http) -> Result<Self, Refusal> {
        let (to, heard) = mpsc::channel();
        let interrupted = to.clone();
        let mut before = false;
        interrupt::on_each(move || {
            if std::mem::replace(&mut before, true) {
                std::process::exit(Exit::Interrupted.code().into());
            }
            let _ = interrupted.send(ScreenInput::Interrupted);
        });
        let state = ask(http, &Watch {})?;
        let told = to.clone();
        events::follow(http, state.id, move |one| {
            let one = match one {
                FollowerNews::Event(event) => ScreenInput::Event(event),
                FollowerNews::Lost => ScreenInput::Lost,
                FollowerNews::Ended => ScreenInput::Ended,
            };
            told.send(one).is_ok()
        })?;
        Ok(FollowedEvents { state, heard, to })
    }

    /// Takes typed lines too, if standard input is a terminal. A run without a terminal is never
    /// steered by chance.
    pub(super) fn hear_typed_lines(&self) -> bool {
        if !io::stdin().is_terminal() {
            return false;
        }
        let to = self.to.clone();
        std::thread::spawn(move || {
            for line in io::stdin().lock().lines().map_while(Result::ok) {
                if to.send(ScreenInput::Typed(line)).is_err() {
                    return;
                }
            }
        });
        true
    }

    /// Waits for the next input.
    pub(super) fn next(&self) -> ScreenInput {
        self.heard.recv().unwrap_or(ScreenInput::Ended)
    }
}

/// The fixed lines at the foot of a terminal, with lines scrolling above them. Outside a terminal
/// only the scrolling lines are printed.
#[derive(Debug)]
pub(super) struct LiveScreen {
    bar: Option<ProgressBar>,
}

impl LiveScreen {
    /// A screen on standard error, if both outputs are terminals and no JSON is wanted.
    pub(super) fn new(json: bool) -> Self {
        let terminal = io::stdout().is_terminal() && io::stderr().is_terminal();
        let bar = (terminal && !json).then(|| {
            let bar = ProgressBar::new_spinner();
            if let Ok(style) = ProgressStyle::with_template("{msg}") {
                bar.set_style(style);
            }
            bar
        });
        LiveScreen { bar }
    }

    /// Whether fixed lines can be shown.
    pub(super) fn in_terminal(&self) -> bool {
        self.bar.is_some()
    }

    /// Renews the fixed lines.
    pub(super) fn stand(&self, view: &LiveView) {
        if let Some(bar) = &self.bar {
            bar.set_message(view.standing().join("\n"));
        }
    }

    /// Prints a line above the fixed lines.
    ///
    /// # Errors
    /// Standard output cannot be written.
    pub(super) fn print(&self, context: &mut Context, line: &str) -> io::Result<()> {
        match &self.bar {
            Some(bar) => bar.suspend(|| context.out.text(line)),
            None => context.out.text(line),
        }
    }

    /// Prints a line for a person. With JSON it goes to standard error.
    ///
    /// # Errors
    /// Standard output cannot be written.
    pub(super) fn print_unless_json(&self, context: &mut Context, line: &str) -> io::Result<()> {
        if context.json {
            crate::out::warn(line);
            return Ok(());
        }
        self.print(context, line)
    }

    /// Shows one fixed line. Outside a terminal the line is printed.
    ///
    /// # Errors
    /// Standard output cannot be written.
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

impl Drop for LiveScreen {
    fn drop(&mut self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}
