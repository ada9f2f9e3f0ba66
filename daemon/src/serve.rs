//! The daemon: live gauges, and the local API on loopback.
//!
//! Everything is put together here and taken apart in good order; nothing is decided here.

use std::future::Future;
use std::net::{Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::thread::JoinHandle;
use std::time::Duration;

use benchhand_drivers::timebase::{RealTime, Timebase};
use benchhand_wire::{Reason, Refusal};
use tokio::net::TcpListener;
use tokio::sync::{oneshot, watch};

use crate::api::connections;
use crate::api::{Credentials, Door, Gate, Guest, Passes, router};
use crate::clock::{Clock, SystemClock};
use crate::desk::{Desk, LetsIn};
use crate::joined::JoinedShop;
use crate::known::keeper::Keeper;
use crate::known::stream_keeping;
use crate::live::{Hub, Opener, SerialOpener, Station, StationHandle, start_station};
use crate::store::layout::Layout;
use benchhand_files::RealFiles;

/// How long answers under way may take once the daemon is to stop.
const FAREWELL: Duration = Duration::from_secs(2);

/// How the daemon is to run.
#[derive(Debug, Clone)]
pub struct ServeOptions {
    /// The data folder.
    pub data: PathBuf,
    /// The loopback port for the API; 0 takes a free one.
    pub port: u16,
    /// How many times faster than real time the daemon's clock runs; 1 except for played gauges.
    pub speed: f64,
}

/// What is known once the daemon answers.
#[derive(Debug, Clone)]
pub struct Ready {
    /// Where the API listens.
    pub address: SocketAddr,
    /// The token that every request must carry; also in a file that only its owner can read.
    pub token: String,
    /// An address that opens the board page once, within a few minutes.
    pub board: String,
    /// The station, for callers that play its gauges.
    pub station: StationHandle,
}

/// Runs the daemon until `shutdown` resolves or a client asks it to stop, then finishes what is
/// being kept and returns. Calls `ready` once, when requests are answered.
///
/// # Errors
/// Where the data folder is held by another process or the port cannot be bound.
pub async fn serve(
    options: ServeOptions,
    ready: impl FnOnce(Ready),
    shutdown: impl Future<Output = ()> + Send + 'static,
) -> Result<(), Refusal> {
    if !(options.speed.is_finite() && options.speed > 0.0) {
        return Err(
            Refusal::new(Reason::BadInput, format!("a speed of {}", options.speed))
                .expected("a number above 0; 1 is true time"),
        );
    }
    let timebase: Arc<dyn Timebase> = Arc::new(RealTime::faster(options.speed));
    let opener = Arc::new(SerialOpener::new(timebase));
    let works = Works::start(&options.data, Arc::new(SystemClock::new()), opener)?;
    let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, options.port))
        .await
        .map_err(|e| {
            Refusal::new(
                Reason::Unavailable,
                format!("port {} on loopback cannot be used: {e}", options.port),
            )
            .todo("choose another with --listen-port, or leave it out for a free one")
        })?;
    answer(works, listener, ready, shutdown).await
}

/// As [`serve`], on a loopback listener that is bound already, with gauges that `opener` reaches
/// and the time of day from `clock`: for callers that play gauges in step with the daemon. If the
/// future is dropped before it has returned, the daemon ends as in a power cut.
///
/// # Errors
/// Where the data folder is held by another process or the listener cannot be used.
pub async fn serve_on(
    data: &Path,
    listener: std::net::TcpListener,
    opener: Arc<dyn Opener>,
    clock: Arc<dyn Clock>,
    ready: impl FnOnce(Ready),
    shutdown: impl Future<Output = ()> + Send + 'static,
) -> Result<(), Refusal> {
    let works = Works::start(data, clock, opener)?;
    listener.set_nonblocking(true).map_err(|e| fault(&e))?;
    let listener = TcpListener::from_std(listener).map_err(|e| fault(&e))?;
    answer(works, listener, ready, shutdown).await
}

/// Answers requests until `shutdown` resolves or a client asks for the end.
async fn answer(
    works: Works,
    listener: TcpListener,
    ready: impl FnOnce(Ready),
    shutdown: impl Future<Output = ()> + Send + 'static,
) -> Result<(), Refusal> {
    let address = listener.local_addr().map_err(|e| fault(&e))?;
    let token = new_token()?;
    // The disk may be full. The daemon then still serves its page, and commands do not find it.
    let endpoint = Endpoint::write(works.keeper.layout(), address, &token)
        .inspect_err(|error| tracing::error!(%error, "commands cannot find this daemon"))
        .ok();

    let passes = Arc::new(Passes::default());
    let gate = Arc::new(Gate::new(&works.desk, Arc::clone(&passes), address));
    let board = gate.address()?.address;
    works.desk.let_in_by(Arc::clone(&gate) as _);
    let (_open, closed) = watch::channel(false);
    let app = router(
        Arc::clone(&works.desk),
        Door {
            credentials: Some(Credentials::of_token(&token)?),
            address,
            passes,
            guest: Guest::Page,
        },
        closed,
    );
    let (desk, hub) = (Arc::clone(&works.desk), Arc::clone(&works.hub));
    let (stopping, is_stopping) = oneshot::channel();
    let stop = async move {
        tokio::select! {
            () = shutdown => {}
            () = desk.stop_was_asked() => {}
        }
        // This event ends the event streams. Without it they would hold the server open.
        hub.announce(benchhand_wire::Event::Stopping {});
        gate.close();
        let _ = stopping.send(());
    };
    ready(Ready {
        address,
        token,
        board,
        station: works.station.clone(),
    });
    let tidying = tokio::spawn(cuts_old_streams(Arc::clone(&works.keeper)));
    // A client that never ends its request must not keep the daemon from ending.
    let overdue = async {
        match is_stopping.await {
            Ok(()) => tokio::time::sleep(FAREWELL).await,
            Err(_) => std::future::pending().await,
        }
    };
    tokio::select! {
        () = connections::answer(listener, app, stop) => {}
        () = overdue => {}
    }
    drop(endpoint);
    tidying.abort();
    // It holds the store until it is gone.
    let _ = tidying.await;
    works.stop().await;
    Ok(())
}

