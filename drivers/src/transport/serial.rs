//! Real serial ports: opening, reading, listing. The only file that names the serial crate.

use std::io;
use std::time::Duration;

use serialport::{
    ClearBuffer, DataBits, ErrorKind, FlowControl, SerialPort, SerialPortType, StopBits,
};

pub use super::identity::UsbIdentity;
use super::identity::{FoundPort, PortIdentity, resolve};
use super::{LinkError, ModemInputs, OpenError, Opener, Transport};
use crate::line::{Format, Line, Parity};

/// How long a write may take.
const WRITE_PATIENCE: Duration = Duration::from_secs(2);

/// A serial port that is open. Nobody else can open it meanwhile.
struct Serial {
    port: Box<dyn SerialPort>,
    timeout: Duration,
    /// Whether the port has modem lines; `None` until it was asked.
    has_inputs: Option<bool>,
}

/// Opens a serial port for this program alone.
///
/// A line of 7 data bits is opened as 8N1: its top bits and its parity are judged by the driver,
/// since pseudo-terminals and some adapters ignore 7-bit settings. Only 7N1, whose words are a
/// bit shorter, is left to the adapter.
///
/// # Errors
/// Absent, busy and forbidden are told apart; each says what to do.
pub fn open(path: &str, line: &Line) -> Result<Box<dyn Transport>, OpenError> {
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
        == Format {
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
        // Pseudo-terminals have no such line; a gauge that is powered by it will stay silent.
        tracing::debug!(path, %error, "request to send could not be set");
    }
    // What was sent before anybody listened is no measurement of now.
    if let Err(error) = port.clear(ClearBuffer::Input) {
        tracing::debug!(path, %error, "old bytes could not be thrown away");
    }
    Ok(Box::new(Serial {
        port,
        timeout,
        has_inputs: None,
    }))
}

fn why(path: &str, line: &Line, error: &serialport::Error) -> OpenError {
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
    "/dev/cu.usbserial-1"
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
            "it belongs to group {} with mode {:03o}; add your user to that group (often \"dialout\" or \"uucp\"), then log in again",
            found.gid(),
            found.mode() & 0o777
        ),
        Err(_) => "ask for the right to open its folder".to_owned(),
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
            // No port ever ends: an end of file is an adapter that left.
            Ok(0) => Err(gone("the port ended")),
            Ok(count) => Ok(count),
            Err(error) if is_pause(&error) => {
                // On some platforms a lost adapter only ever times out.
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
            // A port that never had them is not gone.
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
    /// What it is, in words.
    pub description: String,
    /// The USB adapter behind it, if it is one.
    pub usb: Option<UsbIdentity>,
    /// Whether it can be opened.
    pub state: PortState,
}

/// Whether a port can be opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PortState {
    /// It can.
    Free,
    /// Another program holds it, or this one does already.
    Busy,
    /// This user may not.
    Forbidden,
    /// It cannot, for another reason.
    Unusable(OpenError),
}

/// Opens the port that an identity stands for, wherever it is now.
pub fn opener(identity: PortIdentity, line: Line) -> impl Opener {
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
/// What the system says where it cannot list them.
pub fn found() -> Result<Vec<FoundPort>, OpenError> {
    let listed = serialport::available_ports().map_err(|error| OpenError::Failed {
        path: "the list of ports".to_owned(),
        reason: error.description,
    })?;
    let mut ports: Vec<FoundPort> = listed
        .into_iter()
        .map(|port| FoundPort {
            place: place_of(&port.port_name),
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
    Ok(ports)
}

/// Where on the bus a port's adapter is plugged in, as the kernel writes it ("1-1.2:1.0").
#[cfg(target_os = "linux")]
fn place_of(path: &str) -> Option<String> {
    let name = std::path::Path::new(path).file_name()?;
    let device = std::fs::canonicalize(
        std::path::Path::new("/sys/class/tty")
            .join(name)
            .join("device"),
    );
    let device = device.ok()?;
    let is_place = |part: &str| part.contains('-') && part.contains(':');
    device
        .components()
        .rev()
        .filter_map(|part| part.as_os_str().to_str())
        .find(|part| is_place(part))
        .map(str::to_owned)
}

#[cfg(not(target_os = "linux"))]
fn place_of(_path: &str) -> Option<String> {
    None
}

/// Every serial port of this computer, sorted by path, and whether it can be opened.
///
/// # Errors
/// What the system says where it cannot list them.
pub fn list() -> Result<Vec<PortInfo>, OpenError> {
    let mut all = Vec::new();
    for port in found()? {
        let state = probe(&port.path);
        // Boards name ports that no hardware stands behind; those cannot be opened.
        if port.usb.is_none() && matches!(state, PortState::Unusable(_)) {
            continue;
        }
        let description = match &port.usb {
            Some(usb) => usb
                .product
                .clone()
                .unwrap_or_else(|| "USB adapter".to_owned()),
            None => "serial port".to_owned(),
        };
        all.push(PortInfo {
            path: port.path,
            description,
            usb: port.usb,
            state,
        });
    }
    Ok(all)
}

/// Whether the port at this path can be opened now. It is opened for an instant, which some
/// adapters answer by raising their output lines.
#[must_use]
pub fn probe(path: &str) -> PortState {
    let line = Line::new(9600, Format::N81);
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
