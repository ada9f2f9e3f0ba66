//! A line from its opening to its loss.
//!
//! What is read is dated by when it can have arrived (`arrival.rs`), so that a machine that was
//! held up changes no value.

use std::time::Duration;

use super::outlet::{Outlet, Sink};
use super::{Direction, Port, PortEvent};
use crate::arrival::{Arrivals, Read};
use crate::driver::{Decoded, Next, Trouble};
use crate::sample::Sample;
use crate::transport::{LinkError, ModemInputs, Transport};

/// Longest wait of one read where nothing is due.
const LISTEN: Duration = Duration::from_millis(40);
/// Longest wait of one read where the modem inputs are watched.
const WATCH: Duration = Duration::from_millis(5);
/// Turns in which a driver neither listens nor waits, before a read is forced.
const MOST_TURNS: usize = 64;

pub(super) struct Session<'a, S: Sink> {
    port: &'a mut Port,
    line: Box<dyn Transport>,
    outlet: &'a mut Outlet<S>,
    buffer: Vec<u8>,
    arrivals: Arrivals,
    /// When the line was last known to be empty.
    empty_us: u64,
    /// What became of the line behind the bytes that were read last.
    failed: Option<LinkError>,
    /// When the last sample came, or the line was opened.
    since_us: u64,
    bytes_since: u64,
    silent: bool,
    inputs: Option<ModemInputs>,
}

impl<'a, S: Sink> Session<'a, S> {
    pub(super) fn new(
        port: &'a mut Port,
        line: Box<dyn Transport>,
        outlet: &'a mut Outlet<S>,
        opened_us: u64,
    ) -> Self {
        let arrivals = Arrivals::new(&port.line, opened_us);
        Session {
            port,
            line,
            outlet,
            buffer: vec![0; 4096],
            arrivals,
            empty_us: opened_us,
            failed: None,
            since_us: opened_us,
            bytes_since: 0,
            silent: false,
            inputs: None,
        }
    }

    /// Whether it is to end, or nobody listens any more.
    pub(super) fn is_over(&self) -> bool {
        self.port.stopped() || self.outlet.closed()
    }

    pub(super) fn step(&mut self) -> Result<(), LinkError> {
        let wait = self.speak()?;
        let longest = if self.port.watch_inputs {
            WATCH
        } else {
            LISTEN
        };
        let called_us = self.now_us();
        let read = self.read(wait.min(longest), called_us)?;
        self.take(read);
        if self.port.watch_inputs {
            self.watch()?;
        }
        // A gauge is silent where nothing was there when the line was looked at, not where
        // nobody looked.
        self.judge_silence(called_us);
        self.outlet.flush();
        Ok(())
    }

    fn now_us(&self) -> u64 {
        self.port.time.now_us()
    }

