//! Ctrl-C and the request to terminate, as something that can be waited for.
//!
//! Whoever waits has its handlers in place before it says that it is ready: a request that comes
//! right then must not end the process in the system's own, abrupt way.

use std::future::Future;
use std::io;

/// The handlers; from their making on, this process does not end by itself any more.
struct Signals {
    #[cfg(unix)]
    interrupt: tokio::signal::unix::Signal,
    #[cfg(unix)]
    terminate: tokio::signal::unix::Signal,
    #[cfg(windows)]
    interrupt: tokio::signal::windows::CtrlC,
}

impl Signals {
    #[cfg(unix)]
    fn new() -> io::Result<Self> {
        use tokio::signal::unix::{SignalKind, signal};
        Ok(Signals {
            interrupt: signal(SignalKind::interrupt())?,
            terminate: signal(SignalKind::terminate())?,
        })
    }

    #[cfg(windows)]
    fn new() -> io::Result<Self> {
        Ok(Signals {
            interrupt: tokio::signal::windows::ctrl_c()?,
        })
    }

    async fn next(&mut self) {
        #[cfg(unix)]
        tokio::select! {
            _ = self.interrupt.recv() => {}
            _ = self.terminate.recv() => {}
        }
        #[cfg(windows)]
        self.interrupt.recv().await;
    }
}

/// Puts the handlers in place at once, and gives what resolves when this process is asked to
/// end: by Ctrl-C, or by SIGTERM where there is one. To be called within a runtime.
///
/// # Errors
/// Where the system gives no handlers.
pub(crate) fn asked() -> io::Result<impl Future<Output = ()> + Send + 'static> {
    let mut signals = Signals::new()?;
    Ok(async move { signals.next().await })
}

/// Calls `then` on another thread each time this process is asked to end, which therefore no
/// longer ends by itself. Returns once that holds.
pub(crate) fn on_each(mut then: impl FnMut() + Send + 'static) {
    let (ready, is_ready) = std::sync::mpsc::channel();
    std::thread::spawn(move || {
        let Ok(runtime) = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
        else {
            return;
        };
        runtime.block_on(async {
            // Without handlers Ctrl-C ends the process as it always did, which loses nothing
            // that was acknowledged.
            let Ok(mut signals) = Signals::new() else {
                return;
            };
            let _ = ready.send(());
            loop {
                signals.next().await;
                then();
            }
        });
    });
    let _ = is_ready.recv();
}
