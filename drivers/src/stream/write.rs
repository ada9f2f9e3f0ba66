//! Writes a recorded stream line by line.

use std::io::Write;

use serde::Serialize;

use super::{LineEvent, StreamError, StreamEvent, StreamFault, StreamHeader, text_of};

/// Writes one event after the other. Each line goes out in a single write.
#[derive(Debug)]
pub struct StreamWriter<W> {
    to: W,
    line: usize,
    last_us: u64,
    /// The room in which a line is put together; there are many of them, and all are short.
    room: Vec<u8>,
}

impl<W: Write> StreamWriter<W> {
    /// Writes the header.
    ///
    /// # Errors
    /// The writer's error.
    pub fn new(mut to: W, header: &StreamHeader) -> Result<Self, StreamError> {
        let mut room = Vec::new();
        put(&mut to, &mut room, header).map_err(|e| StreamError::new(1, e.into()))?;
        Ok(Self {
            to,
            line: 1,
            last_us: 0,
            room,
        })
    }

    /// Writes an event.
    ///
    /// # Errors
    /// The writer's error, or [`StreamFault::TimeBack`]. Nothing is written then.
    pub fn event(&mut self, event: &StreamEvent) -> Result<(), StreamError> {
        self.line = self.line.saturating_add(1);
        let fault = |fault| StreamError::new(self.line, fault);
        if event.at_us < self.last_us {
            let (found, before) = (event.at_us, self.last_us);
            return Err(fault(StreamFault::TimeBack { found, before }));
        }
        let (to, room, at_us) = (&mut self.to, &mut self.room, event.at_us);
        let written = match &event.what {
            LineEvent::Rx(bytes) => put(to, room, &(at_us, "rx", text_of(bytes))),
            LineEvent::Tx(bytes) => put(to, room, &(at_us, "tx", text_of(bytes))),
            LineEvent::Line(change) => put(to, room, &(at_us, "line", change)),
            LineEvent::Link(link) => put(to, room, &(at_us, "link", link)),
        };
        written.map_err(|error| fault(error.into()))?;
        self.last_us = event.at_us;
        Ok(())
    }

    /// Flushes a buffered writer.
    ///
    /// # Errors
    /// The writer's error.
    pub fn flush(&mut self) -> Result<(), StreamError> {
        self.to
            .flush()
            .map_err(|error| StreamError::new(self.line, error.into()))
    }

    /// Gives back what is written to, and flushes nothing.
    #[must_use]
    pub fn into_inner(self) -> W {
        self.to
    }

    /// Flushes, and gives the writer back.
    ///
    /// # Errors
    /// The writer's error.
    pub fn finish(mut self) -> Result<W, StreamError> {
        self.flush()?;
        Ok(self.to)
    }
}

fn put(to: &mut impl Write, room: &mut Vec<u8>, line: &impl Serialize) -> std::io::Result<()> {
    room.clear();
    serde_json::to_writer(&mut *room, line)?;
    room.push(b'\n');
    to.write_all(room)
}
