//! Writes a recorded stream line by line.

use std::io::Write;

use serde_json::json;

use super::{LineEvent, StreamError, StreamEvent, StreamFault, StreamHeader, text_of};

/// Writes one event after the other. Each line goes out in a single write.
#[derive(Debug)]
pub struct StreamWriter<W> {
    to: W,
    line: usize,
    last_us: u64,
}

impl<W: Write> StreamWriter<W> {
    /// Writes the header.
    ///
    /// # Errors
    /// The writer's error.
    pub fn new(mut to: W, header: &StreamHeader) -> Result<Self, StreamError> {
        let text = serde_json::to_string(header).map_err(std::io::Error::from);
        text.and_then(|text| put(&mut to, text))
            .map_err(|e| StreamError::new(1, e.into()))?;
        Ok(Self {
            to,
            line: 1,
            last_us: 0,
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
        let line = match &event.what {
            LineEvent::Rx(bytes) => json!([event.at_us, "rx", text_of(bytes)]),
            LineEvent::Tx(bytes) => json!([event.at_us, "tx", text_of(bytes)]),
            LineEvent::Line(change) => json!([event.at_us, "line", change]),
            LineEvent::Link(link) => json!([event.at_us, "link", link]),
        };
        put(&mut self.to, line.to_string()).map_err(|error| fault(error.into()))?;
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

fn put(to: &mut impl Write, mut line: String) -> std::io::Result<()> {
    line.push('\n');
    to.write_all(line.as_bytes())
}
