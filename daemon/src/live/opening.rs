//! How a gauge's port gets its thread: over a serial port, or played inside the process.

use std::io;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::JoinHandle;

use benchhand_drivers::port::{PortEvent, PortLoop, PortProgress, SinkError};
use benchhand_drivers::timebase::Timebase;
use benchhand_drivers::transport::{
    OpenError, Opener as _, PortIdentity, Transport, UsbIdentity, serial,
};
use benchhand_drivers::{DriverOptions, SerialSettings};

use crate::known::shop::ShopGauge;

/// Where the events of a port go.
pub type ToStation = Box<dyn FnMut(PortEvent) -> Result<(), SinkError> + Send>;

/// Opens a line, as often as it is called.
pub type OpenLine = Box<dyn FnMut() -> Result<Box<dyn Transport>, OpenError> + Send>;

/// A gauge whose line is to be opened.
#[derive(Debug, Clone)]
pub struct WantedLine {
    /// The gauge's name in the register.
    pub gauge: String,
    /// What the port is recognised by.
    pub port: PortIdentity,
    /// The settings of the serial line.
    pub line: SerialSettings,
}

/// How gauges are reached, and which clock stamps their samples.
pub trait Opener: Send + Sync {
    /// The function that opens the gauge's line.
    fn line(&self, wanted: &WantedLine) -> OpenLine;

    /// The clock that stamps the samples of a gauge.
    fn time(&self, gauge: &str) -> Arc<dyn Timebase>;

    /// Where the gauge's port reports its progress, for a clock that is driven by it.
    fn progress(&self, _gauge: &str) -> Arc<PortProgress> {
        Arc::default()
    }

    /// Runs the gauge's port until it is stopped: on a thread of its own, unless whoever drives its
    /// clock steps it too.
    ///
    /// # Errors
    /// Where no thread can be had.
    fn run(
        &self,
        gauge: &str,
        port: PortLoop,
        to_station: ToStation,
    ) -> io::Result<Option<JoinHandle<()>>> {
        let thread = std::thread::Builder::new().name(format!("port {gauge}"));
        thread.spawn(move || port.run(to_station)).map(Some)
    }

    /// Whether the gauges are played inside this process, so that no line is opened.
    fn plays(&self) -> bool {
        false
    }
}

/// Hands an event of a gauge's port to the station, with the number of the opening, without
/// waiting.
pub(crate) type Offer =
    Arc<dyn Fn(&Arc<str>, u64, PortEvent) -> Result<(), SinkError> + Send + Sync>;

/// A port that runs.
#[derive(Debug)]
pub(crate) struct PortThread {
    stop: Arc<AtomicBool>,
    /// `None` where the port is stepped.
    thread: Option<JoinHandle<()>>,
}

impl PortThread {
    /// Starts the thread of a gauge's port. The thread opens the line again whenever it is lost.
    pub(crate) fn start(
        opener: &dyn Opener,
        gauge: &ShopGauge,
        to_station: ToStation,
    ) -> io::Result<PortThread> {
        let stop = Arc::new(AtomicBool::new(false));
        let wanted = WantedLine {
            gauge: gauge.setup.name.clone(),
            port: identity(gauge.port.as_ref()),
            line: gauge.profile.line(),
        };
        let port = PortLoop {
            opener: Box::new(opener.line(&wanted)),
            line: wanted.line,
            driver: gauge.profile.driver(DriverOptions::default()),
            time: opener.time(&gauge.setup.name),
            stop: Arc::clone(&stop),
            progress: opener.progress(&gauge.setup.name),
            silence_after_us: gauge.profile.silence_after(),
            watch_inputs: gauge.pedal.is_some(),
        };
        let thread = opener.run(&gauge.setup.name, port, to_station)?;
        Ok(PortThread { stop, thread })
    }

    /// Asks the thread to end and waits for it: at most one read's time.
    pub(crate) fn stop(self) {
        self.stop.store(true, Ordering::Release);
        if self.thread.is_some_and(|thread| thread.join().is_err()) {
            tracing::error!("a port's thread had panicked");
        }
    }
}

