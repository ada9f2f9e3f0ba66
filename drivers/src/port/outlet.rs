//! Hands events on without ever waiting.

use std::collections::VecDeque;
use std::sync::mpsc::{Receiver, SyncSender, TrySendError, sync_channel};

use super::PortEvent;

/// Where a port's events go. It must not wait.
pub trait Sink {
    /// Takes an event, or gives it back.
    ///
    /// # Errors
    /// The event where there is no room now, or that nobody listens any more.
    fn take(&mut self, event: PortEvent) -> Result<(), Refused>;
}

/// Why a sink took no event.
#[derive(Debug)]
pub enum Refused {
    /// There is no room now.
    Full(PortEvent),
    /// Nobody listens any more.
    Closed,
}

impl<F: FnMut(PortEvent) -> Result<(), Refused>> Sink for F {
    fn take(&mut self, event: PortEvent) -> Result<(), Refused> {
        self(event)
    }
}

impl Sink for SyncSender<PortEvent> {
    fn take(&mut self, event: PortEvent) -> Result<(), Refused> {
        self.try_send(event).map_err(|error| match error {
            TrySendError::Full(event) => Refused::Full(event),
            TrySendError::Disconnected(_) => Refused::Closed,
        })
    }
}

/// A bounded channel for events.
#[must_use]
pub fn channel(capacity: usize) -> (SyncSender<PortEvent>, Receiver<PortEvent>) {
    sync_channel(capacity)
}

/// What was lost because whoever listens was too slow.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Lost {
    /// Samples.
    pub samples: usize,
    /// Bytes of the raw stream.
    pub bytes: usize,
    /// Other events.
    pub events: usize,
}

impl Lost {
    fn add(&mut self, event: &PortEvent) {
        match event {
            PortEvent::Samples { samples, .. } => self.samples += samples.len(),
            PortEvent::Raw { bytes, .. } => self.bytes += bytes.len(),
            _ => self.events += 1,
        }
    }
}

/// Events that say what became of the line are kept for later rather than lost; so many at most.
const MOST_KEPT: usize = 64;

pub(super) struct Outlet<S> {
    sink: S,
    closed: bool,
    kept: VecDeque<PortEvent>,
    /// From when to when, and what.
    lost: Option<(u64, u64, Lost)>,
}

impl<S: Sink> Outlet<S> {
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
            Err(Refused::Full(event)) => self.put_by(event),
            Err(Refused::Closed) => self.closed = true,
        }
    }

    /// Tries to hand on what was put by.
    pub(super) fn flush(&mut self) {
        if let Some((from_us, to_us, lost)) = self.lost {
            match self.sink.take(PortEvent::Overflow {
                from_us,
                to_us,
                lost,
            }) {
                Ok(()) => self.lost = None,
                Err(Refused::Full(_)) => return,
                Err(Refused::Closed) => {
                    self.closed = true;
                    return;
                }
            }
        }
        while let Some(event) = self.kept.pop_front() {
            match self.sink.take(event) {
                Ok(()) => {}
                Err(Refused::Full(event)) => return self.kept.push_front(event),
                Err(Refused::Closed) => {
                    self.closed = true;
                    return;
                }
            }
        }
    }

    /// There is no room: keeps what became of the line, counts the rest as lost.
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
        let (_, to, lost) = self.lost.get_or_insert((at, at, Lost::default()));
        *to = at;
        lost.add(&event);
    }
}

impl PortEvent {
    /// When it happened, in microseconds of the port's clock; for an overflow, when it ended.
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
