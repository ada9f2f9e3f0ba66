//! Plays a stream into the far end of a line.

use std::time::{Duration, Instant};

use crate::port::Progress;
use crate::stream::{Link, Stream, What};
use crate::timebase::{DrivenTime, Timebase};
use crate::transport::{LinkError, Transport};

/// How fast a stream is played.
pub enum Pace<'a> {
    /// At the pace of a clock that runs by itself.
    Clock {
        /// The clock; the stream begins at its present time.
        time: &'a dyn Timebase,
        /// How long past its time a question of the stream is waited for, in real time.
        patience: Duration,
    },
    /// In step with the port: the clock goes on when every byte played was consumed.
    InStep {
        /// The clock, which the port is stamped by; the stream begins at its present time.
        time: &'a DrivenTime,
        /// How far the port is.
        progress: &'a Progress,
        /// How long the port may take for anything, in real time.
        patience: Duration,
    },
}

/// Why a stream could not be played to its end.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PlayError {
    /// The line failed.
    #[error("event {event} of the stream: {error}")]
    Line {
        /// Which event, counted from 1.
        event: usize,
        /// What became of the line.
        error: LinkError,
    },
    /// Something else was sent than the stream holds.
    #[error(
        "event {event} of the stream: \"{found}\" was sent where the stream has \"{expected}\"; is it this gauge's profile?"
    )]
    OtherBytes {
        /// Which event, counted from 1.
        event: usize,
        /// What the stream holds.
        expected: String,
        /// What came.
        found: String,
    },
    /// Nothing was sent where the stream has a question.
    #[error("event {event} of the stream: nothing was sent where the stream has \"{expected}\"")]
    NotAsked {
        /// Which event, counted from 1.
        event: usize,
        /// What the stream holds.
        expected: String,
    },
    /// The port did not consume what was played.
    #[error("event {event} of the stream: the port left {left} bytes unread")]
    NotConsumed {
        /// Which event, counted from 1.
        event: usize,
        /// How many bytes.
        left: u64,
    },
    /// It was to be stopped.
    #[error("stopped at event {event} of the stream")]
    Stopped {
        /// Which event, counted from 1.
        event: usize,
    },
}

/// Plays `stream` into `far`, the gauge's end of a line. `progress` is told the stream's time
/// before each event, and ends the playing by answering `false`.
///
/// # Errors
/// Where the other side did not do its part.
pub fn play_into(
    far: &mut dyn Transport,
    stream: &Stream,
    pace: &Pace<'_>,
    mut progress: impl FnMut(u64) -> bool,
) -> Result<(), PlayError> {
    let begin_us = match pace {
        Pace::Clock { time, .. } => time.now_us(),
        Pace::InStep { time, .. } => time.now_us(),
    };
    let consumed_before = match pace {
        Pace::InStep { progress, .. } => progress.consumed(),
        Pace::Clock { .. } => 0,
    };
    let mut player = Player {
        far,
        pace,
        sent: Vec::new(),
        event: 0,
        fed: consumed_before,
    };
    for event in &stream.events {
        player.event += 1;
        if !progress(event.at_us) {
            return Err(PlayError::Stopped {
                event: player.event,
            });
        }
        player.reach(begin_us + event.at_us)?;
        match &event.what {
            What::Rx(bytes) => player.feed(bytes)?,
            What::Tx(bytes) => player.expect(bytes)?,
            What::Link(Link::Gone) => return Ok(()),
            What::Link(Link::Open) | What::Line(_) => {}
        }
    }
    Ok(())
}

struct Player<'a, 'b> {
    far: &'a mut dyn Transport,
    pace: &'a Pace<'b>,
    /// What the other side sent and no event has claimed.
    sent: Vec<u8>,
    event: usize,
    /// Bytes that the port will have consumed when it has taken all that was played.
    fed: u64,
}

/// The shortest wait between two looks at what the port did.
const LOOK_AGAIN: Duration = Duration::from_micros(200);

impl Player<'_, '_> {
    fn patience(&self) -> Duration {
        match self.pace {
            Pace::Clock { patience, .. } | Pace::InStep { patience, .. } => *patience,
        }
    }

    /// Takes in what the other side has sent, waiting for at most `wait`.
    fn hear(&mut self, wait: Duration) -> Result<(), PlayError> {
        let mut buffer = [0; 256];
        let count = self
            .far
            .read(&mut buffer, wait)
            .map_err(|error| PlayError::Line {
                event: self.event,
                error,
            })?;
        self.sent.extend_from_slice(&buffer[..count]);
        Ok(())
    }

    /// Lets the clock come to `at_us`.
    fn reach(&mut self, at_us: u64) -> Result<(), PlayError> {
        match self.pace {
            Pace::InStep { time, .. } => {
                time.advance_to(at_us);
                Ok(())
            }
            Pace::Clock { time, .. } => loop {
                let wait = time.real_wait(at_us);
                if wait.is_zero() {
                    return Ok(());
                }
                self.hear(wait.min(Duration::from_millis(50)))?;
            },
        }
    }

    /// Sends what the gauge sent, and in step waits until the port has taken it.
    fn feed(&mut self, bytes: &[u8]) -> Result<(), PlayError> {
        self.far.write(bytes).map_err(|error| PlayError::Line {
            event: self.event,
            error,
        })?;
        let Pace::InStep {
            progress, patience, ..
        } = self.pace
        else {
            return Ok(());
        };
        self.fed += u64::try_from(bytes.len()).unwrap_or(0);
        let deadline = Instant::now() + *patience;
        loop {
            let left = self.fed.saturating_sub(progress.consumed());
            if left == 0 {
                return Ok(());
            }
            if Instant::now() > deadline {
                return Err(PlayError::NotConsumed {
                    event: self.event,
                    left,
                });
            }
            self.hear(LOOK_AGAIN)?;
        }
    }

    /// Waits until exactly these bytes have been sent.
    fn expect(&mut self, bytes: &[u8]) -> Result<(), PlayError> {
        let deadline = Instant::now() + self.patience();
        loop {
            let shared = self.sent.len().min(bytes.len());
            if self.sent[..shared] != bytes[..shared] {
                return Err(PlayError::OtherBytes {
                    event: self.event,
                    expected: bytes.escape_ascii().to_string(),
                    found: self.sent.escape_ascii().to_string(),
                });
            }
            if shared == bytes.len() {
                self.sent.drain(..shared);
                return Ok(());
            }
            if Instant::now() > deadline {
                let expected = bytes.escape_ascii().to_string();
                return Err(PlayError::NotAsked {
                    event: self.event,
                    expected,
                });
            }
            self.hear(Duration::from_millis(1))?;
        }
    }
}
