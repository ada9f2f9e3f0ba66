//! The daemon inside the test's process: real storage, real API, real serial code. The time of its
//! ports is given by the test.

use std::net::{Ipv4Addr, TcpListener};
use std::path::Path;
use std::sync::atomic::{AtomicI64, Ordering};
use std::sync::{Arc, mpsc};
use std::thread::JoinHandle;
use std::time::Duration;

use benchhand_daemon::clock::{Clock, SystemClock};
use benchhand_daemon::{Opener, Ready, StationHandle, serve_on};
use benchhand_wire::Refusal;
use jiff::{SignedDuration, Timestamp};
use tokio::sync::oneshot;

/// Longest time for running work when the daemon is aborted.
const FAREWELL: Duration = Duration::from_secs(10);

/// The machine's clock, moved ahead by hours, for builders who go home and come back.
#[derive(Debug, Default)]
pub struct Calendar {
    clock: SystemClock,
    ahead_h: AtomicI64,
}

impl Calendar {
    /// Lets this many hours pass without work and without a gauge.
    pub fn pass(&self, hours: i64) {
        self.ahead_h.fetch_add(hours, Ordering::Relaxed);
    }
}

impl Clock for Calendar {
    fn now_utc(&self) -> Timestamp {
        let ahead = SignedDuration::from_hours(self.ahead_h.load(Ordering::Relaxed));
        self.clock.now_utc() + ahead
    }

    fn now_us(&self) -> u64 {
        self.clock.now_us()
    }
}

/// A daemon on a thread of this process.
pub struct HostedDaemon {
    ready: Ready,
    stop: Option<oneshot::Sender<()>>,
    break_off: Option<oneshot::Sender<()>>,
    thread: Option<JoinHandle<Result<(), Refusal>>>,
}

impl HostedDaemon {
    /// Starts the daemon and returns when it answers.
    #[track_caller]
    pub fn start(data: &Path, opener: Arc<dyn Opener>, clock: Arc<dyn Clock>) -> HostedDaemon {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).expect("a free port");
        let data = data.to_owned();
        let (stop, stopped) = oneshot::channel::<()>();
        let (break_off, broken_off) = oneshot::channel::<()>();
        let (ready, is_ready) = mpsc::channel();
        let thread = std::thread::spawn(move || {
            let runtime = tokio::runtime::Runtime::new().expect("threads");
            let shutdown = async {
                // A daemon whose owner is gone is aborted, not ended cleanly.
                if stopped.await.is_err() {
                    std::future::pending::<()>().await;
                }
            };
            let ready = move |known| drop(ready.send(known));
            let ended = runtime.block_on(async {
                tokio::select! {
                    ended = serve_on(&data, listener, opener, clock, ready, shutdown) => ended,
                    _ = broken_off => Ok(()),
                }
            });
            runtime.shutdown_timeout(FAREWELL);
            ended
        });
        match is_ready.recv() {
            Ok(ready) => HostedDaemon {
                ready,
                stop: Some(stop),
                break_off: Some(break_off),
                thread: Some(thread),
            },
            Err(_) => panic!("the daemon did not start: {:?}", thread.join()),
        }
    }

    /// The daemon's address and its token.
    pub fn at(&self) -> (String, String) {
        (self.ready.address.to_string(), self.ready.token.clone())
    }

    /// The daemon's station.
    pub fn station(&self) -> StationHandle {
        self.ready.station.clone()
    }

    /// Ends the daemon cleanly and waits for the end.
    #[track_caller]
    pub fn stop(mut self) {
        if let Some(stop) = self.stop.take() {
            let _ = stop.send(());
        }
        let thread = self.thread.take().expect("it runs");
        thread
            .join()
            .expect("it does not panic")
            .expect("it ends in good order");
    }
}

impl Drop for HostedDaemon {
    /// Aborts the daemon, as a power cut would, and waits until it is gone.
    fn drop(&mut self) {
        drop(self.break_off.take());
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

impl std::fmt::Debug for HostedDaemon {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_tuple("Hosted").field(&self.ready.address).finish()
    }
}
