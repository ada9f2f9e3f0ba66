//! Real serial ports: opening, reading, listing. No other file names the serial crate.

use std::io;
use std::time::Duration;

use serialport::{
    ClearBuffer, DataBits, ErrorKind, FlowControl, SerialPort, SerialPortType, StopBits,
};

pub use super::identity::UsbIdentity;
use super::identity::{FoundPort, PortIdentity, resolve};
use super::{LinkError, ModemInputs, OpenError, Opener, Transport, macos, sysfs};
use crate::serial_settings::{Parity, SerialFormat, SerialSettings};

/// Longest time that a write may take.
const WRITE_PATIENCE: Duration = Duration::from_secs(2);

/// An open serial port. No other program can open it meanwhile.
struct Serial {
    port: Box<dyn SerialPort>,
    timeout: Duration,
    /// Whether the port has modem inputs. `None` until it was asked.
    has_inputs: Option<bool>,
}

/// Opens a serial port for this program alone.
///
/// A line of 7 data bits is opened as 8N1, and the driver judges its top bits, because
/// pseudo-terminals and some adapters ignore 7-bit settings. Only 7N1 is left to the adapter,
/// because its words are one bit shorter.
///
/// # Errors
/// Absent, busy and forbidden are different errors. Each says what to do.
pub fn open(path: &str, line: &SerialSettings) -> Result<Box<dyn Transport>, OpenError> {
    let seven_bits = line.format.data == 7;
    let parity = match line.format.parity {
        _ if seven_bits => serialport::Parity::None,
        Parity::None => serialport::Parity::None,
        Parity::Even => serialport::Parity::Even,
        Parity::Odd => serialport::Parity::Odd,
    };
    // A 7-bit word with parity and two stop bits is as long as 8N2.
    let stop = if line.format.stop == 2 {
        StopBits::Two
    } else {
        StopBits::One
    };
    let timeout = Duration::from_millis(40);
    let short = line.format
        == SerialFormat {
            data: 7,
            parity: Parity::None,
            stop: 1,
        };
    let mut builder = serialport::new(path, line.baud)
        .data_bits(if short {
            DataBits::Seven
        } else {
            DataBits::Eight
        })
        .parity(parity)
        .stop_bits(stop)
        .flow_control(FlowControl::None)
        .timeout(timeout);
    if let Some(dtr) = line.dtr {
        builder = builder.dtr_on_open(dtr);
    }
    let mut port = builder.open().map_err(|error| why(path, line, &error))?;
    if let Some(rts) = line.rts
        && let Err(error) = port.write_request_to_send(rts)
    {
        // A pseudo-terminal has no such line. A gauge that draws its power from it stays silent.
        tracing::debug!(path, %error, "request to send could not be set");
    }
    // Bytes that were sent before the opening are not a present measurement.
    if let Err(error) = port.clear(ClearBuffer::Input) {
        tracing::debug!(path, %error, "old bytes could not be thrown away");
    }
    Ok(Box::new(Serial {
        port,
        timeout,
        has_inputs: None,
    }))
}

fn why(path: &str, line: &SerialSettings, error: &serialport::Error) -> OpenError {
    let path_text = path.to_owned();
    match error.kind() {
        ErrorKind::Io(io::ErrorKind::NotFound) => OpenError::Absent { path: path_text },
        ErrorKind::Io(io::ErrorKind::PermissionDenied) => OpenError::Forbidden {
            path: path_text,
            advice: permission_advice(path),
        },
        // The crate reports a lock that another program holds as "no device".
        ErrorKind::NoDevice if exists(path) => OpenError::Busy { path: path_text },
        ErrorKind::NoDevice => OpenError::Absent { path: path_text },
        ErrorKind::InvalidInput => OpenError::Settings {
            path: path_text,
            line: line.to_string(),
        },
        _ if !exists(path) => OpenError::Absent { path: path_text },
        _ if !is_device(path) => OpenError::NotAPort {
            path: path_text,
            example: EXAMPLE,
        },
        _ => OpenError::Failed {
            path: path_text,
            reason: error.description.clone(),
        },
    }
}

