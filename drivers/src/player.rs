//! Plays a recorded stream into the gauge's end of a line.

use std::time::{Duration, Instant};

use crate::port::PortProgress;
use crate::stream::{LineEvent, LinkChange, Stream};
use crate::timebase::{DrivenTime, Timebase};
use crate::transport::{LinkError, Transport};

/// How fast a stream is played.
pub enum PlayPace<'a> {
    /// The stream is played at the pace of a clock that runs by itself.
    Clock {
        /// The clock. The stream begins at the clock's present time.
        time: &'a dyn Timebase,
        /// Real time for which an overdue question of the stream is awaited.
        patience: Duration,
    },
    /// The stream is played in step with the port. The clock advances when the port has consumed
    /// every byte played.
    InStep {
        /// The clock that also stamps the port's events. The stream begins at the clock's present
        /// time.
        time: &'a DrivenTime,
        /// The port's progress.
        progress: &'a PortProgress,
        /// Real time that the port may take for each step.
        patience: Duration,
    },
}

/// Why a stream could not be played to its end.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PlayError {
    /// The line failed.
    #[error("event {event} of the stream: {error}")]
    Line {
        /// Number of the event, counted from 1.
        event: usize,
        /// The failure of the line.
        error: LinkError,
    },
    /// The port sent other bytes than the stream holds.
    #[error(
        "event {event} of the stream: \"{found}\" was sent where the stream has \"{expected}\"; is it this gauge's profile?"
    )]
    OtherBytes {
        /// Number of the event, counted from 1.
        event: usize,
        /// The bytes in the stream.
        expected: String,
        /// The bytes that the port sent.
        found: String,
    },
    /// The port sent nothing although the stream has a question.
    #[error("event {event} of the stream: nothing was sent where the stream has \"{expected}\"")]
    NotAsked {
        /// Number of the event, counted from 1.
        event: usize,
        /// The bytes in the stream.
        expected: String,
    },
    /// The port did not read all the bytes that were played.
    #[error("event {event} of the stream: the port left {left} bytes unread")]
    NotConsumed {
        /// Number of the event, counted from 1.
        event: usize,
        /// Number of unread bytes.
        left: u64,
    },
    /// The caller stopped it.
    #[error("stopped at event {event} of the stream")]
    Stopped {
        /// Number of the event, counted from 1.
        event: usize,
    },
}

/// Plays `stream` into `far`, the gauge's end of a line. `progress` gets the stream's time before
/// each event. It stops the playing by returning `false`.
///
/// # Errors
/// Why the stream could not be played to its end.
pub fn play_into(
    far: &mut dyn Transport,
    stream: &Stream,
    pace: &PlayPace<'_>,
    mut progress: impl FnMut(u64) -> bool,
) -> Result<(), PlayError> {
    let begin_us = match pace {
        PlayPace::Clock { time, .. } => time.now_us(),
        PlayPace::InStep { time, .. } => time.now_us(),
    };
    let consumed_before = match pace {
        PlayPace::InStep { progress, .. } => progress.consumed(),
        PlayPace::Clock { .. } => 0,
    };
    let mut player = Player {
        far,
        pace,
        sent: Vec::new(),
        event: 0,
        fed: consumed_before,
    };
    for (number, event) in (1..).zip(&stream.events) {
        player.event = number;
        if !progress(event.at_us) {
            return Err(PlayError::Stopped {
                event: player.event,
            });
        }
        player.reach(begin_us.saturating_add(event.at_us))?;
        match &event.what {
            LineEvent::Rx(bytes) => player.feed(bytes)?,
            LineEvent::Tx(bytes) => player.expect(bytes)?,
            LineEvent::Link(LinkChange::Gone) => return Ok(()),
            LineEvent::Link(LinkChange::Open) | LineEvent::Line(_) => {}
        }
    }
    Ok(())
}

struct Player<'a, 'b> {
    far: &'a mut dyn Transport,
    pace: &'a PlayPace<'b>,
    /// Bytes that the port sent and no event has matched yet.
    sent: Vec<u8>,
    event: usize,
    /// Number of bytes that the port will have consumed after reading everything played.
    fed: u64,
}

/// The shortest wait between two checks of the port's progress.
const LOOK_AGAIN: Duration = Duration::from_micros(200);

impl Player<'_, '_> {
    fn patience(&self) -> Duration {
        match self.pace {
            PlayPace::Clock { patience, .. } | PlayPace::InStep { patience, .. } => *patience,
        }
    }

    /// Reads what the port has sent. Waits for at most `wait`.
    fn hear(&mut self, wait: Duration) -> Result<(), PlayError> {
        let mut buffer = [0; 256];
        let count = self
            .far
            .read(&mut buffer, wait)
            .map_err(|error| PlayError::Line {
                event: self.event,
                error,
            })?;
        self.sent.extend(buffer.iter().take(count));
        Ok(())
    }

    /// Waits or advances until the clock shows `at_us`.
    fn reach(&mut self, at_us: u64) -> Result<(), PlayError> {
        match self.pace {
            PlayPace::InStep { time, .. } => {
                time.advance_to(at_us);
                Ok(())
            }
            PlayPace::Clock { time, .. } => loop {
                let wait = time.real_wait(at_us);
                if wait.is_zero() {
                    return Ok(());
                }
                self.hear(wait.min(Duration::from_millis(50)))?;
            },
        }
    }

    /// Sends the gauge's bytes. In step with the port, it waits until the port has read them.
    fn feed(&mut self, bytes: &[u8]) -> Result<(), PlayError> {
        self.far.write(bytes).map_err(|error| PlayError::Line {
            event: self.event,
            error,
        })?;
        let PlayPace::InStep {
            progress, patience, ..
        } = self.pace
        else {
            return Ok(());
        };
        let more = u64::try_from(bytes.len()).unwrap_or(0);
        self.fed = self.fed.saturating_add(more);
        let began = Instant::now();
        loop {
            let left = self.fed.saturating_sub(progress.consumed());
            if left == 0 {
                return Ok(());
            }
            if began.elapsed() > *patience {
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
        let began = Instant::now();
        loop {
            if let Some(more) = self.sent.strip_prefix(bytes) {
                self.sent = more.to_vec();
                return Ok(());
            }
            if !bytes.starts_with(&self.sent) {
                return Err(PlayError::OtherBytes {
                    event: self.event,
                    expected: bytes.escape_ascii().to_string(),
                    found: self.sent.escape_ascii().to_string(),
                });
            }
            if began.elapsed() > self.patience() {
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
