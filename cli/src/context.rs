//! What a command works with: the data folder, a client for requests, and standard output.

use std::io;
use std::path::PathBuf;

use benchhand_wire::{Ask, Reason, Refusal};
use serde::Serialize;

use crate::args::GlobalArgs;
use crate::client::{Client, Http, ask};
use crate::data;
use crate::foreground::Foreground;
use crate::local::Local;
use crate::out::Out;

/// What a command works with.
#[derive(Debug)]
pub(crate) struct Context {
    given: Option<PathBuf>,
    /// Whether JSON is wanted instead of tables.
    pub(crate) json: bool,
    /// Standard output.
    pub(crate) out: Out,
}

impl Context {
    /// Makes a context from the options that every command takes.
    pub(crate) fn new(global: GlobalArgs) -> Self {
        Context {
            given: global.data,
            json: global.json,
            out: Out::standard(),
        }
    }

    /// The same context on another data folder.
    pub(crate) fn of_folder(&self, data: PathBuf) -> Self {
        Context {
            given: Some(data),
            json: self.json,
            out: Out::standard(),
        }
    }

    /// The data folder.
    ///
    /// # Errors
    /// No folder is given and the platform names none.
    pub(crate) fn data(&self) -> Result<PathBuf, Refusal> {
        data::folder(self.given.as_deref())
    }

    /// A client for requests that need no live gauge: the running daemon, or this process.
    ///
    /// # Errors
    /// A daemon is there but silent, or the folder cannot be opened.
    pub(crate) fn client(&self) -> Result<Box<dyn Client>, Refusal> {
        Ok(match self.daemon()? {
            Some(http) => Box::new(http),
            None => Box::new(Local::open(&self.data()?)?),
        })
    }

    /// A client in this process, also where a daemon runs: for what is this program's own work, with
    /// the rights of whoever types the command.
    ///
    /// # Errors
    /// The folder cannot be opened.
    pub(crate) fn here(&self) -> Result<Local, Refusal> {
        Local::open(&self.data()?)
    }

    /// The daemon that runs on the data folder, if there is one.
    ///
    /// # Errors
    /// A daemon is there but silent, or belongs to another user.
    pub(crate) fn daemon(&self) -> Result<Option<Http>, Refusal> {
        let data = self.data()?;
        match data::handshake(&data)? {
            Some(handshake) => Http::find(&handshake, &data),
            None => Ok(None),
        }
    }

    /// The running daemon. The refusal says how to start one.
    ///
    /// # Errors
    /// No daemon runs.
    pub(crate) fn running(&self) -> Result<Http, Refusal> {
        self.daemon()?.ok_or_else(|| {
            let found = match self.data() {
                Ok(data) => format!("no daemon runs on {}", data.display()),
                Err(_) => "no daemon runs".to_owned(),
            };
            Refusal::new(Reason::Unavailable, found).todo(
                "start one with `benchhand serve`, or a route with `benchhand measure JOB ROUTE`",
            )
        })
    }

    /// Live gauges of the running daemon, or of a daemon started in this process.
    ///
    /// # Errors
    /// No daemon answers and none can be started.
    pub(crate) fn live(&self) -> Result<LiveDaemon, Refusal> {
        if let Some(http) = self.daemon()? {
            return Ok(LiveDaemon { http, own: None });
        }
        tracing::info!("no daemon runs; starting one in this process");
        let own = Foreground::start(&self.data()?)?;
        Ok(LiveDaemon {
            http: own.client(),
            own: Some(own),
        })
    }

    /// Sends a request about a gauge. It needs live gauges unless the value was read by eye.
    ///
    /// # Errors
    /// The refusal.
    pub(crate) fn ask_gauge<A: Ask>(
        &self,
        by_eye: bool,
        request: &A,
    ) -> Result<A::Answer, Refusal> {
        if by_eye {
            return ask(&*self.client()?, request);
        }
        let live = self.live()?;
        let answer = ask(&live.http, request)?;
        live.finish()?;
        Ok(answer)
    }

    /// Prints an answer, as JSON or as the text of `show`.
    ///
    /// # Errors
    /// Standard output cannot be written.
    pub(crate) fn answer<T: Serialize>(
        &mut self,
        answer: &T,
        show: impl FnOnce(&T) -> String,
    ) -> io::Result<()> {
        if self.json {
            self.out.document(answer)
        } else {
            self.out.text(&show(answer))
        }
    }
}

/// Live gauges, and the daemon that this command started to read them, if none ran.
#[derive(Debug)]
pub(crate) struct LiveDaemon {
    /// The client of the daemon.
    pub(crate) http: Http,
    own: Option<Foreground>,
}

impl LiveDaemon {
    /// Ends the daemon that this command started, after it has kept everything.
    ///
    /// # Errors
    /// The daemon could not keep something.
    pub(crate) fn finish(self) -> Result<(), Refusal> {
        self.own.map_or(Ok(()), Foreground::finish)
    }
}
