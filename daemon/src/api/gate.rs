//! Opens and closes the door to the local network, and hands out codes.
//!
//! The door is closed unless somebody asked for it by a command, and it closes with the daemon.

use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, Weak};
use std::time::Instant;

use benchhand_wire::{BoardAddress, NetworkClosed, Pairing, Reason, Refusal};
use tokio::net::TcpListener;
use tokio::runtime::Handle;
use tokio::sync::watch;

use super::guard::Door;
use super::passes::{Guest, PAGE_CODE_LASTS, PAIRING_CODE_LASTS, Passes};
use crate::desk::{Desk, LetsIn};

/// What a person must know before a device is let in.
const RISK: [&str; 4] = [
    "While the network is open, every device on it can try to reach this daemon; only one that types the code is let in.",
    "What passes between the device and this machine is not encrypted: whoever controls the network can read along and could steer the route.",
    "Open it on a network of your own, never on a guest's or a public one.",
    "A paired device can see all jobs, steer routes, say conditions, type, move and void readings. It cannot change gauges, cut, import or let others in.",
];

/// The door to the network and the codes of both doors.
pub(crate) struct Gate {
    desk: Weak<Desk>,
    passes: Arc<Passes>,
    local: SocketAddr,
    runtime: Handle,
    open: Mutex<Option<Open>>,
}

/// A network door that is open.
struct Open {
    port: u16,
    close: watch::Sender<bool>,
}

impl std::fmt::Debug for Gate {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Gate")
            .field("local", &self.local)
            .field("open", &self.opened().as_ref().map(|open| open.port))
            .finish_non_exhaustive()
    }
}

impl Gate {
    /// A gate for the daemon that listens at `local`. Must be called inside the daemon's runtime.
    pub(crate) fn new(desk: &Arc<Desk>, passes: Arc<Passes>, local: SocketAddr) -> Gate {
        Gate {
            desk: Arc::downgrade(desk),
            passes,
            local,
            runtime: Handle::current(),
            open: Mutex::new(None),
        }
    }

    fn listen(&self, port: u16) -> Result<Open, Refusal> {
        let unusable = |e: std::io::Error| {
            Refusal::new(
                Reason::Unavailable,
                format!("port {port} of the network cannot be used: {e}"),
            )
            .todo("choose another with --network-port, or leave it out for a free one")
        };
        let desk = self
            .desk
            .upgrade()
            .ok_or_else(|| Refusal::new(Reason::Unavailable, "the daemon is stopping"))?;
        let listener =
            std::net::TcpListener::bind((Ipv4Addr::UNSPECIFIED, port)).map_err(unusable)?;
        listener.set_nonblocking(true).map_err(unusable)?;
        let address = listener.local_addr().map_err(unusable)?;
        let door = Door {
            credentials: None,
            address,
            passes: Arc::clone(&self.passes),
            guest: Guest::Paired,
        };
        let (close, closed) = watch::channel(false);
        let app = super::router(desk, door, closed.clone());
        let _inside = self.runtime.enter();
        let listener = TcpListener::from_std(listener).map_err(unusable)?;
        self.runtime.spawn(async move {
            super::connections::answer(listener, app, super::closed(closed)).await;
        });
        tracing::warn!(%address, "the board is open to the local network");
        Ok(Open {
            port: address.port(),
            close,
        })
    }

    fn opened(&self) -> MutexGuard<'_, Option<Open>> {
        self.open.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl LetsIn for Gate {
    /// An address that opens the page once on this machine. The code stands behind `#`; a browser
    /// does not send that part.
    fn address(&self) -> Result<BoardAddress, Refusal> {
        let code = self.passes.code(Guest::Page, Instant::now())?;
        Ok(BoardAddress {
            address: format!("http://{}/#{code}", self.local),
            valid_s: PAGE_CODE_LASTS.as_secs(),
        })
    }

    /// Opens the network, unless it is open already, and returns a code for one device. Blocks, and
    /// must not be called from the runtime's own threads.
    fn open(&self, port: Option<u16>) -> Result<Pairing, Refusal> {
        let own = own_address()?;
        let mut open = self.opened();
        let port = match &*open {
            Some(open) if port.is_none_or(|p| p == open.port) => open.port,
            Some(open) => {
                return Err(Refusal::new(
                    Reason::Conflict,
                    format!("the network is open at port {} already", open.port),
                )
                .todo("close it first with `benchhand board --close-network`"));
            }
            None => {
                let opened = self.listen(port.unwrap_or(0))?;
                open.insert(opened).port
            }
        };
        let code = self.passes.code(Guest::Paired, Instant::now())?;
        Ok(Pairing {
            address: format!("http://{}/", SocketAddr::new(own, port)),
            code: format!("{} {}", &code[..4], &code[4..]),
            valid_s: PAIRING_CODE_LASTS.as_secs(),
            risk: RISK.map(str::to_owned).to_vec(),
        })
    }

    /// Closes the network and shuts every paired device out.
    fn close(&self) -> NetworkClosed {
        let was = self.opened().take();
        if let Some(open) = &was {
            // If nobody receives this, the door has closed already.
            let _ = open.close.send(true);
        }
        NetworkClosed {
            was_open: was.is_some(),
            devices: self.passes.shut_out_paired(),
        }
    }
}

/// The address of this machine on its network. Nothing is sent: the system only tells which of its
/// addresses it would use. 192.0.2.1 is reserved for documentation (RFC 5737), and its route is
/// that of any other outside address.
fn own_address() -> Result<IpAddr, Refusal> {
    let asked = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).and_then(|socket| {
        socket.connect((Ipv4Addr::new(192, 0, 2, 1), 9))?;
        socket.local_addr()
    });
    asked.map(|address| address.ip()).map_err(|e| {
        Refusal::new(
            Reason::Unavailable,
            format!("this machine is on no network: {e}"),
        )
        .todo("connect it to the shop's network and ask again")
    })
}
