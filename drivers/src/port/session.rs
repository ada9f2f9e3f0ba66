//! Serves a line from its opening to its loss.
//!
//! Bytes are dated by the time at which they can have arrived (`arrival.rs`), so a busy machine
//! changes no value.

use std::time::Duration;

use super::outlet::{EventSink, Outlet};
use super::{ByteDirection, PortEvent, PortLoop};
use crate::arrival::{Arrivals, TimedRead};
use crate::driver::{DecodeTrouble, Decoded, NextAction};
use crate::sample::Sample;
use crate::transport::{LinkError, ModemInputs, Transport};

/// Longest wait of one read if nothing is due.
const LISTEN: Duration = Duration::from_millis(40);
/// Longest wait of one read if the modem inputs are watched.
const WATCH: Duration = Duration::from_millis(5);
/// After this many actions without listening or waiting, a read is forced.
const MOST_TURNS: usize = 64;

/// An open line, with what is known of it since it was opened.
pub(super) struct ServedLine {
    line: Box<dyn Transport>,
    buffer: Vec<u8>,
    arrivals: Arrivals,
    /// Time at which the line was last known to be empty, in microseconds.
    empty_us: u64,
    /// The failure that came after the last bytes. The next read reports it.
    failed: Option<LinkError>,
    /// When the last sample came, or the line was opened.
    since_us: u64,
    bytes_since: u64,
    silent: bool,
    inputs: Option<ModemInputs>,
}

impl ServedLine {
    pub(super) fn new(port: &PortLoop, line: Box<dyn Transport>, opened_us: u64) -> Self {
        ServedLine {
            line,
            buffer: vec![0; 4096],
            arrivals: Arrivals::new(&port.line, opened_us),
            empty_us: opened_us,
            failed: None,
            since_us: opened_us,
            bytes_since: 0,
            silent: false,
            inputs: None,
        }
    }
}

/// A port that serves its line.
pub(super) struct Session<'a, S: EventSink> {
    pub(super) port: &'a mut PortLoop,
    pub(super) outlet: &'a mut Outlet<S>,
    pub(super) served: &'a mut ServedLine,
}