    /// Does what the driver wants until it listens; how long it wants to.
    fn speak(&mut self) -> Result<Duration, LinkError> {
        for _ in 0..MOST_TURNS {
            let now = self.now_us();
            match self.port.driver.next(now) {
                Next::Listen => {
                    self.port.progress.is_done(now, u64::MAX);
                    return Ok(LISTEN);
                }
                Next::Wait { until_us } => {
                    let wait = self.port.time.real_wait(until_us);
                    // A clock that went on meanwhile is looked at once more.
                    if !wait.is_zero() {
                        self.port.progress.is_done(now, until_us);
                    }
                    return Ok(wait);
                }
                Next::Drain => self.drain()?,
                Next::Send(bytes) => {
                    self.line.write(&bytes)?;
                    self.port.progress.sends(bytes.len());
                    let sent_us = self.now_us();
                    self.arrivals.asked(sent_us);
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
            let called_us = self.now_us();
            let read = self.read(Duration::ZERO, called_us)?;
            if read.bytes == 0 {
                return Ok(());
            }
            self.take(read);
        }
        self.line.drain()
    }

    /// Reads what is there, waiting for at most `wait` where nothing is.
    fn read(&mut self, wait: Duration, called_us: u64) -> Result<Read, LinkError> {
        if let Some(error) = self.failed.take() {
            return Err(error);
        }
        let mut bytes = self.line.read(&mut self.buffer, wait)?;
        let mut by_us = self.now_us();
        if self.port.time.waits_for_readers() {
            let after_us = by_us;
            return Ok(Read {
                after_us,
                by_us,
                bytes,
            });
        }
        let after_us = self.empty_us;
        if bytes == 0 {
            self.empty_us = called_us;
        }
        // Until the line is found empty: what a machine that was held up before or after a read
        // left there is one burst, and all of it was there by the time before the last look.
        while (1..self.buffer.len()).contains(&bytes) {
            by_us = self.now_us();
            match self.line.read(&mut self.buffer[bytes..], Duration::ZERO) {
                Ok(0) => {
                    self.empty_us = by_us;
                    break;
                }
                Ok(more) => bytes += more,
                Err(error) => {
                    self.failed = Some(error);
                    break;
                }
            }
        }
        Ok(Read {
            after_us,
            by_us,
            bytes,
        })
    }

    /// Decodes what was read and hands it on.
    fn take(&mut self, read: Read) {
        let now = read.by_us;
        let late = !self.port.time.waits_for_readers();
        let bytes = std::mem::take(&mut self.buffer);
        let mut decoded = Vec::new();
        // Which byte completed a frame, and how much was decoded by then.
        let (mut ends, mut marks) = (Vec::new(), Vec::new());
        if read.bytes == 0 {
            self.port.driver.receive(now, &[], &mut decoded);
        }
        for (i, byte) in bytes[..read.bytes].iter().enumerate() {
            let at_us = if late {
                self.arrivals.byte(read, i + 1)
            } else {
                now
            };
            let before = decoded.len();
            self.port
                .driver
                .receive(at_us, std::slice::from_ref(byte), &mut decoded);
            if decoded[before..].iter().any(ends_a_frame) {
                ends.push(i + 1);
                marks.push(decoded.len());
            }
        }
        let times = if late {
            self.arrivals.frames(read, &ends)
        } else {
            vec![now; ends.len()]
        };
        let mut from = 0;
        for (mark, at_us) in marks.iter().zip(&times) {
            for one in &mut decoded[from..*mark] {
                if let Decoded::Sample(sample) = one {
                    sample.at_us = *at_us;
                }
            }
            from = *mark;
        }
        if read.bytes > 0 {
            self.hand_on_raw(read, &bytes, ends.into_iter().zip(times));
        }
        self.buffer = bytes;
        self.bytes_since += u64::try_from(read.bytes).unwrap_or(0);
        self.hand_on(now, decoded);
        self.port.progress.consumes(read.bytes);
    }

    /// The bytes as they are recorded: cut where their times differ.
    fn hand_on_raw(
        &mut self,
        read: Read,
        bytes: &[u8],
        frames: impl Iterator<Item = (usize, u64)>,
    ) {
        let mut pieces: Vec<(usize, u64)> = frames.collect();
        // What stands behind the last frame dates no sample.
        match pieces.last_mut() {
            Some((end, _)) => *end = read.bytes,
            None if self.port.time.waits_for_readers() => pieces.push((read.bytes, read.by_us)),
            None => pieces.push((read.bytes, self.arrivals.byte(read, read.bytes))),
        }
        let mut from = 0;
        for (i, (end, at_us)) in pieces.iter().copied().enumerate() {
            if pieces.get(i + 1).is_some_and(|next| next.1 == at_us) {
                continue;
            }
            self.arrivals.told(at_us);
            self.outlet.send(PortEvent::Raw {
                at_us,
                direction: Direction::Rx,
                bytes: bytes[from..end].to_vec(),
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

    fn watch(&mut self) -> Result<(), LinkError> {
        let inputs = self.line.inputs()?;
        if let Some(inputs) = inputs
            && self.inputs != Some(inputs)
        {
            self.inputs = Some(inputs);
            let at_us = self.now_us();
            self.arrivals.told(at_us);
            self.outlet.send(PortEvent::Inputs { at_us, inputs });
        }
        Ok(())
    }

    fn judge_silence(&mut self, now: u64) {
        let Some(limit) = self.port.silence_after_us else {
            return;
        };
        if !self.silent && now.saturating_sub(self.since_us) >= limit {
            self.silent = true;
            self.arrivals.told(now);
            self.outlet.send(PortEvent::Silent {
                at_us: now,
                since_us: self.since_us,
                bytes: self.bytes_since,
            });
        }
    }
}

/// Whether this came of a whole frame, sound or not: the gauge had sent one by then.
fn ends_a_frame(decoded: &Decoded) -> bool {
    match decoded {
        Decoded::Sample(_) => true,
        Decoded::Trouble(trouble) => matches!(
            trouble,
            Trouble::Checksum { .. }
                | Trouble::Unreadable(_)
                | Trouble::Refused(_)
                | Trouble::Withheld
        ),
    }
}
