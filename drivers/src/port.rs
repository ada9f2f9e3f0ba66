//! The loop of one port. It runs on a separate thread.
//!
//! The loop opens the line, asks, reads, decodes and hands on. It notices loss and silence, and
//! opens the line again. A slow listener never holds it up: events that cannot be handed on are
//! counted, and the count is an event of its own. The loop does not know what the samples are for.

mod outlet;
mod progress;
mod session;
mod stepped;

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

pub use outlet::{EventSink, LostEvents, SinkError, channel};
pub use progress::PortProgress;
pub use stepped::SteppedPort;

use crate::driver::{DecodeTrouble, Driver};
use crate::sample::Sample;
use crate::serial_settings::SerialSettings;
use crate::timebase::Timebase;
use crate::transport::{LinkError, ModemInputs, OpenError, Opener};
use outlet::Outlet;
use session::{ServedLine, Session};

/// First and longest pause before a lost or refused line is opened again.
const FIRST_PAUSE: Duration = Duration::from_millis(100);
const LONGEST_PAUSE: Duration = Duration::from_secs(1);

/// Something that happened at a port.
#[derive(Debug, Clone, PartialEq)]
pub enum PortEvent {
    /// The line was opened.
    Opened {
        /// Time in microseconds of the port's clock.
        at_us: u64,
    },
    /// Bytes of one read or one write crossed the line.
    Raw {
        /// Time in microseconds.
        at_us: u64,
        /// Direction of the bytes.
        direction: ByteDirection,
        /// The bytes.
        bytes: Vec<u8>,
    },
    /// One read completed these samples.
    Samples {
        /// Time in microseconds.
        at_us: u64,
        /// At least one.
        samples: Vec<Sample>,
    },
    /// Bytes or silence that gave no sample.
    Trouble {
        /// Time in microseconds.
        at_us: u64,
        /// The reason.
        trouble: DecodeTrouble,
    },
    /// No sample came for as long as the profile allows.
    Silent {
        /// Time at which it was noticed, in microseconds.
        at_us: u64,
        /// Time of the last sample, or of the opening if none came, in microseconds.
        since_us: u64,
        /// Bytes that came since then and gave no sample. Above 0 the gauge sends something that
        /// is not understood; at 0 it may be switched off.
        bytes: u64,
    },
    /// A sample came again after a silence.
    Heard {
        /// Time in microseconds.
        at_us: u64,
    },
    /// The modem inputs were read for the first time, or changed.
    Inputs {
        /// Time in microseconds.
        at_us: u64,
        /// The state of the inputs.
        inputs: ModemInputs,
    },
    /// The line is lost. It is opened again as soon as it can be.
    Gone {
        /// Time at which it was noticed, in microseconds.
        at_us: u64,
        /// The system's words.
        reason: String,
    },
    /// The line cannot be opened. The event is sent once until the reason changes.
    OpenFailed {
        /// Time in microseconds.
        at_us: u64,
        /// The reason, and what to do.
        error: OpenError,
    },
    /// The listener was too slow, and events between these times are lost.
    Overflow {
        /// Time of the first lost event, in microseconds.
        from_us: u64,
        /// Time of the last lost event, in microseconds.
        to_us: u64,
        /// Number of lost events of each kind.
        lost: LostEvents,
    },
}

/// The direction in which bytes went.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ByteDirection {
    /// From the gauge.
    Rx,
    /// To the gauge.
    Tx,
}

/// The loop of one port, and what it needs.
pub struct PortLoop {
    /// Opens the line, again and again.
    pub opener: Box<dyn Opener>,
    /// Decodes the bytes.
    pub driver: Box<dyn Driver>,
    /// The settings of the line; they tell how fast it carries bytes.
    pub line: SerialSettings,
    /// The clock that stamps samples.
    pub time: Arc<dyn Timebase>,
    /// `true` ends the loop within the wait of one read.
    pub stop: Arc<AtomicBool>,
    /// How far the loop is. The driver of a driven clock goes in step with it.
    pub progress: Arc<PortProgress>,
    /// Time without a sample after which the gauge is called silent, in microseconds. `None` for
    /// never.
    pub silence_after_us: Option<u64>,
    /// Whether the modem inputs are watched, because a pedal is connected to them.
    pub watch_inputs: bool,
}

impl PortLoop {
    /// Serves the port until it is stopped or nobody listens any more.
    pub fn run(mut self, sink: impl EventSink) {
        let mut outlet = Outlet::new(sink);
        let mut pause = FIRST_PAUSE;
        let mut told: Option<OpenError> = None;
        while !self.stopped() && !outlet.closed() {
            if let Some(mut served) = self.open(&mut told, &mut outlet) {
                let opened = Instant::now();
                let lost = self.serve(&mut served, &mut outlet);
                drop(served);
                self.closed(lost, &mut outlet);
                // If the line is lost soon after each opening, the pause before the next opening
                // grows.
                if opened.elapsed() > LONGEST_PAUSE {
                    pause = FIRST_PAUSE;
                }
            }
            self.rest(pause, &mut outlet);
            pause = pause.saturating_mul(2).min(LONGEST_PAUSE);
        }
        outlet.flush();
    }

    fn stopped(&self) -> bool {
        self.stop.load(Ordering::Acquire)
    }

    /// Pauses, but ends at once when the port is stopped.
    fn rest(&self, pause: Duration, outlet: &mut Outlet<impl EventSink>) {
        let began = Instant::now();
        while !self.stopped() && !outlet.closed() {
            let left = pause.saturating_sub(began.elapsed());
            if left.is_zero() {
                return;
            }
            outlet.flush();
            std::thread::sleep(left.min(Duration::from_millis(20)));
        }
    }

    /// Opens the line. A reason why it cannot be opened is told once until it changes.
    fn open(
        &mut self,
        told: &mut Option<OpenError>,
        outlet: &mut Outlet<impl EventSink>,
    ) -> Option<ServedLine> {
        match self.opener.open() {
            Ok(line) => {
                *told = None;
                let opened_us = self.time.now_us();
                self.driver.restart();
                // A listener may send as soon as it gets this event, so the line counts as open
                // before.
                self.progress.opens();
                outlet.send(PortEvent::Opened { at_us: opened_us });
                Some(ServedLine::new(self, line, opened_us))
            }
            Err(error) => {
                let known = |told: &OpenError| told.says_the_same_as(&error);
                if !told.as_ref().is_some_and(known) {
                    let at_us = self.time.now_us();
                    outlet.send(PortEvent::OpenFailed {
                        at_us,
                        error: error.clone(),
                    });
                    *told = Some(error);
                }
                None
            }
        }
    }

    /// Serves an open line. Gives the reason for its loss, or `None` if the port was stopped.
    fn serve(
        &mut self,
        served: &mut ServedLine,
        outlet: &mut Outlet<impl EventSink>,
    ) -> Option<LinkError> {
        let mut session = Session {
            port: self,
            outlet,
            served,
        };
        while !session.is_over() {
            if let Err(error) = session.step() {
                return Some(error);
            }
        }
        None
    }

    /// The line was dropped, and `lost` where it was not the port that was stopped.
    fn closed(&self, lost: Option<LinkError>, outlet: &mut Outlet<impl EventSink>) {
        self.progress.closes();
        if let Some(lost) = lost {
            outlet.send(PortEvent::Gone {
                at_us: self.time.now_us(),
                reason: match lost {
                    LinkError::Gone(reason) => reason,
                    LinkError::Stuck => lost.to_string(),
                },
            });
        }
    }
}

#[cfg(test)]
mod tests;