/// Opens real serial ports, by the adapter's identity or a pinned path, on one clock.
pub struct SerialOpener {
    time: Arc<dyn Timebase>,
}

impl SerialOpener {
    /// An opener whose samples are stamped by this clock.
    #[must_use]
    pub fn new(time: Arc<dyn Timebase>) -> SerialOpener {
        SerialOpener { time }
    }
}

impl Opener for SerialOpener {
    fn line(&self, wanted: &WantedLine) -> OpenLine {
        let mut opener = serial::opener(wanted.port.clone(), wanted.line);
        Box::new(move || opener.open())
    }

    fn time(&self, _gauge: &str) -> Arc<dyn Timebase> {
        Arc::clone(&self.time)
    }
}

/// What the register states to recognise a gauge's port by. Two adapters that fit equally well are
/// refused by name, since a guess would put one gauge's values at another gauge's spots.
fn identity(port: Option<&crate::store::gauges::GaugePort>) -> PortIdentity {
    let Some(port) = port else {
        return PortIdentity::default();
    };
    let usb = port.usb.map(|id| UsbIdentity {
        vid: id.vendor,
        pid: id.product,
        serial: port.serial.clone(),
        interface: port.interface,
        manufacturer: None,
        product: None,
    });
    PortIdentity {
        usb,
        place: port.bus.clone(),
        path: port.path.clone(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::gauges::RegisterEntry;
    use benchhand_drivers::transport::FoundPort;
    use benchhand_drivers::transport::identity::resolve;

    fn wanted(port: &str) -> PortIdentity {
        let text = format!("kind = \"length\"\nport = {port}\n");
        let gauge: RegisterEntry = toml::from_str(&text).expect("a gauge");
        identity(gauge.port.as_ref())
    }

    fn adapter(path: &str, serial: Option<&str>, place: &str) -> FoundPort {
        FoundPort {
            path: path.to_owned(),
            usb: Some(UsbIdentity {
                vid: 0x0403,
                pid: 0x6001,
                serial: serial.map(str::to_owned),
                interface: None,
                manufacturer: Some("somebody".to_owned()),
                product: None,
            }),
            place: Some(place.to_owned()),
        }
    }

    #[test]
    fn a_gauge_is_found_under_whatever_name_its_adapter_comes_back() {
        let wanted = wanted("{ usb = \"0403:6001\", serial = \"A7\" }");
        for path in ["/dev/ttyUSB0", "/dev/ttyUSB4"] {
            let there = [
                adapter("/dev/ttyUSB9", Some("B2"), "1-3:1.0"),
                adapter(path, Some("A7"), "1-1:1.0"),
            ];
            assert_eq!(resolve(&wanted, &there).as_deref(), Ok(path));
        }
        let gone = [adapter("/dev/ttyUSB9", Some("B2"), "1-3:1.0")];
        let absent = resolve(&wanted, &gone).expect_err("it is not there");
        assert!(
            absent.to_string().contains("0403:6001 serial A7"),
            "{absent}"
        );
    }

    #[test]
    fn two_equal_adapters_are_refused_and_both_named_until_their_places_tell_them() {
        let there = [
            adapter("/dev/ttyUSB0", None, "1-1:1.0"),
            adapter("/dev/ttyUSB1", None, "1-2:1.0"),
        ];
        let error = resolve(&wanted("{ usb = \"0403:6001\" }"), &there).expect_err("which?");
        let said = error.to_string();
        for word in ["/dev/ttyUSB0", "/dev/ttyUSB1", "pin the gauge"] {
            assert!(said.contains(word), "{said}");
        }
        let placed = wanted("{ usb = \"0403:6001\", bus = \"1-2:1.0\" }");
        assert_eq!(resolve(&placed, &there).as_deref(), Ok("/dev/ttyUSB1"));
    }
}