const EXAMPLE: &str = if cfg!(windows) {
    "COM3"
} else if cfg!(target_os = "macos") {
    macos::EXAMPLE
} else {
    "/dev/ttyUSB0"
};

#[cfg(unix)]
fn exists(path: &str) -> bool {
    std::fs::metadata(path).is_ok()
}

#[cfg(not(unix))]
fn exists(path: &str) -> bool {
    serialport::available_ports().is_ok_and(|ports| {
        ports
            .iter()
            .any(|port| port.port_name.eq_ignore_ascii_case(path))
    })
}

#[cfg(unix)]
fn is_device(path: &str) -> bool {
    use std::os::unix::fs::FileTypeExt;
    std::fs::metadata(path).is_ok_and(|found| found.file_type().is_char_device())
}

#[cfg(not(unix))]
fn is_device(path: &str) -> bool {
    exists(path)
}

#[cfg(unix)]
fn permission_advice(path: &str) -> String {
    use std::os::unix::fs::MetadataExt;
    match std::fs::metadata(path) {
        Ok(found) => format!(
            "the port belongs to group {} with mode {:03o}; add your user to that group (often \"dialout\" or \"uucp\"), then log in again",
            found.gid(),
            found.mode() & 0o777
        ),
        Err(_) => "ask for the right to open the port's folder".to_owned(),
    }
}

#[cfg(not(unix))]
fn permission_advice(_path: &str) -> String {
    "another program may hold it, or this user lacks the right; close other programs and try again"
        .to_owned()
}

impl Transport for Serial {
    fn read(&mut self, buffer: &mut [u8], timeout: Duration) -> Result<usize, LinkError> {
        if timeout != self.timeout {
            self.port
                .set_timeout(timeout)
                .map_err(|error| gone(&error.description))?;
            self.timeout = timeout;
        }
        match self.port.read(buffer) {
            // A port never ends, so an end of file means that the adapter was unplugged.
            Ok(0) => Err(gone("the port ended")),
            Ok(count) => Ok(count),
            Err(error) if is_pause(&error) => {
                // On some platforms reading from a lost adapter only times out.
                self.port
                    .bytes_to_read()
                    .map_err(|error| gone(&error.description))?;
                Ok(0)
            }
            Err(error) => Err(gone(&error.to_string())),
        }
    }

    fn write(&mut self, bytes: &[u8]) -> Result<(), LinkError> {
        self.port
            .set_timeout(WRITE_PATIENCE)
            .map_err(|error| gone(&error.description))?;
        self.timeout = WRITE_PATIENCE;
        match self.port.write_all(bytes) {
            Ok(()) => Ok(()),
            Err(error) if error.kind() == io::ErrorKind::TimedOut => Err(LinkError::Stuck),
            Err(error) => Err(gone(&error.to_string())),
        }
    }

    fn drain(&mut self) -> Result<(), LinkError> {
        self.port
            .clear(ClearBuffer::Input)
            .map_err(|error| gone(&error.description))
    }

    fn inputs(&mut self) -> Result<Option<ModemInputs>, LinkError> {
        if self.has_inputs == Some(false) {
            return Ok(None);
        }
        let read = self.port.read_clear_to_send().and_then(|cts| {
            Ok(ModemInputs {
                cts,
                dsr: self.port.read_data_set_ready()?,
            })
        });
        match read {
            Ok(inputs) => {
                self.has_inputs = Some(true);
                Ok(Some(inputs))
            }
            // A port without modem inputs is not lost.
            Err(_) if self.has_inputs.is_none() => {
                self.has_inputs = Some(false);
                Ok(None)
            }
            Err(error) => Err(gone(&error.description)),
        }
    }
}

fn is_pause(error: &io::Error) -> bool {
    matches!(
        error.kind(),
        io::ErrorKind::TimedOut | io::ErrorKind::Interrupted | io::ErrorKind::WouldBlock
    )
}

fn gone(reason: &str) -> LinkError {
    LinkError::Gone(reason.to_owned())
}

