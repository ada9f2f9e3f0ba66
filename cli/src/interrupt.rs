//! Waits for Ctrl-C or the request to terminate.
//!
//! The handlers are installed before the program reports that it is ready, so a request that comes
//! at once does not end the process abruptly.

use std::future::Future;
use std::io;

/// The handlers. Once they exist, a signal no longer ends this process.
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

/// Makes a write beyond the limit of file sizes (`ulimit -f`) an error like that of a full disk. The
/// system would end the process by SIGXFSZ instead. It must be called within a runtime.
pub(crate) fn outlive_file_limit() {
    #[cfg(target_os = "linux")]
    {
        use tokio::signal::unix::{SignalKind, signal};
        /// SIGXFSZ on Linux but for MIPS (signal(7)).
        const FILE_LIMIT: i32 = 25;
        // The handler stays when its listener is dropped.
        let _ = signal(SignalKind::from_raw(FILE_LIMIT));
    }
}

/// Installs the handlers at once, and gives a future that resolves when this process is asked to
/// end: by Ctrl-C, or by SIGTERM if the system has it. It must be called within a runtime.
///
/// # Errors
/// The system gives no handlers.
pub(crate) fn asked() -> io::Result<impl Future<Output = ()> + Send + 'static> {
    let mut signals = Signals::new()?;
    Ok(async move { signals.next().await })
}

/// Calls `then` on another thread each time this process is asked to end. The process then no
/// longer ends by itself. Returns when the handlers are installed.
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
            // Without handlers Ctrl-C ends the process, which loses nothing that was acknowledged.
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
