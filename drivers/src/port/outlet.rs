//! Hands events on and never waits for the listener.

use std::collections::VecDeque;
use std::sync::mpsc::{Receiver, SyncSender, TrySendError, sync_channel};

use super::PortEvent;

/// The receiver of a port's events. It must not wait.
pub trait EventSink {
    /// Takes an event, or gives it back.
    ///
    /// # Errors
    /// [`SinkError::Full`] with the event if there is no room now, [`SinkError::Closed`] if nobody
    /// listens any more.
    fn take(&mut self, event: PortEvent) -> Result<(), SinkError>;
}

/// Why a sink took no event.
#[derive(Debug)]
pub enum SinkError {
    /// There is no room now.
    Full(PortEvent),
    /// Nobody listens any more.
    Closed,
}

impl<F: FnMut(PortEvent) -> Result<(), SinkError>> EventSink for F {
    fn take(&mut self, event: PortEvent) -> Result<(), SinkError> {
        self(event)
    }
}

impl EventSink for SyncSender<PortEvent> {
    fn take(&mut self, event: PortEvent) -> Result<(), SinkError> {
        self.try_send(event).map_err(|error| match error {
            TrySendError::Full(event) => SinkError::Full(event),
            TrySendError::Disconnected(_) => SinkError::Closed,
        })
    }
}

/// A bounded channel for events.
#[must_use]
pub fn channel(capacity: usize) -> (SyncSender<PortEvent>, Receiver<PortEvent>) {
    sync_channel(capacity)
}

/// Number of events that were lost because the listener was too slow.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct LostEvents {
    /// Samples.
    pub samples: usize,
    /// Bytes of the raw stream.
    pub bytes: usize,
    /// Other events.
    pub events: usize,
}

impl LostEvents {
    fn add(&mut self, event: &PortEvent) {
        let (count, more) = match event {
            PortEvent::Samples { samples, .. } => (&mut self.samples, samples.len()),
            PortEvent::Raw { bytes, .. } => (&mut self.bytes, bytes.len()),
            _ => (&mut self.events, 1),
        };
        *count = count.saturating_add(more);
    }
}

/// Events about the line itself are kept for later, not lost. At most this many are kept.
const MOST_KEPT: usize = 64;

pub(super) struct Outlet<S> {
    sink: S,
    closed: bool,
    kept: VecDeque<PortEvent>,
    /// Time of the first and the last lost event in microseconds, and the counts.
    lost: Option<(u64, u64, LostEvents)>,
}

impl<S: EventSink> Outlet<S> {
    pub(super) fn new(sink: S) -> Self {
        Self {
            sink,
            closed: false,
            kept: VecDeque::new(),
            lost: None,
        }
    }

    pub(super) fn closed(&self) -> bool {
        self.closed
    }

    pub(super) fn send(&mut self, event: PortEvent) {
        self.flush();
        if self.closed {
            return;
        }
        if !self.kept.is_empty() || self.lost.is_some() {
            return self.put_by(event);
        }
        match self.sink.take(event) {
            Ok(()) => {}
            Err(SinkError::Full(event)) => self.put_by(event),
            Err(SinkError::Closed) => self.closed = true,
        }
    }

    /// Tries to hand on the kept events.
    pub(super) fn flush(&mut self) {
        if let Some((from_us, to_us, lost)) = self.lost {
            match self.sink.take(PortEvent::Overflow {
                from_us,
                to_us,
                lost,
            }) {
                Ok(()) => self.lost = None,
                Err(SinkError::Full(_)) => return,
                Err(SinkError::Closed) => {
                    self.closed = true;
                    return;
                }
            }
        }
        while let Some(event) = self.kept.pop_front() {
            match self.sink.take(event) {
                Ok(()) => {}
                Err(SinkError::Full(event)) => return self.kept.push_front(event),
                Err(SinkError::Closed) => {
                    self.closed = true;
                    return;
                }
            }
        }
    }

    /// Handles an event for which there is no room. Events about the line are kept, others are
    /// counted as lost.
    fn put_by(&mut self, event: PortEvent) {
        let of_the_line = matches!(
            event,
            PortEvent::Opened { .. }
                | PortEvent::Gone { .. }
                | PortEvent::OpenFailed { .. }
                | PortEvent::Silent { .. }
                | PortEvent::Heard { .. }
                | PortEvent::Inputs { .. }
        );
        if of_the_line && self.kept.len() < MOST_KEPT {
            return self.kept.push_back(event);
        }
        let at = event.at_us();
        let (_, to, lost) = self.lost.get_or_insert((at, at, LostEvents::default()));
        *to = at;
        lost.add(&event);
    }
}

impl PortEvent {
    /// The time of the event in microseconds of the port's clock. For an overflow, the time of the
    /// last lost event.
    #[must_use]
    pub fn at_us(&self) -> u64 {
        match self {
            PortEvent::Opened { at_us }
            | PortEvent::Raw { at_us, .. }
            | PortEvent::Samples { at_us, .. }
            | PortEvent::Trouble { at_us, .. }
            | PortEvent::Silent { at_us, .. }
            | PortEvent::Heard { at_us }
            | PortEvent::Inputs { at_us, .. }
            | PortEvent::Gone { at_us, .. }
            | PortEvent::OpenFailed { at_us, .. }
            | PortEvent::Overflow { to_us: at_us, .. } => *at_us,
        }
    }
}
