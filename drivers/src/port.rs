//! The loop of one port, for a thread of its own.
//!
//! Opens, asks, reads, decodes and hands on; sees loss and silence, and opens again. It is
//! never held up by whoever listens: what cannot be handed on is counted, and told as an event
//! of its own. It does not know what the samples are for.

mod outlet;
mod progress;
mod session;

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

pub use outlet::{Lost, Refused, Sink, channel};
pub use progress::Progress;

use crate::driver::{Driver, Trouble};
use crate::line::Line;
use crate::sample::Sample;
use crate::timebase::Timebase;
use crate::transport::{LinkError, ModemInputs, OpenError, Opener, Transport};
use outlet::Outlet;
use session::Session;

/// First and longest pause before a lost or refused line is opened again.
const FIRST_PAUSE: Duration = Duration::from_millis(100);
const LONGEST_PAUSE: Duration = Duration::from_secs(1);

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
    /// How the line is set: how fast it carries bytes.
    pub line: Line,
    /// The clock that stamps samples.
    pub time: Arc<dyn Timebase>,
    /// Set to end the loop; it ends within one read's wait.
    pub stop: Arc<AtomicBool>,
    /// Tells how far it is, so that whoever drives the clock can go in step.
    pub progress: Arc<Progress>,
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
                    self.progress.closes();
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
        // Whoever hears that it is open may send at once, and is to find it open.
        self.progress.opens();
        outlet.send(PortEvent::Opened { at_us: opened_us });
        let mut session = Session::new(self, line, outlet, opened_us);
        loop {
            if session.is_over() {
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

#[cfg(test)]
mod tests;