/// Cuts off recorded streams that are older than the shop keeps them, now and once a day.
async fn cuts_old_streams(keeper: Arc<Keeper>) {
    let mut days = tokio::time::interval(Duration::from_secs(24 * 3600));
    loop {
        days.tick().await;
        let keeper = Arc::clone(&keeper);
        let cut = tokio::task::spawn_blocking(move || stream_keeping::cut_old(&keeper)).await;
        if let Ok(Err(refusal)) = cut {
            tracing::warn!(%refusal, "old recorded streams were not cut off");
        }
    }
}

/// The daemon without its door: what the demo runs inside its own process.
pub(crate) struct Works {
    pub(crate) keeper: Arc<Keeper>,
    pub(crate) hub: Arc<Hub>,
    pub(crate) desk: Arc<Desk>,
    pub(crate) station: StationHandle,
    joined: Arc<JoinedShop>,
    /// `None` once the thread was ended in good order.
    thread: Option<JoinHandle<()>>,
}

impl Works {
    /// Takes the data folder's lock, starts the station and opens the shop's gauges.
    pub(crate) fn start(
        data: &Path,
        clock: Arc<dyn Clock>,
        opener: Arc<dyn Opener>,
    ) -> Result<Works, Refusal> {
        let files = Arc::new(RealFiles);
        let keeper = Arc::new(Keeper::holding(data.to_owned(), files, clock)?);
        let hub = Arc::new(Hub::default());
        let (for_station, for_hub) = (Arc::clone(&keeper), Arc::clone(&hub));
        let make = move |offer| Station::new(offer, for_station, for_hub, opener);
        let (station, thread) = start_station(make).map_err(|e| fault(&e))?;
        let desk = Arc::new(Desk::new(
            Arc::clone(&keeper),
            Arc::clone(&hub),
            Some(station.clone()),
        ));
        desk.open_gauges()?;
        let joined = Arc::new(JoinedShop::open(&keeper, &station, &hub));
        // The exchange ends with the daemon, and the desk with it.
        let maker = Arc::downgrade(&desk);
        joined.makes_pieces(move |job, seq, about| Desk::piece_of(&maker, job, seq, about));
        desk.goes_with(Arc::clone(&joined));
        Ok(Works {
            keeper,
            hub,
            desk,
            station,
            joined,
            thread: Some(thread),
        })
    }

    /// Ends in good order: what is being kept is finished first.
    pub(crate) async fn stop(self) {
        self.joined.end().await;
        let _ = tokio::task::spawn_blocking(move || self.stop_blocking()).await;
    }

    /// As [`Works::stop`], for callers that may block.
    pub(crate) fn stop_blocking(mut self) {
        self.station.stop();
        self.join();
    }

    fn join(&mut self) {
        let thread = self.thread.take();
        if thread.is_some_and(|thread| thread.join().is_err()) {
            tracing::error!("the station's thread had panicked");
        }
    }
}

impl Drop for Works {
    /// Works that were not stopped are broken off.
    fn drop(&mut self) {
        if self.thread.is_some() {
            self.station.break_off();
            self.join();
        }
    }
}

/// The file that tells clients where the daemon is. It is removed when the daemon ends.
struct Endpoint {
    path: PathBuf,
}

impl Endpoint {
    fn write(layout: Layout, address: SocketAddr, token: &str) -> Result<Endpoint, Refusal> {
        let path = layout.endpoint();
        let text = serde_json::json!({
            "address": address.to_string(),
            "token": token,
            "pid": std::process::id(),
        });
        write_private(&path, text.to_string().as_bytes()).map_err(|e| {
            Refusal::new(
                Reason::Storage,
                format!("{} cannot be written: {e}", path.display()),
            )
        })?;
        Ok(Endpoint { path })
    }
}

impl Drop for Endpoint {
    fn drop(&mut self) {
        // A leftover file does no harm: clients shake hands before they believe it.
        let _ = std::fs::remove_file(&self.path);
    }
}

/// Writes a file that nobody but its owner can read at any moment.
fn write_private(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    use std::io::Write;
    let fresh = path.with_extension("json.new");
    let _ = std::fs::remove_file(&fresh);
    let mut options = std::fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(&fresh)?.write_all(bytes)?;
    std::fs::rename(&fresh, path)
}

fn new_token() -> Result<String, Refusal> {
    let mut bytes = [0u8; 32];
    getrandom::fill(&mut bytes).map_err(|e| {
        Refusal::new(
            Reason::Unavailable,
            format!("the system gives no random bytes: {e}"),
        )
    })?;
    Ok(bytes.iter().map(|b| format!("{b:02x}")).collect())
}

fn fault(error: &std::io::Error) -> Refusal {
    Refusal::new(Reason::Unavailable, error.to_string())
}
