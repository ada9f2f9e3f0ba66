//! Writes a recorded stream line by line.

use std::io::Write;

use serde_json::json;

use super::{Event, Header, StreamError, StreamFault, What, text_of};

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
    /// What the writer says.
    pub fn new(mut to: W, header: &Header) -> Result<Self, StreamError> {
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
    /// What the writer says, or [`StreamFault::TimeBack`]; nothing is written then.
    pub fn event(&mut self, event: &Event) -> Result<(), StreamError> {
        self.line += 1;
        let fault = |fault| StreamError::new(self.line, fault);
        if event.at_us < self.last_us {
            let (found, before) = (event.at_us, self.last_us);
            return Err(fault(StreamFault::TimeBack { found, before }));
        }
        let line = match &event.what {
            What::Rx(bytes) => json!([event.at_us, "rx", text_of(bytes)]),
            What::Tx(bytes) => json!([event.at_us, "tx", text_of(bytes)]),
            What::Line(change) => json!([event.at_us, "line", change]),
            What::Link(link) => json!([event.at_us, "link", link]),
        };
        put(&mut self.to, line.to_string()).map_err(|error| fault(error.into()))?;
        self.last_us = event.at_us;
        Ok(())
    }

    /// Hands on what a buffered writer holds.
    ///
    /// # Errors
    /// What the writer says.
    pub fn flush(&mut self) -> Result<(), StreamError> {
        self.to
            .flush()
            .map_err(|error| StreamError::new(self.line, error.into()))
    }

    /// Flushes, and gives the writer back.
    ///
    /// # Errors
    /// What the writer says.
    pub fn finish(mut self) -> Result<W, StreamError> {
        self.flush()?;
        Ok(self.to)
    }
}

fn put(to: &mut impl Write, mut line: String) -> std::io::Result<()> {
    line.push('\n');
    to.write_all(line.as_bytes())
}
