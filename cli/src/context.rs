//! What a command works with: the data folder, whoever answers for it, and standard output.

use std::io;
use std::path::PathBuf;

use benchhand_wire::{Ask, Reason, Refusal};
use serde::Serialize;

use crate::args::Global;
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
    /// From the options that every command takes.
    pub(crate) fn new(global: Global) -> Self {
        Context {
            given: global.data,
            json: global.json,
            out: Out::standard(),
        }
    }

    /// The same on another data folder.
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
    /// Where none is given and the platform names none.
    pub(crate) fn data(&self) -> Result<PathBuf, Refusal> {
        data::folder(self.given.as_deref())
    }

    /// Whoever answers where no live gauge is needed: the daemon that runs, or this process.
    ///
    /// # Errors
    /// Where a daemon is there but silent, or the folder cannot be opened.
    pub(crate) fn client(&self) -> Result<Box<dyn Client>, Refusal> {
        Ok(match self.daemon()? {
            Some(http) => Box::new(http),
            None => Box::new(Local::open(&self.data()?)?),
        })
    }

    /// The daemon that runs on the data folder, if one does.
    ///
    /// # Errors
    /// Where one is there but silent, or belongs to another user.
    pub(crate) fn daemon(&self) -> Result<Option<Http>, Refusal> {
        match data::handshake(&self.data()?)? {
            Some(handshake) => Http::find(&handshake),
            None => Ok(None),
        }
    }

    /// The daemon that runs, or a refusal that says how to start one.
    ///
    /// # Errors
    /// Where none runs.
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

    /// Live gauges: those of the daemon that runs, or of one started in this process.
    ///
    /// # Errors
    /// Where a daemon neither answers nor can be started.
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

    /// Asks something of a gauge: live, unless its number was read by eye.
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

    /// Prints an answer: as JSON, or as `show` puts it.
    ///
    /// # Errors
    /// Where standard output cannot be written.
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

/// Live gauges, and the daemon of our own that reads them where none ran.
#[derive(Debug)]
pub(crate) struct LiveDaemon {
    /// Whoever answers.
    pub(crate) http: Http,
    own: Option<Foreground>,
}

impl LiveDaemon {
    /// Ends the daemon of our own, if there is one, once it has kept everything.
    ///
    /// # Errors
    /// Where it could not keep something.
    pub(crate) fn finish(self) -> Result<(), Refusal> {
        self.own.map_or(Ok(()), Foreground::finish)
    }
}
