//! The loop of one port, for a thread of its own.
//!
//! Opens, asks, reads, decodes and hands on; sees loss and silence, and opens again. It is
//! never held up by whoever listens: what cannot be handed on is counted, and told as an event
//! of its own. It does not know what the samples are for.

mod outlet;

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::time::{Duration, Instant};

pub use outlet::{Lost, Refused, Sink, channel};

use crate::driver::{Decoded, Driver, Next, Trouble};
use crate::sample::Sample;
use crate::timebase::Timebase;
use crate::transport::{LinkError, ModemInputs, OpenError, Opener, Transport};
use outlet::Outlet;

/// Longest wait of one read where nothing is due.
const LISTEN: Duration = Duration::from_millis(40);
/// Longest wait of one read where the modem inputs are watched.
const WATCH: Duration = Duration::from_millis(5);
/// First and longest pause before a lost or refused line is opened again.
const FIRST_PAUSE: Duration = Duration::from_millis(100);
const LONGEST_PAUSE: Duration = Duration::from_secs(1);
/// Turns in which a driver neither listens nor waits, before a read is forced.
const MOST_TURNS: usize = 64;

/// Something that happened at a port.
#[derive(Debug, Clone, PartialEq)]
pub enum PortEvent {
    /// The line was opened.
    Opened {
        /// When, in microseconds of the port's clock.
        at_us: u64,
    },
    /// Bytes crossed the line, one read's or one write's.
    Raw {
        /// When.
        at_us: u64,
        /// Which way.
        direction: Direction,
        /// The bytes.
        bytes: Vec<u8>,
    },
    /// What one read completed.
    Samples {
        /// When.
        at_us: u64,
        /// At least one.
        samples: Vec<Sample>,
    },
    /// Bytes or silence that gave no sample.
    Trouble {
        /// When.
        at_us: u64,
        /// Why.
        trouble: Trouble,
    },
    /// No sample came for as long as the profile allows.
    Silent {
        /// When this was seen.
        at_us: u64,
        /// When the last sample came, or the line was opened.
        since_us: u64,
        /// Bytes that came meanwhile and gave no sample: a gauge that talks and is not
        /// understood, not one that is switched off.
        bytes: u64,
    },
    /// A sample came again after a silence.
    Heard {
        /// When.
        at_us: u64,
    },
    /// The modem inputs, when they were first read and whenever they change.
    Inputs {
        /// When.
        at_us: u64,
        /// Their state.
        inputs: ModemInputs,
    },
    /// The line is lost. It is opened again as soon as it can be.
    Gone {
        /// When this was seen.
        at_us: u64,
        /// What the system says.
        reason: String,
    },
    /// The line cannot be opened; told once until the reason changes.
    OpenFailed {
        /// When.
        at_us: u64,
        /// Why, and what to do.
        error: OpenError,
    },
    /// Whoever listens was too slow: events between these times are lost.
    Overflow {
        /// When the first event was lost.
        from_us: u64,
        /// When the last event was lost.
        to_us: u64,
        /// How much.
        lost: Lost,
    },
}

/// Which way bytes went.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// From the gauge.
    Rx,
    /// To the gauge.
    Tx,
}

/// A port to be served.
pub struct Port {
    /// Opens the line, again and again.
    pub opener: Box<dyn Opener>,
    /// What its bytes mean.
    pub driver: Box<dyn Driver>,
    /// The clock that stamps samples.
    pub time: Arc<dyn Timebase>,
    /// Set to end the loop; it ends within one read's wait.
    pub stop: Arc<AtomicBool>,
    /// Counts bytes that were read, decoded and handed on, so that whoever drives the clock can
    /// go in step.
    pub consumed: Arc<AtomicU64>,
    /// After how long without a sample the gauge is called silent; `None` for never.
    pub silence_after_us: Option<u64>,
    /// Whether the modem inputs are watched (a pedal hangs on them).
    pub watch_inputs: bool,
}

impl Port {
    /// Serves the port until it is stopped or nobody listens any more.
    pub fn run(mut self, sink: impl Sink) {
        let mut outlet = Outlet::new(sink);
        let mut pause = FIRST_PAUSE;
        let mut told: Option<OpenError> = None;
        while !self.stopped() && !outlet.closed() {
            match self.opener.open() {
                Ok(line) => {
                    told = None;
                    let opened = Instant::now();
                    let reason = self.serve(line, &mut outlet);
                    if let Some(reason) = reason {
                        outlet.send(PortEvent::Gone {
                            at_us: self.time.now_us(),
                            reason,
                        });
                    }
                    // A line that is lost at once each time is not opened in a frenzy.
                    if opened.elapsed() > LONGEST_PAUSE {
                        pause = FIRST_PAUSE;
                    }
                }
                Err(error) => {
                    if !told
                        .as_ref()
                        .is_some_and(|told| told.says_the_same_as(&error))
                    {
                        let at_us = self.time.now_us();
                        outlet.send(PortEvent::OpenFailed {
                            at_us,
                            error: error.clone(),
                        });
                        told = Some(error);
                    }
                }
            }
            self.rest(pause, &mut outlet);
            pause = (pause * 2).min(LONGEST_PAUSE);
        }
        outlet.flush();
    }

    fn stopped(&self) -> bool {
        self.stop.load(Ordering::Acquire)
    }

