//! Reads a recorded stream line by line.

use std::io::{BufRead, Read};

use serde_json::Value;

use super::{
    LineEvent, LinkChange, ModemChange, StreamError, StreamEvent, StreamFault, StreamHeader,
    VERSION, bytes_of,
};

/// Most bytes that a line may have.
const LONGEST_LINE: usize = 4 << 20;

/// Reads one event after the other. It reads nothing after an error.
#[derive(Debug)]
pub struct StreamReader<R> {
    from: R,
    header: StreamHeader,
    line: usize,
    last_us: u64,
    ended: bool,
}

impl<R: BufRead> StreamReader<R> {
    /// Reads the header.
    ///
    /// # Errors
    /// The mistake in the first line.
    pub fn new(mut from: R) -> Result<Self, StreamError> {
        let at_first = |fault| StreamError::new(1, fault);
        let line = next_line(&mut from).map_err(at_first)?;
        let line = line.ok_or_else(|| at_first(StreamFault::Empty))?;
        let header = header(&line).map_err(at_first)?;
        Ok(Self {
            from,
            header,
            line: 1,
            last_us: 0,
            ended: false,
        })
    }

    /// The content of the first line.
    pub fn header(&self) -> &StreamHeader {
        &self.header
    }

    fn read(&mut self) -> Result<Option<StreamEvent>, StreamFault> {
        let Some(line) = next_line(&mut self.from)? else {
            return Ok(None);
        };
        let event = event(&line)?;
        if event.at_us < self.last_us {
            return Err(StreamFault::TimeBack {
                found: event.at_us,
                before: self.last_us,
            });
        }
        self.last_us = event.at_us;
        Ok(Some(event))
    }
}

impl<R: BufRead> Iterator for StreamReader<R> {
    type Item = Result<StreamEvent, StreamError>;

    fn next(&mut self) -> Option<Self::Item> {
        if self.ended {
            return None;
        }
        self.line = self.line.saturating_add(1);
        match self.read() {
            Ok(Some(event)) => Some(Ok(event)),
            Ok(None) => {
                self.ended = true;
                None
            }
            Err(fault) => {
                self.ended = true;
                Some(Err(StreamError::new(self.line, fault)))
            }
        }
    }
}

/// A line without its end, or `None` at the end of the file.
fn next_line(from: &mut impl BufRead) -> Result<Option<Vec<u8>>, StreamFault> {
    let mut line = Vec::new();
    let most = u64::try_from(LONGEST_LINE).unwrap_or(u64::MAX);
    from.take(most).read_until(b'\n', &mut line)?;
    match line.pop() {
        None => Ok(None),
        Some(b'\n') => Ok(Some(line)),
        // One byte of it was taken off.
        Some(_) if line.len() >= LONGEST_LINE - 1 => Err(StreamFault::TooLong {
            limit: LONGEST_LINE,
        }),
        Some(_) => Err(StreamFault::Torn),
    }
}

fn header(line: &[u8]) -> Result<StreamHeader, StreamFault> {
    let value: Value = serde_json::from_slice(line).map_err(|error| StreamFault::Header {
        reason: error.to_string(),
    })?;
    if let Some(found) = value.get("stream").and_then(Value::as_u64)
        && found != u64::from(VERSION)
    {
        return Err(StreamFault::Version { found });
    }
    serde_json::from_value(value).map_err(|error| StreamFault::Header {
        reason: error.to_string(),
    })
}

fn event(line: &[u8]) -> Result<StreamEvent, StreamFault> {
    let unknown = || StreamFault::Event { found: shown(line) };
    let value: Value = serde_json::from_slice(line).map_err(|_| unknown())?;
    let Some([at, kind, rest]) = value.as_array().map(Vec::as_slice) else {
        return Err(unknown());
    };
    let at_us = at.as_u64().ok_or_else(unknown)?;
    let bytes = || {
        let text = rest.as_str().ok_or_else(unknown)?;
        bytes_of(text).map_err(|found| StreamFault::NotAByte { found })
    };
    let what = match kind.as_str() {
        Some("rx") => LineEvent::Rx(bytes()?),
        Some("tx") => LineEvent::Tx(bytes()?),
        Some("line") => LineEvent::Line(
            serde_json::from_value::<ModemChange>(rest.clone()).map_err(|_| unknown())?,
        ),
        Some("link") => LineEvent::Link(
            serde_json::from_value::<LinkChange>(rest.clone()).map_err(|_| unknown())?,
        ),
        _ => return Err(unknown()),
    };
    Ok(StreamEvent { at_us, what })
}

fn shown(line: &[u8]) -> String {
    let text = String::from_utf8_lossy(line);
    let cut: String = text.chars().take(60).collect();
    if cut.len() < text.len() {
        format!("{cut}…")
    } else {
        cut
    }
}