impl<S: EventSink> Session<'_, S> {
    /// Whether the port was stopped, or nobody listens any more.
    pub(super) fn is_over(&self) -> bool {
        self.port.stopped() || self.outlet.closed()
    }

    /// Asks, reads and decodes once, and waits for bytes no longer than it may. Gives the number of
    /// bytes.
    pub(super) fn step(&mut self) -> Result<usize, LinkError> {
        let longest = if self.port.watch_inputs {
            WATCH
        } else {
            LISTEN
        };
        self.step_within(longest)
    }

    /// As [`Session::step`], and waits no longer than this.
    pub(super) fn step_within(&mut self, longest: Duration) -> Result<usize, LinkError> {
        let wait = self.speak()?;
        let called_us = self.now_us();
        let read = self.read(wait.min(longest), called_us)?;
        let bytes = read.bytes;
        self.take(read);
        if self.port.watch_inputs {
            self.watch()?;
        }
        // A gauge is silent if a read found nothing, not if nobody read.
        self.judge_silence(called_us);
        self.outlet.flush();
        Ok(bytes)
    }

    fn now_us(&self) -> u64 {
        self.port.time.now_us()
    }

    /// Does what the driver wants until it listens. Gives the time for which it wants to listen.
    fn speak(&mut self) -> Result<Duration, LinkError> {
        for _ in 0..MOST_TURNS {
            let now = self.now_us();
            match self.port.driver.next(now) {
                NextAction::Listen => {
                    self.port.progress.is_done(now, u64::MAX);
                    return Ok(LISTEN);
                }
                NextAction::Wait { until_us } => {
                    let wait = self.port.time.real_wait(until_us);
                    // If the clock has advanced past the time meanwhile, the driver is asked again
                    // first.
                    if !wait.is_zero() {
                        self.port.progress.is_done(now, until_us);
                    }
                    return Ok(wait);
                }
                NextAction::Drain => self.drain()?,
                NextAction::Send(bytes) => {
                    self.served.line.write(&bytes)?;
                    self.port.progress.sends(bytes.len());
                    let sent_us = self.now_us();
                    self.served.arrivals.asked(sent_us);
                    // The event carries the time that the driver was given, so a player of the
                    // recorded stream sees what the driver saw.
                    self.outlet.send(PortEvent::Raw {
                        at_us: now,
                        direction: ByteDirection::Tx,
                        bytes,
                    });
                }
            }
        }
        Ok(Duration::ZERO)
    }

    /// Hands over the bytes that have arrived, so that the recorded stream holds them; the driver
    /// throws them away. Bytes that arrive after that are thrown away here.
    fn drain(&mut self) -> Result<(), LinkError> {
        for _ in 0..MOST_TURNS {
            let called_us = self.now_us();
            let read = self.read(Duration::ZERO, called_us)?;
            if read.bytes == 0 {
                return Ok(());
            }
            self.take(read);
        }
        self.served.line.drain()
    }

    /// Reads the bytes that are there. Waits for at most `wait` if there are none.
    fn read(&mut self, wait: Duration, called_us: u64) -> Result<TimedRead, LinkError> {
        if let Some(error) = self.served.failed.take() {
            return Err(error);
        }
        let mut bytes = self.served.line.read(&mut self.served.buffer, wait)?;
        let mut by_us = self.now_us();
        if self.port.time.waits_for_readers() {
            let after_us = by_us;
            return Ok(TimedRead {
                after_us,
                by_us,
                bytes,
            });
        }
        let after_us = self.served.empty_us;
        if bytes == 0 {
            self.served.empty_us = called_us;
        }
        // Reads until the line is empty. All bytes that a busy machine left on the line are one
        // burst, and all of them were there before the last read.
        while bytes > 0
            && let Some(free) = self
                .served
                .buffer
                .get_mut(bytes..)
                .filter(|free| !free.is_empty())
        {
            by_us = self.port.time.now_us();
            match self.served.line.read(free, Duration::ZERO) {
                Ok(0) => {
                    self.served.empty_us = by_us;
                    break;
                }
                Ok(more) => bytes = bytes.saturating_add(more),
                Err(error) => {
                    self.served.failed = Some(error);
                    break;
                }
            }
        }
        Ok(TimedRead {
            after_us,
            by_us,
            bytes,
        })
    }

    /// Decodes the bytes that were read and hands the results on.
    fn take(&mut self, read: TimedRead) {
        let now = read.by_us;
        let late = !self.port.time.waits_for_readers();
        let bytes = std::mem::take(&mut self.served.buffer);
        let mut decoded = Vec::new();
        // For each completed frame: the number of its last byte, and the number of results by
        // then.
        let (mut ends, mut marks) = (Vec::new(), Vec::new());
        if read.bytes == 0 {
            self.port.driver.receive(now, &[], &mut decoded);
        }
        for (number, byte) in (1..=read.bytes).zip(&bytes) {
            let at_us = if late {
                self.served.arrivals.byte(read, number)
            } else {
                now
            };
            let before = decoded.len();
            self.port
                .driver
                .receive(at_us, std::slice::from_ref(byte), &mut decoded);
            if decoded.iter().skip(before).any(ends_a_frame) {
                ends.push(number);
                marks.push(decoded.len());
            }
        }
        let times = if late {
            self.served.arrivals.frames(read, &ends)
        } else {
            vec![now; ends.len()]
        };
        let mut from = 0;
        for (mark, at_us) in marks.into_iter().zip(&times) {
            for one in decoded.iter_mut().take(mark).skip(from) {
                if let Decoded::Sample(sample) = one {
                    sample.at_us = *at_us;
                }
            }
            from = mark;
        }
        if read.bytes > 0 {
            self.hand_on_raw(read, &bytes, ends.into_iter().zip(times));
        }
        self.served.buffer = bytes;
        let more = u64::try_from(read.bytes).unwrap_or(0);
        self.served.bytes_since = self.served.bytes_since.saturating_add(more);
        self.hand_on(now, decoded);
        self.port.progress.consumes(read.bytes);
    }

    /// Hands on the bytes for the recording, split where their times differ.
    fn hand_on_raw(
        &mut self,
        read: TimedRead,
        bytes: &[u8],
        frames: impl Iterator<Item = (usize, u64)>,
    ) {
        let mut pieces: Vec<(usize, u64)> = frames.collect();
        // Bytes behind the last frame date no sample.
        match pieces.last_mut() {
            Some((end, _)) => *end = read.bytes,
            None if self.port.time.waits_for_readers() => pieces.push((read.bytes, read.by_us)),
            None => pieces.push((read.bytes, self.served.arrivals.byte(read, read.bytes))),
        }
        let mut from = 0;
        let mut pieces = pieces.into_iter().peekable();
        while let Some((end, at_us)) = pieces.next() {
            if pieces.peek().is_some_and(|next| next.1 == at_us) {
                continue;
            }
            self.served.arrivals.told(at_us);
            self.outlet.send(PortEvent::Raw {
                at_us,
                direction: ByteDirection::Rx,
                bytes: bytes.iter().take(end).skip(from).copied().collect(),
            });
            from = end;
        }
    }

    fn hand_on(&mut self, now: u64, decoded: Vec<Decoded>) {
        let mut samples: Vec<Sample> = Vec::new();
        for one in decoded {
            match one {
                Decoded::Sample(sample) => samples.push(sample),
                Decoded::Trouble(trouble) => self.outlet.send(PortEvent::Trouble {
                    at_us: now,
                    trouble,
                }),
            }
        }
        if samples.is_empty() {
            return;
        }
        self.served.since_us = now;
        self.served.bytes_since = 0;
        if std::mem::take(&mut self.served.silent) {
            self.outlet.send(PortEvent::Heard { at_us: now });
        }
        self.outlet.send(PortEvent::Samples {
            at_us: now,
            samples,
        });
    }

    fn watch(&mut self) -> Result<(), LinkError> {
        let inputs = self.served.line.inputs()?;
        if let Some(inputs) = inputs
            && self.served.inputs != Some(inputs)
        {
            self.served.inputs = Some(inputs);
            let at_us = self.now_us();
            self.served.arrivals.told(at_us);
            self.outlet.send(PortEvent::Inputs { at_us, inputs });
        }
        Ok(())
    }

    fn judge_silence(&mut self, now: u64) {
        let Some(limit) = self.port.silence_after_us else {
            return;
        };
        if !self.served.silent && now.saturating_sub(self.served.since_us) >= limit {
            self.served.silent = true;
            self.served.arrivals.told(now);
            self.outlet.send(PortEvent::Silent {
                at_us: now,
                since_us: self.served.since_us,
                bytes: self.served.bytes_since,
            });
        }
    }
}

/// Whether this result came from a whole frame, sound or not.
fn ends_a_frame(decoded: &Decoded) -> bool {
    match decoded {
        Decoded::Sample(_) => true,
        Decoded::Trouble(trouble) => matches!(
            trouble,
            DecodeTrouble::Checksum { .. }
                | DecodeTrouble::Unreadable(_)
                | DecodeTrouble::Refused(_)
                | DecodeTrouble::Withheld
        ),
    }
}
