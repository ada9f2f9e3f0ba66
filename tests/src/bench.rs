//! Virtual gauges on pseudo-terminals, for tests that run the executable from outside.

use benchhand_drivers::bench::{Pace, play_into};
use benchhand_drivers::stream::Stream;
use benchhand_drivers::timebase::RealTime;
use benchhand_drivers::transport::pty::PtyEnd;
use std::time::Duration;

/// A gauge on a pseudo-terminal.
#[derive(Debug)]
pub struct Gauge {
    far: PtyEnd,
}

impl Gauge {
    /// Plugs it in.
    pub fn plug_in() -> Gauge {
        Gauge {
            far: PtyEnd::open().expect("a pseudo-terminal"),
        }
    }

    /// The path that a program opens.
    pub fn path(&self) -> String {
        self.far.path().to_owned()
    }

    /// Plays a stream so many times faster than true.
    pub fn play(&mut self, stream: &Stream, times: f64) {
        let time = RealTime::faster(times);
        let pace = Pace::Clock {
            time: &time,
            patience: Duration::from_secs(20),
        };
        play_into(&mut self.far, stream, &pace, |_| true).expect("the stream plays");
    }
}
