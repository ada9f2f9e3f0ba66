//! Plays a recorded stream as if it were a line.
//!
//! Received bytes of the stream are handed out at their time. Sent bytes of the stream must be
//! sent again before anything after them is handed out.

use std::sync::Arc;
use std::time::Duration;

use super::{LinkError, ModemInputs, Transport};
use crate::stream::{LineEvent, LinkChange, Stream, StreamEvent};
use crate::timebase::{DrivenTime, Timebase as _};

/// Time for which an overdue question of the stream is awaited, in microseconds.
const LATEST_QUESTION_US: u64 = 10_000_000;

/// A line that a stream is played on.
pub struct RecordedTransport {
    events: std::iter::Peekable<std::vec::IntoIter<StreamEvent>>,
    time: Arc<DrivenTime>,
    inputs: ModemInputs,
    /// Bytes that were sent and are not yet matched with the stream.
    written: Vec<u8>,
    /// Bytes that were received and are not yet read.
    waiting: Vec<u8>,
    /// Offset added to the stream's times, in microseconds.
    offset_us: u64,
}

impl RecordedTransport {
    /// A line that plays as fast as it is read, and advances the clock.
    #[must_use]
    pub fn at_once(stream: Stream, time: Arc<DrivenTime>) -> Self {
        Self {
            events: stream.events.into_iter().peekable(),
            offset_us: time.now_us(),
            time,
            inputs: ModemInputs::default(),
            written: Vec::new(),
            waiting: Vec::new(),
        }
    }

    /// Handles the events whose time has come, up to the first that must wait.
    fn proceed(&mut self) -> Result<(), LinkError> {
        while self.waiting.is_empty() {
            let Some(event) = self.events.peek() else {
                return Err(LinkError::Gone("the recorded stream has ended".to_owned()));
            };
            let now = self.time.now_us();
            let at = event.at_us.saturating_add(self.offset_us);
            if let LineEvent::Tx(bytes) = &event.what {
                if !(self.written.starts_with(bytes) || bytes.starts_with(&self.written)) {
                    return Err(LinkError::Gone(format!(
                        "\"{}\" was sent where the recorded stream has \"{}\"",
                        self.written.escape_ascii(),
                        bytes.escape_ascii()
                    )));
                }
                if let Some(more) = self.written.strip_prefix(&bytes[..]) {
                    self.written = more.to_vec();
                    self.events.next();
                    continue;
                }
                if now > at.saturating_add(LATEST_QUESTION_US) {
                    return Err(LinkError::Gone(format!(
                        "nothing was sent where the recorded stream has \"{}\"",
                        bytes.escape_ascii()
                    )));
                }
                return Ok(());
            }
            if at > now {
                return Ok(());
            }
            match self.events.next().map(|event| event.what) {
                Some(LineEvent::Rx(bytes)) => self.waiting = bytes,
                Some(LineEvent::Line(change)) => {
                    self.inputs.cts = change.cts.unwrap_or(self.inputs.cts);
                    self.inputs.dsr = change.dsr.unwrap_or(self.inputs.dsr);
                }
                Some(LineEvent::Link(LinkChange::Gone)) => {
                    return Err(LinkError::Gone("the recorded line was lost".to_owned()));
                }
                _ => {}
            }
        }
        Ok(())
    }

    /// Waits for the next event, for at most `timeout`.
    fn wait(&mut self, timeout: Duration) {
        let now = self.time.now_us();
        let patience = u64::try_from(timeout.as_micros())
            .unwrap_or(u64::MAX)
            .max(1);
        let next = match self.events.peek() {
            Some(StreamEvent {
                what: LineEvent::Tx(_),
                ..
            })
            | None => now.saturating_add(patience),
            Some(event) => {
                (event.at_us.saturating_add(self.offset_us)).min(now.saturating_add(patience))
            }
        };
        self.time.advance_to(next);
    }
}

impl Transport for RecordedTransport {
    fn read(&mut self, buffer: &mut [u8], timeout: Duration) -> Result<usize, LinkError> {
        self.proceed()?;
        if self.waiting.is_empty() {
            self.wait(timeout);
            self.proceed()?;
        }
        let count = self.waiting.len().min(buffer.len());
        for (place, byte) in buffer.iter_mut().zip(self.waiting.drain(..count)) {
            *place = byte;
        }
        Ok(count)
    }

    fn write(&mut self, bytes: &[u8]) -> Result<(), LinkError> {
        self.written.extend_from_slice(bytes);
        Ok(())
    }

    fn drain(&mut self) -> Result<(), LinkError> {
        self.waiting.clear();
        Ok(())
    }

    fn inputs(&mut self) -> Result<Option<ModemInputs>, LinkError> {
        Ok(Some(self.inputs))
    }
}
