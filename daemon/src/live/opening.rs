//! How a gauge's port gets its thread: over serial ports, or played inside the process.

use std::io;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::thread::JoinHandle;

use benchhand_drivers::port::{Port, PortEvent, Refused};
use benchhand_drivers::timebase::Timebase;
use benchhand_drivers::transport::{OpenError, Transport, serial};
use benchhand_drivers::{DriverOptions, Line};

use crate::desk::shop::ShopGauge;

/// Where a port's news go.
pub(crate) type ToBench = Box<dyn FnMut(PortEvent) -> Result<(), Refused> + Send>;

/// Opens a line, again and again.
pub(crate) type OpenLine = Box<dyn FnMut() -> Result<Box<dyn Transport>, OpenError> + Send>;

/// Knows how to reach a gauge.
pub(crate) trait Opener: Send + Sync {
    /// What opens the gauge's line.
    fn line(&self, gauge: &ShopGauge) -> OpenLine;

    /// The clock that stamps the samples of a gauge.
    fn time(&self, gauge: &str) -> Arc<dyn Timebase>;

    /// The counter of the bytes that a gauge's port has worked off.
    fn consumed(&self, _gauge: &str) -> Arc<AtomicU64> {
        Arc::default()
    }

    /// Whether its gauges are played, not real.
    fn plays(&self) -> bool {
        false
    }
}

/// A port's thread.
#[derive(Debug)]
pub(crate) struct PortThread {
    stop: Arc<AtomicBool>,
    thread: JoinHandle<()>,
}

impl PortThread {
    /// Starts the thread of a gauge's port. The line is opened on it, again and again.
    pub(crate) fn start(
        opener: &dyn Opener,
        gauge: &ShopGauge,
        to_bench: ToBench,
    ) -> io::Result<PortThread> {
        let stop = Arc::new(AtomicBool::new(false));
        let port = Port {
            opener: Box::new(opener.line(gauge)),
            driver: gauge.profile.driver(DriverOptions::default()),
            time: opener.time(&gauge.setup.name),
            stop: Arc::clone(&stop),
            consumed: opener.consumed(&gauge.setup.name),
            silence_after_us: gauge.profile.silence_after(),
            watch_inputs: gauge.pedal.is_some(),
        };
        let thread = std::thread::Builder::new()
            .name(format!("port {}", gauge.setup.name))
            .spawn(move || port.run(to_bench))?;
        Ok(PortThread { stop, thread })
    }

    /// Asks it to end and waits until it has: at most one read's time.
    pub(crate) fn stop(self) {
        self.stop.store(true, Ordering::Release);
        if self.thread.join().is_err() {
            tracing::error!("a port's thread had panicked");
        }
    }
}

/// Opens real serial ports, by the adapter's identity or a pinned path.
pub(crate) struct SerialOpener {
    time: Arc<dyn Timebase>,
}

impl SerialOpener {
    pub(crate) fn new(time: Arc<dyn Timebase>) -> SerialOpener {
        SerialOpener { time }
    }
}

impl Opener for SerialOpener {
    fn line(&self, gauge: &ShopGauge) -> OpenLine {
        let (setup, line) = (gauge.setup.clone(), gauge.profile.line());
        Box::new(move || match (&setup.adapter, &setup.port) {
            (Some(adapter), _) => open_adapter(adapter, &line),
            (None, path) => serial::open(path.as_deref().unwrap_or_default(), &line),
        })
    }

    fn time(&self, _gauge: &str) -> Arc<dyn Timebase> {
        Arc::clone(&self.time)
    }
}

/// Opens the one adapter that fits; two that fit equally are refused by name, since a guess
/// would put one gauge's values at another's spots.
fn open_adapter(wanted: &str, line: &Line) -> Result<Box<dyn Transport>, OpenError> {
    let fits = |identity: &serial::UsbIdentity| {
        let text = identity.to_string();
        text == wanted
            || text
                .strip_prefix(wanted)
                .is_some_and(|rest| rest.starts_with(' '))
    };
    let ports = serial::list()?;
    let mut found = ports
        .iter()
        .filter(|port| port.usb.as_ref().is_some_and(fits));
    match (found.next(), found.next()) {
        (Some(only), None) => serial::open(&only.path, line),
        (Some(first), Some(second)) => Err(OpenError::Ambiguous {
            wanted: wanted.to_owned(),
            first: first.path.clone(),
            second: second.path.clone(),
        }),
        (None, _) => Err(OpenError::Absent {
            path: format!("adapter {wanted}"),
        }),
    }
}
