//! Hands events to whoever watches, and lets a watcher that was away catch up.
//!
//! The hub knows nothing of what the events mean. It never holds up the thread that announces: a
//! watcher that is too slow misses events and is told so.

use std::collections::VecDeque;
use std::sync::Mutex;

use benchhand_wire::{Announced, Event};
use tokio::sync::broadcast;

/// How many events are kept for watchers that come back: about a minute of a busy station.
const KEPT: usize = 2048;

/// Where events are announced and watched.
#[derive(Debug)]
pub struct Hub {
    ring: Mutex<Ring>,
    live: broadcast::Sender<Announced>,
}

#[derive(Debug)]
struct Ring {
    last_id: u64,
    kept: VecDeque<Announced>,
}

/// What a watcher gets when it begins to watch.
#[derive(Debug)]
pub struct Watching {
    /// The kept events that the watcher missed, in order.
    pub caught_up: Vec<Announced>,
    /// Whether the watcher missed further events, which are no longer kept.
    pub missed: bool,
    /// The events from now on.
    pub live: broadcast::Receiver<Announced>,
}

impl Default for Hub {
    fn default() -> Self {
        let ring = Ring {
            last_id: 0,
            kept: VecDeque::with_capacity(KEPT),
        };
        Hub {
            ring: Mutex::new(ring),
            live: broadcast::channel(KEPT).0,
        }
    }
}

impl Hub {
    /// Announces an event and returns its number.
    pub fn announce(&self, event: Event) -> u64 {
        let mut ring = self.lock();
        ring.last_id += 1;
        let announced = Announced {
            id: ring.last_id,
            event,
        };
        if ring.kept.len() == KEPT {
            ring.kept.pop_front();
        }
        ring.kept.push_back(announced.clone());
        // Sent under the lock, so that a watcher that begins now sees each event exactly once. An
        // error only means that nobody watches.
        let _ = self.live.send(announced);
        ring.last_id
    }

    /// The number of the latest event; 0 before the first.
    pub fn last_id(&self) -> u64 {
        self.lock().last_id
    }

    /// Begins to watch. `after` is the number of the last event that the watcher has seen; `None`
    /// for a new watcher, which gets only events from now on.
    pub fn watch(&self, after: Option<u64>) -> Watching {
        let ring = self.lock();
        let live = self.live.subscribe();
        let Some(after) = after else {
            return Watching {
                caught_up: Vec::new(),
                missed: false,
                live,
            };
        };
        // A higher number than ours comes from a daemon that ran before this one.
        let foreign = after > ring.last_id;
        let after = if foreign { 0 } else { after };
        let caught_up: Vec<Announced> =
            ring.kept.iter().filter(|e| e.id > after).cloned().collect();
        let first_wanted = after + 1;
        let gap = caught_up
            .first()
            .map_or(first_wanted <= ring.last_id, |e| e.id > first_wanted);
        Watching {
            caught_up,
            missed: foreign || gap,
            live,
        }
    }

    fn lock(&self) -> std::sync::MutexGuard<'_, Ring> {
        self.ring
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn say(hub: &Hub, text: &str) -> u64 {
        hub.announce(Event::Say {
            job: None,
            said_as: benchhand_wire::SaidAs::Note,
            text: text.to_owned(),
        })
    }

    #[test]
    fn a_watcher_that_comes_back_gets_what_it_missed_and_then_what_comes() {
        let hub = Hub::default();
        say(&hub, "one");
        say(&hub, "two");
        say(&hub, "three");
        let mut watching = hub.watch(Some(1));
        assert_eq!(
            watching.caught_up.iter().map(|e| e.id).collect::<Vec<_>>(),
            [2, 3]
        );
        assert!(!watching.missed);
        say(&hub, "four");
        assert_eq!(watching.live.try_recv().unwrap().id, 4);
    }

    #[test]
    fn a_watcher_that_was_away_too_long_is_told_that_it_missed_something() {
        let hub = Hub::default();
        for i in 0..KEPT + 10 {
            say(&hub, &i.to_string());
        }
        let watching = hub.watch(Some(3));
        assert!(watching.missed);
        assert_eq!(watching.caught_up.len(), KEPT);
    }

    #[test]
    fn a_number_from_a_daemon_that_ran_before_counts_as_missed() {
        let hub = Hub::default();
        say(&hub, "one");
        let watching = hub.watch(Some(500));
        assert!(watching.missed);
        assert_eq!(watching.caught_up.len(), 1);
    }
}
