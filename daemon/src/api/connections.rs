//! Connections of a door: how long one may say nothing, and how many may wait before they showed who
//! they are.
//!
//! Anyone on the machine can connect. A connection on which no request was let in yet is a newcomer;
//! where there are too many, the one that waited longest makes room, so that nobody can shut the
//! others out. A request of a client of ours comes at once and is answered before its turn.

use std::collections::VecDeque;
use std::convert::Infallible;
use std::future::Future;
use std::io;
use std::pin::pin;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use axum::Router;
use axum::extract::Request;
use axum::response::Response;
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper_util::rt::{TokioIo, TokioTimer};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Notify, watch};
use tokio::task::JoinSet;
use tower_service::Service;

/// How long a connection may take to send a request's head, and stay idle between two requests.
const HEAD_WITHIN: Duration = Duration::from_secs(10);
/// How many newcomers there may be at a door.
const MOST_NEWCOMERS: usize = 64;
/// The wait after the system gave no connection, such as where no file descriptor is left.
const BREATHER: Duration = Duration::from_millis(100);

/// Answers with `app` until `stop` resolves, then ends what is under way in good order. Dropped
/// before, it breaks every connection off.
pub(crate) async fn answer(listener: TcpListener, app: Router, stop: impl Future<Output = ()>) {
    let newcomers = Arc::new(Newcomers::default());
    let (stopping, is_stopping) = watch::channel(false);
    let mut open = JoinSet::new();
    let mut stop = pin!(stop);
    let mut number = 0;
    loop {
        tokio::select! {
            () = &mut stop => break,
            accepted = listener.accept() => match accepted {
                Ok((stream, _)) => {
                    number += 1;
                    let newcomer = newcomers.enter(number);
                    open.spawn(converse(stream, app.clone(), newcomer, is_stopping.clone()));
                    // A request that came before a crowd is read before the crowd is accepted.
                    tokio::task::yield_now().await;
                }
                Err(error) if is_of_one_connection(&error) => {}
                Err(error) => {
                    tracing::warn!(%error, "no connection can be accepted just now");
                    tokio::time::sleep(BREATHER).await;
                }
            },
            Some(_) = open.join_next() => {}
        }
    }
    drop(listener);
    let _ = stopping.send(true);
    while open.join_next().await.is_some() {}
}

fn is_of_one_connection(error: &io::Error) -> bool {
    matches!(
        error.kind(),
        io::ErrorKind::ConnectionRefused
            | io::ErrorKind::ConnectionAborted
            | io::ErrorKind::ConnectionReset
    )
}

/// Answers the requests of one connection.
async fn converse(
    stream: TcpStream,
    app: Router,
    newcomer: Arc<Newcomer>,
    mut is_stopping: watch::Receiver<bool>,
) {
    // A small answer must not wait for an acknowledgement of the one before.
    let _ = stream.set_nodelay(true);
    let of_request = Arc::clone(&newcomer);
    let service = service_fn(move |mut request: Request<Incoming>| {
        request.extensions_mut().insert(Arc::clone(&of_request));
        let answered: Answered = Box::pin(app.clone().call(request));
        answered
    });
    let mut builder = http1::Builder::new();
    let conversation = builder
        .timer(TokioTimer::new())
        .header_read_timeout(HEAD_WITHIN)
        .serve_connection(TokioIo::new(stream), service);
    let mut conversation = pin!(conversation);
    let mut told = false;
    let mut newcome = true;
    loop {
        tokio::select! {
            biased;
            ended = conversation.as_mut() => {
                if let Err(error) = ended {
                    tracing::debug!(%error, "a connection broke off");
                }
                break;
            }
            () = newcomer.shut_out.notified(), if newcome => match newcomer.is_known() {
                // It was let in before its turn came to make room.
                true => newcome = false,
                false => break,
            },
            // Where the sender is gone, the door closes as well.
            _ = is_stopping.wait_for(|stopping| *stopping), if !told => {
                told = true;
                conversation.as_mut().graceful_shutdown();
            }
        }
    }
    newcomer.leave();
}

type Answered = std::pin::Pin<Box<dyn Future<Output = Result<Response, Infallible>> + Send>>;

/// The connections of a door on which no request was let in yet, the oldest first.
#[derive(Debug, Default)]
struct Newcomers {
    waiting: Mutex<VecDeque<(u64, Arc<Notify>)>>,
}

/// A connection, as its requests know it.
#[derive(Debug)]
pub(super) struct Newcomer {
    number: u64,
    known: AtomicBool,
    shut_out: Arc<Notify>,
    all: Arc<Newcomers>,
}

impl Newcomers {
    /// A new connection. Where there are too many, the oldest newcomer is shut out.
    fn enter(self: &Arc<Self>, number: u64) -> Arc<Newcomer> {
        let shut_out = Arc::new(Notify::new());
        let mut waiting = self.waiting();
        waiting.push_back((number, Arc::clone(&shut_out)));
        if waiting.len() > MOST_NEWCOMERS
            && let Some((_, oldest)) = waiting.pop_front()
        {
            oldest.notify_one();
        }
        drop(waiting);
        Arc::new(Newcomer {
            number,
            known: AtomicBool::new(false),
            shut_out,
            all: Arc::clone(self),
        })
    }

    fn waiting(&self) -> MutexGuard<'_, VecDeque<(u64, Arc<Notify>)>> {
        self.waiting.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Newcomer {
    /// The connection showed who it is, or ended: it is no newcomer any more.
    pub(super) fn leave(&self) {
        self.known.store(true, Ordering::Relaxed);
        self.all
            .waiting()
            .retain(|(number, _)| *number != self.number);
    }

    fn is_known(&self) -> bool {
        self.known.load(Ordering::Relaxed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_oldest_newcomer_makes_room_and_who_was_let_in_stays() {
        let all = Arc::new(Newcomers::default());
        let first = all.enter(1);
        first.leave();
        let most = MOST_NEWCOMERS as u64;
        let others: Vec<_> = (2..most + 3).map(|number| all.enter(number)).collect();
        assert_eq!(others.len(), MOST_NEWCOMERS + 1);
        assert_eq!(all.waiting().len(), MOST_NEWCOMERS);
        assert_eq!(all.waiting().front().map(|(number, _)| *number), Some(3));
    }
}
