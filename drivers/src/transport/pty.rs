//! A pseudo-terminal pair. This program holds one end; the other has a path that any program can
//! open like a serial port.

use std::fs::File;
use std::os::fd::OwnedFd;
use std::time::{Duration, Instant};

use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::fs::{Mode, OFlags};
use rustix::io::Errno;
use rustix::pty::OpenptFlags;
use rustix::termios::{ControlModes, OptionalActions, QueueSelector};

use super::{LinkError, ModemInputs, Transport};
use crate::serial_settings::{Parity, SerialFormat, SerialSettings};

/// Time for which a write waits for the other end to take bytes.
const PATIENCE: Duration = Duration::from_secs(2);

/// The held end of a pseudo-terminal. Dropping it hangs up.
#[derive(Debug)]
pub struct PtyEnd {
    held: File,
    /// This handle keeps the pair alive while no program has the path open.
    other: OwnedFd,
    path: String,
}

impl PtyEnd {
    /// Makes a pair in raw mode.
    ///
    /// # Errors
    /// The system's error; it may have no pseudo-terminal left.
    pub fn open() -> std::io::Result<Self> {
        let held =
            rustix::pty::openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC)?;
        rustix::pty::grantpt(&held)?;
        rustix::pty::unlockpt(&held)?;
        let name = rustix::pty::ptsname(&held, Vec::new())?;
        let path = name.into_string().map_err(std::io::Error::other)?;
        let flags = OFlags::RDWR | OFlags::NOCTTY | OFlags::CLOEXEC;
        let other = rustix::fs::open(&path, flags, Mode::empty())?;
        let mut settings = rustix::termios::tcgetattr(&other)?;
        settings.make_raw();
        rustix::termios::tcsetattr(&other, OptionalActions::Now, &settings)?;
        let status = rustix::fs::fcntl_getfl(&held)?;
        rustix::fs::fcntl_setfl(&held, status | OFlags::NONBLOCK)?;
        Ok(Self {
            held: File::from(held),
            other,
            path,
        })
    }

    /// The path of the other end.
    #[must_use]
    pub fn path(&self) -> &str {
        &self.path
    }

    /// The settings that the program at the other end asked for. A pseudo-terminal carries every
    /// byte unchanged whatever they are.
    ///
    /// # Errors
    /// What the system says.
    pub fn settings(&self) -> std::io::Result<SerialSettings> {
        let settings = rustix::termios::tcgetattr(&self.held)?;
        let modes = settings.control_modes;
        let parity = match (
            modes.contains(ControlModes::PARENB),
            modes.contains(ControlModes::PARODD),
        ) {
            (false, _) => Parity::None,
            (true, false) => Parity::Even,
            (true, true) => Parity::Odd,
        };
        let data = if modes & ControlModes::CSIZE == ControlModes::CS7 {
            7
        } else {
            8
        };
        let stop = if modes.contains(ControlModes::CSTOPB) {
            2
        } else {
            1
        };
        Ok(SerialSettings::new(
            settings.output_speed(),
            SerialFormat { data, parity, stop },
        ))
    }

    /// Throws away bytes that were sent and that nobody has read.
    pub fn forget_unread(&self) {
        if let Err(error) = rustix::termios::tcflush(&self.other, QueueSelector::IFlush) {
            tracing::debug!(%error, "unread bytes could not be thrown away");
        }
    }

    /// Ends the exclusive use by a program that was killed. A real port ends it with the program's
    /// last handle. Here the pair's own handle would keep it.
    ///
    /// # Errors
    /// What the system says.
    pub fn let_go(&self) -> std::io::Result<()> {
        Ok(rustix::termios::ioctl_tiocnxcl(&self.other)?)
    }

    /// Waits until the end is ready for `what`. `false` if it was not ready in time.
    fn ready(&self, what: PollFlags, timeout: Duration) -> Result<bool, LinkError> {
        let timeout = Timespec {
            tv_sec: i64::try_from(timeout.as_secs()).unwrap_or(i64::MAX),
            tv_nsec: i64::from(timeout.subsec_nanos()),
        };
        let mut ends = [PollFd::new(&self.held, what)];
        match poll(&mut ends, Some(&timeout)) {
            Ok(0) | Err(Errno::INTR) => Ok(false),
            Ok(_) => Ok(true),
            Err(error) => Err(LinkError::Gone(error.to_string())),
        }
    }
}

impl Transport for PtyEnd {
    fn read(&mut self, buffer: &mut [u8], timeout: Duration) -> Result<usize, LinkError> {
        if !self.ready(PollFlags::IN, timeout)? {
            return Ok(0);
        }
        match rustix::io::read(&self.held, buffer) {
            Ok(count) => Ok(count),
            Err(Errno::AGAIN | Errno::INTR) => Ok(0),
            Err(error) => Err(LinkError::Gone(error.to_string())),
        }
    }

    fn write(&mut self, bytes: &[u8]) -> Result<(), LinkError> {
        let began = Instant::now();
        let mut rest = bytes;
        while !rest.is_empty() {
            match rustix::io::write(&self.held, rest) {
                Ok(count) => rest = rest.get(count..).unwrap_or_default(),
                Err(Errno::AGAIN | Errno::INTR) => {
                    let left = PATIENCE.saturating_sub(began.elapsed());
                    if left.is_zero() {
                        return Err(LinkError::Stuck);
                    }
                    self.ready(PollFlags::OUT, left)?;
                }
                Err(error) => return Err(LinkError::Gone(error.to_string())),
            }
        }
        Ok(())
    }

    fn drain(&mut self) -> Result<(), LinkError> {
        rustix::termios::tcflush(&self.held, QueueSelector::IFlush)
            .map_err(|error| LinkError::Gone(error.to_string()))
    }

    fn inputs(&mut self) -> Result<Option<ModemInputs>, LinkError> {
        Ok(None)
    }
}
