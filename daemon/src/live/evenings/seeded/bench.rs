//! All that a seeded daemon stands on: a disk, one clock, and a burette at its cable.
//!
//! Nothing here runs by itself. Ports and station work when they are stepped.

use std::io;
use std::sync::atomic::{AtomicI64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;

use benchhand_drivers::port::{PortEvent, PortLoop, SinkError, SteppedPort};
use benchhand_drivers::timebase::{DrivenTime, Timebase};
use benchhand_drivers::transport::{MemoryEnd, OpenError, Transport, memory_pair};
use benchhand_testbed::disk::{FailingFiles, MemoryDisk};
use benchhand_wire::Refusal;
use jiff::{SignedDuration, Timestamp};

use crate::clock::Clock;
use crate::live::handle::{StationWay, StationWork, stopping};
use crate::live::opening::ToStation;
use crate::live::{OpenLine, Opener, Station, WantedLine};

pub(super) fn lock<T>(what: &Mutex<T>) -> MutexGuard<'_, T> {
    what.lock().unwrap_or_else(PoisonError::into_inner)
}

/// The one clock. Its time of day can be set to something else; its microseconds go on evenly.
#[derive(Default)]
pub(super) struct OneClock {
    pub(super) driven: Arc<DrivenTime>,
    ahead_s: AtomicI64,
}

impl OneClock {
    pub(super) fn jump(&self, seconds: i64) {
        self.ahead_s.fetch_add(seconds, Ordering::Relaxed);
    }
}

impl std::fmt::Debug for OneClock {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "OneClock({})", self.now_us())
    }
}

impl Clock for OneClock {
    fn now_utc(&self) -> Timestamp {
        let start: Timestamp = "2026-03-02T18:00:00Z".parse().expect("a time");
        let us = i64::try_from(self.now_us()).expect("an evening");
        let ahead = SignedDuration::from_secs(self.ahead_s.load(Ordering::Relaxed));
        start + SignedDuration::from_micros(us) + ahead
    }

    fn now_us(&self) -> u64 {
        self.driven.now_us()
    }
}

/// The burette's cable, with the port at its end.
#[derive(Default)]
pub(super) struct Cable {
    time: Arc<DrivenTime>,
    /// The port's end of the line, until the port opens it. `None` where the cable is out.
    socket: Arc<Mutex<Option<MemoryEnd>>>,
    ports: Mutex<Vec<SteppedPort<ToStation>>>,
}

impl Cable {
    pub(super) fn new(time: Arc<DrivenTime>) -> Cable {
        Cable {
            time,
            ..Cable::default()
        }
    }

    /// A new line; the gauge's end of it.
    pub(super) fn plug_in(&self) -> MemoryEnd {
        let (near, far) = memory_pair();
        *lock(&self.socket) = Some(near);
        far
    }

    pub(super) fn pull_out(&self) {
        *lock(&self.socket) = None;
    }

    /// Whether the port has opened the line that is plugged in.
    pub(super) fn is_open(&self) -> bool {
        lock(&self.socket).is_none()
    }

    /// Lets every port do what it can do now.
    pub(super) fn step(&self) {
        // A station that takes in an event may open another port meanwhile.
        let mut ports = std::mem::take(&mut *lock(&self.ports));
        ports.iter_mut().for_each(SteppedPort::step);
        ports.retain(|port| !port.is_over());
        lock(&self.ports).extend(ports);
    }
}

impl Opener for Cable {
    fn line(&self, _: &WantedLine) -> OpenLine {
        let socket = Arc::clone(&self.socket);
        Box::new(move || match lock(&socket).take() {
            Some(near) => Ok(Box::new(near) as Box<dyn Transport>),
            None => Err(OpenError::Absent {
                path: "the burette's cable".to_owned(),
            }),
        })
    }

    fn time(&self, _: &str) -> Arc<dyn Timebase> {
        Arc::clone(&self.time) as Arc<dyn Timebase>
    }

    fn run(
        &self,
        _: &str,
        port: PortLoop,
        to_station: ToStation,
    ) -> io::Result<Option<JoinHandle<()>>> {
        lock(&self.ports).push(SteppedPort::new(port, to_station));
        Ok(None)
    }

    fn plays(&self) -> bool {
        true
    }
}

/// A station without a thread: whoever asks does the work.
#[derive(Default)]
pub(super) struct Here {
    pub(super) station: Mutex<Option<Station>>,
}

impl StationWay for Here {
    fn offer(&self, gauge: &Arc<str>, opening: u64, event: PortEvent) -> Result<(), SinkError> {
        match &mut *lock(&self.station) {
            Some(station) => {
                station.port_event(gauge, opening, event);
                Ok(())
            }
            None => Err(SinkError::Closed),
        }
    }

    fn have_done(&self, work: StationWork) -> Result<(), Refusal> {
        match &mut *lock(&self.station) {
            Some(station) => {
                work(station);
                Ok(())
            }
            None => Err(stopping()),
        }
    }

    fn end(&self, in_good_order: bool) {
        match (lock(&self.station).take(), in_good_order) {
            (Some(mut station), true) => station.stop(),
            (Some(mut station), false) => station.break_off(),
            (None, _) => {}
        }
    }
}

/// The disk, with one that fails on purpose before it.
pub(super) struct Disks {
    pub(super) memory: MemoryDisk,
    pub(super) files: FailingFiles,
}

impl Disks {
    pub(super) fn new(seed: u64) -> Disks {
        let memory = MemoryDisk::new();
        let files = FailingFiles::over(Arc::new(memory.clone()), seed);
        Disks { memory, files }
    }
}
