//! A station whose gauges hang at lines in memory. The test's thread steps ports and clock, so hours of
//! many fast gauges pass in minutes; the daemon has its own threads, disk and API.

use std::collections::BTreeMap;
use std::io;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;

use benchhand_daemon::clock::Clock;
use benchhand_daemon::{OpenLine, Opener, ToStation, WantedLine};
use benchhand_drivers::port::{PortLoop, SteppedPort};
use benchhand_drivers::timebase::{DrivenTime, Timebase};
use benchhand_drivers::transport::{MemoryEnd, OpenError, Transport, memory_pair};
use jiff::{SignedDuration, Timestamp};

/// The port's end of a line that no port has opened yet; `None` where the cable is out.
type Socket = Arc<Mutex<Option<MemoryEnd>>>;

/// The module's opening says what it is.
#[derive(Default)]
pub struct SteppedStation {
    time: Arc<DrivenTime>,
    sockets: Mutex<BTreeMap<String, Socket>>,
    ports: Mutex<Vec<SteppedPort<ToStation>>>,
}

fn lock<T>(what: &Mutex<T>) -> MutexGuard<'_, T> {
    what.lock().unwrap_or_else(PoisonError::into_inner)
}

impl SteppedStation {
    /// Plugs in the cable of a gauge: the gauge's end of it.
    pub fn plug_in(&self, gauge: &str) -> MemoryEnd {
        let (near, far) = memory_pair();
        *lock(&self.socket(gauge)) = Some(near);
        far
    }

    fn socket(&self, gauge: &str) -> Socket {
        let mut sockets = lock(&self.sockets);
        Arc::clone(sockets.entry(gauge.to_owned()).or_default())
    }

    /// Moves the clock on to this many microseconds.
    pub fn advance_to(&self, us: u64) {
        self.time.advance_to(us);
    }

    /// Lets every port do what it can do now.
    pub fn step(&self) {
        let mut ports = std::mem::take(&mut *lock(&self.ports));
        ports.iter_mut().for_each(SteppedPort::step);
        ports.retain(|port| !port.is_over());
        // Another may have been opened meanwhile.
        lock(&self.ports).extend(ports);
    }
}

impl std::fmt::Debug for SteppedStation {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "SteppedStation({} us)", self.time.now_us())
    }
}

impl Opener for SteppedStation {
    fn line(&self, wanted: &WantedLine) -> OpenLine {
        let socket = self.socket(&wanted.gauge);
        let path = wanted.gauge.clone();
        Box::new(move || match lock(&socket).take() {
            Some(near) => Ok(Box::new(near) as Box<dyn Transport>),
            None => Err(OpenError::Absent { path: path.clone() }),
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

impl Clock for SteppedStation {
    fn now_utc(&self) -> Timestamp {
        let began: Timestamp = "2026-03-02T08:00:00Z".parse().expect("a time");
        let us = i64::try_from(self.time.now_us()).unwrap_or(i64::MAX);
        began + SignedDuration::from_micros(us)
    }

    fn now_us(&self) -> u64 {
        self.time.now_us()
    }
}