    /// Pauses, but not longer than until the port is stopped.
    fn rest(&self, pause: Duration, outlet: &mut Outlet<impl Sink>) {
        let until = Instant::now() + pause;
        while !self.stopped() && !outlet.closed() {
            let left = until.saturating_duration_since(Instant::now());
            if left.is_zero() {
                return;
            }
            outlet.flush();
            std::thread::sleep(left.min(Duration::from_millis(20)));
        }
    }

    /// Serves an open line; why it was lost, or `None` where the port was stopped.
    fn serve(
        &mut self,
        line: Box<dyn Transport>,
        outlet: &mut Outlet<impl Sink>,
    ) -> Option<String> {
        let opened_us = self.time.now_us();
        self.driver.restart();
        outlet.send(PortEvent::Opened { at_us: opened_us });
        let mut session = Session {
            port: self,
            line,
            outlet,
            buffer: vec![0; 4096],
            decoded: Vec::new(),
            since_us: opened_us,
            bytes_since: 0,
            silent: false,
            inputs: None,
        };
        loop {
            if session.port.stopped() || session.outlet.closed() {
                return None;
            }
            if let Err(error) = session.step() {
                return Some(match error {
                    LinkError::Gone(reason) => reason,
                    LinkError::Stuck => error.to_string(),
                });
            }
        }
    }
}

/// A line from its opening to its loss.
struct Session<'a, S: Sink> {
    port: &'a mut Port,
    line: Box<dyn Transport>,
    outlet: &'a mut Outlet<S>,
    buffer: Vec<u8>,
    decoded: Vec<Decoded>,
    /// When the last sample came, or the line was opened.
    since_us: u64,
    bytes_since: u64,
    silent: bool,
    inputs: Option<ModemInputs>,
}

impl<S: Sink> Session<'_, S> {
    fn step(&mut self) -> Result<(), LinkError> {
        let wait = self.speak()?;
        let longest = if self.port.watch_inputs {
            WATCH
        } else {
            LISTEN
        };
        let count = self.line.read(&mut self.buffer, wait.min(longest))?;
        let now = self.port.time.now_us();
        self.take(now, count);
        if self.port.watch_inputs {
            self.watch(now)?;
        }
        self.judge_silence(now);
        self.outlet.flush();
        Ok(())
    }

    /// Does what the driver wants until it listens; how long it wants to.
    fn speak(&mut self) -> Result<Duration, LinkError> {
        for _ in 0..MOST_TURNS {
            let now = self.port.time.now_us();
            match self.port.driver.next(now) {
                Next::Listen => return Ok(LISTEN),
                Next::Wait { until_us } => return Ok(self.port.time.real_wait(until_us)),
                Next::Drain => self.drain()?,
                Next::Send(bytes) => {
                    self.line.write(&bytes)?;
                    // Stamped with the time that the driver was told, so that a player of the
                    // recorded stream sees what the driver saw.
                    self.outlet.send(PortEvent::Raw {
                        at_us: now,
                        direction: Direction::Tx,
                        bytes,
                    });
                }
            }
        }
        Ok(Duration::ZERO)
    }

    /// Hands over what has arrived, which the driver throws away, so that the recorded stream
    /// holds it; then throws away what arrived meanwhile.
    fn drain(&mut self) -> Result<(), LinkError> {
        for _ in 0..MOST_TURNS {
            let count = self.line.read(&mut self.buffer, Duration::ZERO)?;
            if count == 0 {
                return Ok(());
            }
            let now = self.port.time.now_us();
            self.take(now, count);
        }
        self.line.drain()
    }

    /// Decodes what was read and hands it on.
    fn take(&mut self, now: u64, count: usize) {
        let bytes = &self.buffer[..count];
        if count > 0 {
            let bytes = bytes.to_vec();
            self.outlet.send(PortEvent::Raw {
                at_us: now,
                direction: Direction::Rx,
                bytes,
            });
        }
        self.port.driver.receive(now, bytes, &mut self.decoded);
        let read = u64::try_from(count).unwrap_or(0);
        self.bytes_since += read;
        let mut samples = Vec::new();
        for decoded in self.decoded.drain(..) {
            match decoded {
                Decoded::Sample(sample) => samples.push(sample),
                Decoded::Trouble(trouble) => {
                    self.outlet.send(PortEvent::Trouble {
                        at_us: now,
                        trouble,
                    });
                }
            }
        }
        if !samples.is_empty() {
            self.since_us = now;
            self.bytes_since = 0;
            if std::mem::take(&mut self.silent) {
                self.outlet.send(PortEvent::Heard { at_us: now });
            }
            self.outlet.send(PortEvent::Samples {
                at_us: now,
                samples,
            });
        }
        self.port.consumed.fetch_add(read, Ordering::AcqRel);
    }

    fn watch(&mut self, now: u64) -> Result<(), LinkError> {
        let inputs = self.line.inputs()?;
        if let Some(inputs) = inputs
            && self.inputs != Some(inputs)
        {
            self.inputs = Some(inputs);
            self.outlet.send(PortEvent::Inputs { at_us: now, inputs });
        }
        Ok(())
    }

    fn judge_silence(&mut self, now: u64) {
        let Some(limit) = self.port.silence_after_us else {
            return;
        };
        if !self.silent && now.saturating_sub(self.since_us) >= limit {
            self.silent = true;
            self.outlet.send(PortEvent::Silent {
                at_us: now,
                since_us: self.since_us,
                bytes: self.bytes_since,
            });
        }
    }
}

#[cfg(test)]
mod tests;
