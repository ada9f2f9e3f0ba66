//! Watches a live gauge from rest to rest, while a person may type a line.

use std::io::{self, BufRead as _, IsTerminal as _};
use std::sync::mpsc::{self, Receiver};
use std::time::Duration;

use benchhand_wire::{ChannelShows, GaugeShows, Reason, Refusal};

use crate::client::{Http, ask};
use crate::context::Context;
use crate::errors::Failure;

/// Time between two looks at a gauge.
const LOOK_AGAIN: Duration = Duration::from_millis(100);
/// A rest at least this many counts away from the last one is another rest.
const MOVED_COUNTS: f64 = 3.0;
/// … and this many standard deviations of its mean. One that does not rest was moved where it wavers
/// by as many times as much.
const MOVED_SIGMAS: f64 = 4.0;

/// Prints what to do next. With JSON it goes to standard error.
///
/// # Errors
/// Standard output cannot be written.
pub(super) fn say(context: &mut Context, text: &str) -> Result<(), Failure> {
    if context.json {
        crate::out::warn(text);
    } else {
        context.out.text(text)?;
    }
    Ok(())
}

/// A live gauge that is watched from rest to rest.
#[derive(Debug)]
pub(super) struct WatchedGauge<'a> {
    http: &'a Http,
    name: String,
    channel: Option<String>,
    last: Option<ChannelShows>,
    told: Option<String>,
}

/// The event that came first.
#[derive(Debug)]
pub(super) enum RestOrLine {
    /// The gauge came to rest.
    Rest(ChannelShows),
    /// A line was typed.
    Typed(String),
}

impl<'a> WatchedGauge<'a> {
    /// Watches one channel of a gauge. The first if none is named.
    pub(super) fn new(http: &'a Http, name: String, channel: Option<String>) -> Self {
        WatchedGauge {
            http,
            name,
            channel,
            last: None,
            told: None,
        }
    }

    /// Waits for the gauge's next rest and gives the value there. `another` asks for a rest away
    /// from the last one.
    ///
    /// # Errors
    /// There is no such gauge or channel, or the daemon ended.
    pub(super) fn rest(&mut self, another: bool) -> Result<ChannelShows, Refusal> {
        let mut moved = !another;
        loop {
            if let Some(shows) = self.rests(&mut moved)? {
                return Ok(shows);
            }
            std::thread::sleep(LOOK_AGAIN);
        }
    }

    /// Waits for a rest away from the last one, or for a typed line.
    ///
    /// # Errors
    /// As for [`WatchedGauge::rest`].
    pub(super) fn rest_or_line(&mut self, lines: &TypedLines) -> Result<RestOrLine, Refusal> {
        let mut moved = false;
        loop {
            if let Some(line) = lines.line() {
                return Ok(RestOrLine::Typed(line));
            }
            if let Some(shows) = self.rests(&mut moved)? {
                return Ok(RestOrLine::Rest(shows));
            }
            std::thread::sleep(LOOK_AGAIN);
        }
    }

    /// Waits for the next rest away from the last one. Enter takes the present value, once it rests.
    ///
    /// # Errors
    /// As for [`WatchedGauge::rest`].
    pub(super) fn rest_or_enter(&mut self, lines: &TypedLines) -> Result<ChannelShows, Refusal> {
        match self.rest_or_line(lines)? {
            RestOrLine::Rest(shows) => Ok(shows),
            RestOrLine::Typed(_) => self.rest(false),
        }
    }

    /// The present value, if the gauge rests and has moved.
    fn rests(&mut self, moved: &mut bool) -> Result<Option<ChannelShows>, Refusal> {
        let Some(shows) = self.look()? else {
            return Ok(None);
        };
        // A gauge that wavers does not rest now and then, and was not moved for all that.
        let away = |last: &ChannelShows| {
            let by_chance = MOVED_SIGMAS * last.sd / (last.n.max(1) as f64).sqrt();
            let least = (MOVED_COUNTS * shows.resolution).max(by_chance);
            let wavers = MOVED_SIGMAS * last.sd.max(last.resolution);
            (shows.value - last.value).abs() > least || !shows.rests && shows.sd > wavers
        };
        *moved |= self.last.as_ref().is_none_or(away);
        if !(shows.rests && *moved) {
            return Ok(None);
        }
        self.last = Some(shows.clone());
        Ok(Some(shows))
    }

    /// The present value. `None` while the gauge is silent; the silence is reported once.
    fn look(&mut self) -> Result<Option<ChannelShows>, Refusal> {
        let asked = ask(
            self.http,
            &GaugeShows {
                name: self.name.clone(),
            },
        );
        let shows = match asked {
            Ok(shows) => shows,
            Err(refusal) if matches!(refusal.reason, Reason::GaugeSilent | Reason::Conflict) => {
                let text = refusal.to_string();
                if refusal.reason == Reason::GaugeSilent && self.told.as_ref() != Some(&text) {
                    crate::out::warn(&text);
                    self.told = Some(text);
                }
                return Ok(None);
            }
            Err(refusal) => return Err(refusal),
        };
        let mut channels = shows.channels.into_iter();
        match &self.channel {
            None => Ok(channels.next()),
            Some(name) => channels
                .find(|channel| channel.channel == *name)
                .map(Some)
                .ok_or_else(|| {
                    let found = format!("{} has no channel {name:?}", self.name);
                    Refusal::new(Reason::NotFound, found)
                }),
        }
    }
}

/// Lines that are typed in the terminal. Input that is not a terminal is never read.
#[derive(Debug)]
pub(super) struct TypedLines(Option<Receiver<String>>);

impl TypedLines {
    /// Begins to take typed lines, if standard input is a terminal.
    pub(super) fn hear() -> TypedLines {
        if !io::stdin().is_terminal() {
            return TypedLines(None);
        }
        let (to, lines) = mpsc::channel();
        std::thread::spawn(move || {
            for line in io::stdin().lock().lines().map_while(Result::ok) {
                if to.send(line).is_err() {
                    return;
                }
            }
        });
        TypedLines(Some(lines))
    }

    /// Whether a person can answer.
    pub(super) fn heard(&self) -> bool {
        self.0.is_some()
    }

    /// A typed line, if there is one.
    fn line(&self) -> Option<String> {
        self.0.as_ref()?.try_recv().ok()
    }

    /// Waits for the next line. `None` if none will come.
    pub(super) fn wait(&self) -> Option<String> {
        self.0.as_ref()?.recv().ok()
    }
}
