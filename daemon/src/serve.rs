//! The daemon: live gauges, and the local API on loopback.

use std::future::Future;
use std::net::SocketAddr;
use std::path::PathBuf;

use benchhand_wire::Refusal;

/// How the daemon is to run.
#[derive(Debug, Clone)]
pub struct ServeOptions {
    /// The data folder.
    pub data: PathBuf,
    /// The loopback port for the API; 0 takes a free one.
    pub port: u16,
    /// How many times faster than true the daemon's clock runs; 1 but for played gauges.
    pub speed: f64,
}

/// What is known once the daemon answers.
#[derive(Debug, Clone)]
pub struct Ready {
    /// Where the API listens.
    pub address: SocketAddr,
    /// The token that every request must carry; also in a file that only its owner can read.
    pub token: String,
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
    let _ = (options, ready, shutdown);
    Err(Refusal::new(
        benchhand_wire::Reason::Unavailable,
        "not listening",
    ))
}
