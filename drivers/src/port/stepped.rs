//! A port without a thread of its own: it works when its owner lets it, and never waits.
//!
//! Its owner drives the clock as well, so the same bytes at the same times give the same events.

use std::time::Duration;

use super::outlet::{EventSink, Outlet};
use super::session::{ServedLine, Session};
use super::{LONGEST_PAUSE, PortLoop};
use crate::transport::OpenError;

/// A port that is stepped.
pub struct SteppedPort<S> {
    port: PortLoop,
    outlet: Outlet<S>,
    served: Option<ServedLine>,
    told: Option<OpenError>,
    /// Time from which a lost or refused line is opened again, in microseconds.
    again_us: u64,
}

impl<S: EventSink> SteppedPort<S> {
    /// A port whose line is opened at the first step.
    pub fn new(port: PortLoop, sink: S) -> Self {
        Self {
            port,
            outlet: Outlet::new(sink),
            served: None,
            told: None,
            again_us: 0,
        }
    }

    /// Whether the port was stopped, or nobody listens any more. A step then does nothing.
    #[must_use]
    pub fn is_over(&self) -> bool {
        self.port.stopped() || self.outlet.closed()
    }

    /// Does what can be done at this moment of the port's clock: opens the line where it is closed,
    /// and reads it until it is empty. A line that was lost or refused is looked for once a second.
    pub fn step(&mut self) {
        let now_us = self.port.time.now_us();
        if self.served.is_none() && now_us >= self.again_us && !self.is_over() {
            self.served = self.port.open(&mut self.told, &mut self.outlet);
            self.looks_again_after(now_us);
        }
        while !self.is_over() {
            let Some(served) = &mut self.served else {
                return;
            };
            let mut session = Session {
                port: &mut self.port,
                outlet: &mut self.outlet,
                served,
            };
            match session.step_within(Duration::ZERO) {
                Ok(0) => return,
                Ok(_) => {}
                Err(lost) => {
                    self.served = None;
                    self.port.closed(Some(lost), &mut self.outlet);
                    self.looks_again_after(now_us);
                }
            }
        }
    }

    fn looks_again_after(&mut self, now_us: u64) {
        let pause = u64::try_from(LONGEST_PAUSE.as_micros()).unwrap_or(u64::MAX);
        self.again_us = now_us.saturating_add(pause);
    }
}

#[cfg(test)]
mod tests {
    use std::sync::{Arc, Mutex};

    use super::*;
    use crate::port::PortEvent;
    use crate::profile::{DriverOptions, JoinPoint, ProfileRegistry};
    use crate::timebase::DrivenTime;
    use crate::transport::{MemoryEnd, Transport, memory_pair};

    /// A port is stepped over a cable that is there, pulled out, and plugged in again.
    #[test]
    fn a_stepped_port_reads_loses_and_finds_its_line_again_on_the_given_time() {
        let plugged: Arc<Mutex<Option<MemoryEnd>>> = Arc::default();
        let plug_in = || {
            let (near, far) = memory_pair();
            *plugged.lock().unwrap() = Some(near);
            far
        };
        let registry = ProfileRegistry::builtin();
        let profile = registry.get("ascii-volume").unwrap();
        let time = Arc::new(DrivenTime::new());
        let socket = Arc::clone(&plugged);
        let port = PortLoop {
            opener: Box::new(move || match socket.lock().unwrap().take() {
                Some(near) => Ok(Box::new(near) as Box<dyn Transport>),
                None => Err(OpenError::Absent {
                    path: "burette".to_owned(),
                }),
            }),
            driver: profile.driver(DriverOptions {
                joined: JoinPoint::AtStart,
                address: None,
            }),
            line: profile.line(),
            time: time.clone(),
            stop: Arc::default(),
            progress: Arc::default(),
            silence_after_us: profile.silence_after(),
            watch_inputs: false,
        };
        let events = Arc::new(Mutex::new(Vec::new()));
        let sink = Arc::clone(&events);
        let mut port = SteppedPort::new(port, move |event| {
            sink.lock().unwrap().push(event);
            Ok(())
        });
        let mut far = plug_in();
        port.step();
        time.advance_to(100_000);
        far.write(b"12.34 cc\r\n12.").unwrap();
        port.step();
        time.advance_to(200_000);
        drop(far);
        for at_us in [200_000, 1_199_999, 1_200_000] {
            time.advance_to(at_us);
            port.step();
        }
        let mut far = plug_in();
        far.write(b"56.78 cc\r\n").unwrap();
        for at_us in [2_199_999, 2_200_000, 9_000_000] {
            time.advance_to(at_us);
            port.step();
        }
        let mut told = Vec::new();
        for event in &*events.lock().unwrap() {
            let what = match event {
                PortEvent::Raw { .. } => continue,
                PortEvent::Samples { samples, .. } => format!("{:?}", samples[0].value),
                PortEvent::Opened { .. } => "opened".to_owned(),
                PortEvent::Gone { .. } => "gone".to_owned(),
                PortEvent::OpenFailed { .. } => "not there".to_owned(),
                PortEvent::Silent { .. } => "silent".to_owned(),
                other => format!("{other:?}"),
            };
            told.push(format!("{what} at {}", event.at_us()));
        }
        assert_eq!(
            told,
            [
                "opened at 0",
                "Some(12.34) at 100000",
                "gone at 200000",
                "not there at 1200000",
                "opened at 2200000",
                "Some(56.78) at 2200000",
                "silent at 9000000"
            ]
        );
    }
}
