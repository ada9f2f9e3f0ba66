//! The demo's three lines: a far end for the player, a path for the daemon, a clock for each.
//!
//! Each line has a clock of its own. The clock stands still while its gauge is not played, so a
//! gauge that waits for its turn is not taken for a silent one.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Duration;

use benchhand_drivers::player::{PlayPace, play_into};
use benchhand_drivers::port::PortProgress;
use benchhand_drivers::stream::Stream;
use benchhand_drivers::timebase::{DrivenTime, Timebase};
use benchhand_drivers::transport::{OpenError, Transport};
use benchhand_wire::{Reason, Refusal};

use crate::live::{OpenLine, Opener, WantedLine};

/// How long a port may take for anything, in real time. Only a machine that stands still needs
/// longer.
const PATIENCE: Duration = Duration::from_secs(20);

/// The player's end of a line.
pub(super) struct FarEnd {
    line: Box<dyn Transport>,
    /// What the daemon opens.
    pub(super) path: String,
    time: Arc<DrivenTime>,
    progress: Arc<PortProgress>,
}

/// What the daemon's ports are given.
pub(super) struct Rig {
    seats: BTreeMap<String, Seat>,
}

struct Seat {
    near: ends::Near,
    time: Arc<DrivenTime>,
    progress: Arc<PortProgress>,
}

/// Makes a line for each gauge.
///
/// # Errors
/// Where the system has no pseudo-terminal left.
pub(super) fn rig(gauges: &[&str]) -> Result<(Rig, BTreeMap<String, FarEnd>), Refusal> {
    let (mut seats, mut far_ends) = (BTreeMap::new(), BTreeMap::new());
    for &gauge in gauges {
        let (line, near, path) = ends::pair(gauge).map_err(|e| {
            Refusal::new(
                Reason::Unavailable,
                format!("no pseudo-terminal can be had: {e}"),
            )
        })?;
        let (time, progress) = (Arc::new(DrivenTime::new()), Arc::<PortProgress>::default());
        let far = FarEnd {
            line,
            path,
            time: Arc::clone(&time),
            progress: Arc::clone(&progress),
        };
        far_ends.insert(gauge.to_owned(), far);
        seats.insert(
            gauge.to_owned(),
            Seat {
                near,
                time,
                progress,
            },
        );
    }
    Ok((Rig { seats }, far_ends))
}

impl Opener for Rig {
    fn line(&self, wanted: &WantedLine) -> OpenLine {
        match self.seats.get(&wanted.gauge) {
            Some(seat) => seat.near.opener(wanted.line),
            None => {
                let path = wanted.port.path.clone().unwrap_or_default();
                Box::new(move || Err(OpenError::Absent { path: path.clone() }))
            }
        }
    }

    fn time(&self, gauge: &str) -> Arc<dyn Timebase> {
        match self.seats.get(gauge) {
            Some(seat) => Arc::clone(&seat.time) as Arc<dyn Timebase>,
            None => Arc::new(DrivenTime::new()),
        }
    }

    fn progress(&self, gauge: &str) -> Arc<PortProgress> {
        self.seats
            .get(gauge)
            .map(|seat| Arc::clone(&seat.progress))
            .unwrap_or_default()
    }

    fn plays(&self) -> bool {
        true
    }
}

impl FarEnd {
    /// Plays a stream, in step with the port. `each` is called before each event.
    ///
    /// # Errors
    /// Where the port did not do its part.
    pub(super) fn play(
        &mut self,
        stream: &Stream,
        mut each: impl FnMut() -> bool,
    ) -> Result<(), Refusal> {
        let pace = PlayPace::InStep {
            time: &self.time,
            progress: &self.progress,
            patience: PATIENCE,
        };
        play_into(self.line.as_mut(), stream, &pace, |_| each())
            .map_err(|e| Refusal::new(Reason::GaugeSilent, e.to_string()))
    }
}

#[cfg(unix)]
mod ends {
    use benchhand_drivers::SerialSettings;
    use benchhand_drivers::transport::pty::PtyEnd;
    use benchhand_drivers::transport::{Transport, serial};

    use crate::live::OpenLine;

    /// The daemon's side: a path that is opened as any serial port is.
    pub(super) struct Near {
        path: String,
    }

    pub(super) fn pair(_gauge: &str) -> std::io::Result<(Box<dyn Transport>, Near, String)> {
        let far = PtyEnd::open()?;
        let path = far.path().to_owned();
        Ok((Box::new(far), Near { path: path.clone() }, path))
    }

    impl Near {
        pub(super) fn opener(&self, line: SerialSettings) -> OpenLine {
            let path = self.path.clone();
            Box::new(move || serial::open(&path, &line))
        }
    }
}

#[cfg(not(unix))]
mod ends {
    use std::sync::{Arc, Mutex, PoisonError};

    use benchhand_drivers::SerialSettings;
    use benchhand_drivers::transport::{MemoryEnd, OpenError, Transport, memory_pair};

    use crate::live::OpenLine;

    /// The daemon's side: an end in memory, which can be opened once.
    pub(super) struct Near {
        end: Arc<Mutex<Option<MemoryEnd>>>,
        name: String,
    }

    pub(super) fn pair(gauge: &str) -> std::io::Result<(Box<dyn Transport>, Near, String)> {
        let (far, near) = memory_pair();
        let name = format!("memory:{gauge}");
        let end = Arc::new(Mutex::new(Some(near)));
        Ok((
            Box::new(far),
            Near {
                end,
                name: name.clone(),
            },
            name,
        ))
    }

    impl Near {
        pub(super) fn opener(&self, _line: SerialSettings) -> OpenLine {
            let (end, path) = (Arc::clone(&self.end), self.name.clone());
            Box::new(move || {
                let near = end.lock().unwrap_or_else(PoisonError::into_inner).take();
                near.map(|near| Box::new(near) as Box<dyn Transport>)
                    .ok_or_else(|| OpenError::Absent { path: path.clone() })
            })
        }
    }
}
