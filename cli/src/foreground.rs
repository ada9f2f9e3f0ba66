//! Runs the whole daemon inside this process: for `serve`, and for a command that needs live
//! gauges if no daemon runs.

use std::path::Path;
use std::sync::mpsc;
use std::thread::JoinHandle;

use benchhand_daemon::{Ready, ServeOptions, serve};
use benchhand_wire::{Reason, Refusal};
use tokio::sync::oneshot;

use crate::client::Http;
use crate::interrupt;

/// A daemon on a thread of this process. It ends when this value is dropped.
#[derive(Debug)]
pub(crate) struct Foreground {
    http: Http,
    shutdown: Option<oneshot::Sender<()>>,
    thread: Option<JoinHandle<Result<(), Refusal>>>,
}

impl Foreground {
    /// Starts a daemon on the folder. Returns when the daemon answers.
    ///
    /// # Errors
    /// The daemon's refusal, such as that another process holds the folder.
    pub(crate) fn start(data: &Path) -> Result<Self, Refusal> {
        let options = options(data, 0, 1.0);
        let (shutdown, asked) = oneshot::channel::<()>();
        let (ready, is_ready) = mpsc::channel();
        let runtime = runtime()?;
        let thread = std::thread::spawn(move || {
            runtime.block_on(serve(
                options,
                move |known| drop(ready.send(known)),
                async { drop(asked.await) },
            ))
        });
        match is_ready.recv() {
            Ok(Ready { address, token, .. }) => Ok(Foreground {
                http: Http::new(&address.to_string(), &token),
                shutdown: Some(shutdown),
                thread: Some(thread),
            }),
            Err(_) => Err(joined(thread).err().unwrap_or_else(|| {
                Refusal::new(Reason::Unavailable, "the daemon ended before it answered")
            })),
        }
    }

    /// A client of this daemon.
    pub(crate) fn client(&self) -> Http {
        self.http.clone()
    }

    /// Ends the daemon after it has kept everything, and waits for the end.
    ///
    /// # Errors
    /// The daemon could not keep something.
    pub(crate) fn finish(mut self) -> Result<(), Refusal> {
        self.end()
    }

    fn end(&mut self) -> Result<(), Refusal> {
        drop(self.shutdown.take());
        self.thread.take().map_or(Ok(()), joined)
    }
}

impl Drop for Foreground {
    fn drop(&mut self) {
        if let Err(refusal) = self.end() {
            tracing::error!("the daemon ended with: {refusal}");
        }
    }
}

/// Runs the daemon until it is asked to stop, by Ctrl-C, SIGTERM or a client.
///
/// # Errors
/// The daemon's refusal.
pub(crate) fn run(
    data: &Path,
    port: u16,
    speed: f64,
    ready: impl FnOnce(Ready),
) -> Result<(), Refusal> {
    runtime()?.block_on(async {
        let asked = interrupt::asked().map_err(|error| {
            Refusal::new(
                Reason::Unavailable,
                format!("Ctrl-C cannot be listened for: {error}"),
            )
        })?;
        serve(options(data, port, speed), ready, asked).await
    })
}

fn options(data: &Path, port: u16, speed: f64) -> ServeOptions {
    owners_alone();
    ServeOptions {
        data: data.to_owned(),
        port,
        speed,
    }
}

/// Whatever this process makes from now on is its user's alone. The store sees to its own files; the
/// index makes its files by itself.
fn owners_alone() {
    #[cfg(unix)]
    {
        use rustix::fs::Mode;
        rustix::process::umask(Mode::RWXG | Mode::RWXO);
    }
}

fn runtime() -> Result<tokio::runtime::Runtime, Refusal> {
    tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .inspect(|runtime| {
            let _inside = runtime.enter();
            interrupt::outlive_file_limit();
        })
        .map_err(|error| {
            Refusal::new(
                Reason::Unavailable,
                format!("the system gives no threads: {error}"),
            )
            .todo("end other programs and try again")
        })
}

fn joined(thread: JoinHandle<Result<(), Refusal>>) -> Result<(), Refusal> {
    thread.join().unwrap_or_else(|_| {
        Err(Refusal::new(
            Reason::Unavailable,
            "the daemon failed; everything acknowledged is kept",
        )
        .todo("run the command again with -v and keep its output"))
    })
}
