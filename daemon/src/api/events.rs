//! The event stream: what happens at the station, as server-sent events.

use std::convert::Infallible;
use std::time::Duration;

use axum::extract::State;
use axum::http::HeaderMap;
use axum::response::sse::{Event as Sse, KeepAlive, Sse as SseResponse};
use benchhand_wire::{Announced, Event};
use futures_util::Stream;
use tokio_stream::StreamExt;
use tokio_stream::wrappers::BroadcastStream;

use super::Shared;

/// A line is sent at least this often, so that a client can tell a quiet station from a dead
/// connection.
const HEARTBEAT: Duration = Duration::from_secs(2);

pub(super) async fn stream(
    State(shared): State<Shared>,
    headers: HeaderMap,
) -> SseResponse<impl Stream<Item = Result<Sse, Infallible>>> {
    let after = headers
        .get("last-event-id")
        .and_then(|v| v.to_str().ok()?.parse().ok());
    let watching = shared.desk.hub().watch(after);
    let first_id = watching
        .caught_up
        .first()
        .map_or(shared.desk.hub().last_id(), |e| e.id - 1);
    let caught = Announced {
        id: first_id,
        event: Event::Caught {
            missed: watching.missed,
        },
    };
    let past = tokio_stream::iter(std::iter::once(caught).chain(watching.caught_up));
    // A watcher that fell behind is told so in the same words as one that was away.
    let live = BroadcastStream::new(watching.live).map(|next| {
        next.unwrap_or(Announced {
            id: 0,
            event: Event::Caught { missed: true },
        })
    });
    // The stream ends with this event rather than with the next one: there may never be a next one,
    // and a stream that waits for it would keep the server open.
    let with_end = past.chain(live).map(|announced| {
        let end = matches!(announced.event, Event::Stopping {}).then_some(None);
        tokio_stream::iter(std::iter::once(Some(announced)).chain(end))
    });
    let events = futures_util::StreamExt::flatten(with_end)
        .map_while(|announced| announced.map(|announced| Ok(as_sse(&announced))));
    let events =
        futures_util::StreamExt::take_until(events, Box::pin(super::closed(shared.closed)));
    SseResponse::new(events).keep_alive(KeepAlive::new().interval(HEARTBEAT).text("quiet"))
}

fn as_sse(announced: &Announced) -> Sse {
    let data = serde_json::to_string(announced).unwrap_or_default();
    let event = Sse::default().data(data);
    if announced.id > 0 {
        event.id(announced.id.to_string())
    } else {
        event
    }
}
