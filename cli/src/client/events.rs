//! Follows the daemon's events on a separate thread, and connects again after a lost connection.

use std::io::BufReader;
use std::time::Duration;

use benchhand_wire::{Announced, Event, Refusal};

use super::http::Http;
use super::sse::EventLines;

/// A message of the follower.
#[derive(Debug)]
pub(crate) enum FollowerNews {
    /// An event.
    Event(Box<Announced>),
    /// The connection is lost. The shown state is stale until the next event.
    Lost,
    /// The daemon ended, or stayed away for too long. No further message comes.
    Ended,
}

/// The waits between attempts to connect again.
const BACKOFF: [Duration; 6] = [
    Duration::from_millis(100),
    Duration::from_millis(300),
    Duration::from_secs(1),
    Duration::from_secs(2),
    Duration::from_secs(4),
    Duration::from_secs(8),
];

/// Follows the events after number `after` and hands each to `tell`, until the daemon ends or
/// `tell` gives `false`. Connects before it returns, so that nothing after `after` is missed.
///
/// # Errors
/// The refusal of the first connection.
pub(crate) fn follow(
    http: &Http,
    after: u64,
    mut tell: impl FnMut(FollowerNews) -> bool + Send + 'static,
) -> Result<(), Refusal> {
    let first = http.events(Some(after))?;
    let http = http.clone();
    std::thread::spawn(move || {
        let mut last = after;
        let mut body = Some(first);
        let mut waits = BACKOFF.iter();
        loop {
            if let Some(body) = body.take() {
                match read(BufReader::new(body.into_reader()), &mut last, &mut tell) {
                    ReadEnd::Ended => {
                        tell(FollowerNews::Ended);
                        return;
                    }
                    ReadEnd::Unheard => return,
                    ReadEnd::Broken { heard } => {
                        if heard {
                            waits = BACKOFF.iter();
                        }
                        if !tell(FollowerNews::Lost) {
                            return;
                        }
                    }
                }
            }
            let Some(wait) = waits.next() else {
                tell(FollowerNews::Ended);
                return;
            };
            std::thread::sleep(*wait);
            body = http
                .events(Some(last))
                .inspect_err(|refusal| tracing::info!("not connected again yet: {refusal}"))
                .ok();
        }
    });
    Ok(())
}

/// How reading one connection ended.
#[derive(Debug, PartialEq, Eq)]
enum ReadEnd {
    /// The daemon said that it stops.
    Ended,
    /// Nobody takes the follower's messages any more.
    Unheard,
    /// The connection broke off.
    Broken {
        /// Whether any event came before.
        heard: bool,
    },
}

fn read(
    mut stream: impl std::io::BufRead,
    last: &mut u64,
    tell: &mut impl FnMut(FollowerNews) -> bool,
) -> ReadEnd {
    let mut lines = EventLines::default();
    let mut line = String::new();
    let mut heard = false;
    loop {
        line.clear();
        match stream.read_line(&mut line) {
            Ok(0) | Err(_) => return ReadEnd::Broken { heard },
            Ok(_) => {}
        }
        let Some(sent) = lines.take(&line) else {
            continue;
        };
        let event: Announced = match serde_json::from_str(&sent.data) {
            Ok(event) => event,
            Err(error) => {
                // A newer daemon may send events that this version does not know.
                tracing::warn!("an event is not understood: {error}: {}", sent.data);
                continue;
            }
        };
        heard = true;
        // `Caught` opens a stream and is not one of the counted events.
        if !matches!(event.event, Event::Caught { .. }) {
            *last = sent.id.unwrap_or(event.id).max(*last);
        }
        let ends = matches!(event.event, Event::Stopping {});
        if !tell(FollowerNews::Event(Box::new(event))) {
            return ReadEnd::Unheard;
        }
        if ends {
            return ReadEnd::Ended;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn heard(text: &str, last: &mut u64) -> (ReadEnd, Vec<FollowerNews>) {
        let mut told = Vec::new();
        let left = read(text.as_bytes(), last, &mut |one| {
            told.push(one);
            true
        });
        (left, told)
    }

    #[test]
    fn a_broken_stream_is_taken_up_after_its_last_event() {
        let mut last = 2;
        let text = "id: 2\ndata: {\"id\":2,\"event\":\"caught\",\"missed\":false}\n\n\
                    id: 3\ndata: {\"id\":3,\"event\":\"say\",\"said_as\":\"done\",\"text\":\"done\"}\n\n\
                    id: 4\ndata: {\"id\":4,\"event\":\"sa";
        let (left, told) = heard(text, &mut last);
        assert_eq!(left, ReadEnd::Broken { heard: true });
        assert_eq!(told.len(), 2, "the half event is not told");
        assert_eq!(last, 3, "and is asked for again");
    }

    #[test]
    fn a_daemon_that_stops_is_not_waited_for() {
        let mut last = 0;
        let (left, told) = heard("data: {\"id\":1,\"event\":\"stopping\"}\n\n", &mut last);
        assert_eq!(left, ReadEnd::Ended);
        assert_eq!(told.len(), 1);
    }

    #[test]
    fn an_event_of_a_newer_daemon_is_passed_over() {
        let mut last = 0;
        let text =
            "data: {\"id\":1,\"event\":\"sung\"}\n\ndata: {\"id\":2,\"event\":\"stopping\"}\n\n";
        let (left, told) = heard(text, &mut last);
        assert_eq!((left, told.len()), (ReadEnd::Ended, 1));
    }
}