/// A port of this computer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PortInfo {
    /// Its path or name.
    pub path: String,
    /// A description for people.
    pub description: String,
    /// The USB adapter behind it, if it is one.
    pub usb: Option<UsbIdentity>,
    /// Whether the port can be opened.
    pub state: PortState,
}

/// Whether a port can be opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PortState {
    /// The port can be opened.
    Free,
    /// Another program holds the port, or this program already does.
    Busy,
    /// This user may not open the port.
    Forbidden,
    /// The port cannot be opened for another reason.
    Unusable(OpenError),
}

/// An opener for the port with this identity, wherever it is plugged in.
pub fn opener(identity: PortIdentity, line: SerialSettings) -> impl Opener {
    move || -> Result<Box<dyn Transport>, OpenError> {
        let ports = if identity.is_looked_up() {
            found()?
        } else {
            Vec::new()
        };
        open(&resolve(&identity, &ports)?, &line)
    }
}

/// Every serial port of this computer, sorted by path, without opening any.
///
/// # Errors
/// The system's error if it cannot list the ports.
pub fn found() -> Result<Vec<FoundPort>, OpenError> {
    // Where there is no list, the serial crate panics.
    if !sysfs::are_told() {
        return Ok(Vec::new());
    }
    let listed = serialport::available_ports().map_err(|error| OpenError::Failed {
        path: "the list of ports".to_owned(),
        reason: error.description,
    })?;
    let mut ports: Vec<FoundPort> = listed
        .into_iter()
        .map(|port| FoundPort {
            place: sysfs::place_of(&port.port_name),
            path: port.port_name,
            usb: match port.port_type {
                SerialPortType::UsbPort(usb) => Some(UsbIdentity {
                    vid: usb.vid,
                    pid: usb.pid,
                    serial: usb.serial_number,
                    interface: usb.interface,
                    manufacturer: usb.manufacturer,
                    product: usb.product,
                }),
                _ => None,
            },
        })
        .collect();
    ports.sort_by(|a, b| a.path.cmp(&b.path));
    Ok(macos::without_dial_in(ports, |port| port.path.as_str()))
}

/// Every serial port of this computer, sorted by path, with whether it can be opened.
///
/// # Errors
/// The system's error if it cannot list the ports.
pub fn list() -> Result<Vec<PortInfo>, OpenError> {
    let mut all = Vec::new();
    for port in found()? {
        let state = probe(&port.path);
        // Some main boards list ports without hardware. They cannot be opened and are left out.
        if port.usb.is_none() && matches!(state, PortState::Unusable(_)) {
            continue;
        }
        all.push(info(port, state));
    }
    Ok(all)
}

/// The ports of USB adapters, sorted by path. None is opened: each is said to be free.
///
/// # Errors
/// The system's error if it cannot list the ports.
pub fn adapters() -> Result<Vec<PortInfo>, OpenError> {
    let usb = found()?.into_iter().filter(|port| port.usb.is_some());
    Ok(usb.map(|port| info(port, PortState::Free)).collect())
}

fn info(port: FoundPort, state: PortState) -> PortInfo {
    let description = match &port.usb {
        Some(usb) => usb
            .product
            .clone()
            .unwrap_or_else(|| "USB adapter".to_owned()),
        None => "serial port".to_owned(),
    };
    PortInfo {
        path: port.path,
        description,
        usb: port.usb,
        state,
    }
}

/// Whether the port at this path can be opened now. The port is opened for an instant, and some
/// adapters raise their output lines for that time.
#[must_use]
pub fn probe(path: &str) -> PortState {
    let line = SerialSettings::new(9600, SerialFormat::N81);
    let opened = serialport::new(path, line.baud)
        .timeout(Duration::from_millis(10))
        .open();
    match opened.map_err(|error| why(path, &line, &error)) {
        Ok(_) => PortState::Free,
        Err(OpenError::Busy { .. }) => PortState::Busy,
        Err(OpenError::Forbidden { .. }) => PortState::Forbidden,
        Err(error) => PortState::Unusable(error),
    }
}
