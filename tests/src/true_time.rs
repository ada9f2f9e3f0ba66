//! A virtual gauge on true time, for the few tests of the executable's own `serve`.
//!
//! The gauge runs by itself, like a real one: it sends the streams that it is told to play, and
//! then goes on sending its last value until it is unplugged. All other tests use driven time
//! (`driven_station.rs`).

use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread::JoinHandle;
use std::time::Duration;

use benchhand_drivers::player::{PlayError, PlayPace, play_into};
use benchhand_drivers::stream::{LineEvent, Stream, StreamEvent};
use benchhand_drivers::timebase::RealTime;
use benchhand_drivers::transport::Transport;
use benchhand_drivers::transport::pty::PtyEnd;

/// Longest real time for any step of the program at the other end.
const PATIENCE: Duration = Duration::from_secs(20);

/// A gauge that sends by itself, on a pseudo-terminal.
#[derive(Debug)]
pub struct TrueTimeGauge {
    path: String,
    orders: Option<Sender<Order>>,
    thread: Option<JoinHandle<()>>,
}

/// An order to a gauge.
enum Order {
    /// Play a stream, and report the end.
    Play(Box<Stream>, Sender<Result<(), PlayError>>),
    /// Free the line from a killed program's exclusive use.
    LetGo,
}

impl TrueTimeGauge {
    /// Plugs in a gauge.
    pub fn plug_in() -> TrueTimeGauge {
        let far = PtyEnd::open().expect("a pseudo-terminal");
        let path = far.path().to_owned();
        let (orders, to_do) = channel();
        let thread = std::thread::spawn(move || live(far, &to_do));
        TrueTimeGauge {
            path,
            orders: Some(orders),
            thread: Some(thread),
        }
    }

    /// The path that a program opens.
    pub fn path(&self) -> &str {
        &self.path
    }

    /// Plays a stream to its end.
    #[track_caller]
    pub fn play(&self, stream: &Stream) {
        self.begin(stream)
            .recv()
            .expect("the gauge is plugged in")
            .expect("the stream plays");
    }

    /// Begins to play a stream. The receiver gets the result at the end.
    pub fn begin(&self, stream: &Stream) -> Receiver<Result<(), PlayError>> {
        let (done, is_done) = channel();
        let orders = self.orders.as_ref().expect("it is plugged in");
        let _ = orders.send(Order::Play(Box::new(stream.clone()), done));
        is_done
    }

    /// Frees the line after the program that held it was killed, as a real port does.
    pub fn let_go(&self) {
        let orders = self.orders.as_ref().expect("it is plugged in");
        let _ = orders.send(Order::LetGo);
    }
}

impl Drop for TrueTimeGauge {
    fn drop(&mut self) {
        drop(self.orders.take());
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

fn live(mut far: PtyEnd, orders: &Receiver<Order>) {
    let time = RealTime::new();
    let pace = PlayPace::Clock {
        time: &time,
        patience: PATIENCE,
    };
    let mut shows: Option<(Vec<u8>, Duration)> = None;
    loop {
        let order = match &shows {
            None => orders.recv().map_err(|_| RecvTimeoutError::Disconnected),
            Some((_, period)) => orders.recv_timeout(*period),
        };
        match order {
            Ok(Order::LetGo) => far.let_go().expect("it can be let go"),
            Ok(Order::Play(stream, done)) => {
                let played = play_into(&mut far, &stream, &pace, |_| true);
                shows = last_shown(&stream);
                let _ = done.send(played);
            }
            Err(RecvTimeoutError::Timeout) => {
                // If nobody reads, the bytes are lost, as with a real gauge.
                if let Some((bytes, _)) = &shows {
                    let _ = far.write(bytes);
                }
            }
            Err(RecvTimeoutError::Disconnected) => return,
        }
    }
}

/// The last frame of a stream, and its period.
fn last_shown(stream: &Stream) -> Option<(Vec<u8>, Duration)> {
    let sent = |event: &StreamEvent| match &event.what {
        LineEvent::Rx(bytes) => Some((event.at_us, bytes.clone())),
        _ => None,
    };
    let mut from_the_end = stream.events.iter().rev().filter_map(sent);
    let (last_us, bytes) = from_the_end.next()?;
    let (before_us, _) = from_the_end.next()?;
    let period = Duration::from_micros(last_us.saturating_sub(before_us));
    Some((bytes, period.max(Duration::from_millis(1))))
}
