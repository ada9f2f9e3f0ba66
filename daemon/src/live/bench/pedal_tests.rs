//! A pedal in a recorded stream steers the route of a job.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use benchhand_drivers::stream::{Event, Header, LineChange, Origin, Stream, What};
use benchhand_drivers::timebase::{DrivenTime, Timebase};
use benchhand_drivers::transport::{
    LinkError, ModemInputs, OpenError, RecordedTransport, Transport,
};
use benchhand_wire::{Event as News, SaidAs, StopState};
use serde_json::json;

use crate::clock::SystemClock;
use crate::live::{OpenLine, Opener, Wanted};
use crate::serve::Works;

/// A line that is open from the start and on which nothing comes before the route runs.
struct Held {
    go: Arc<AtomicBool>,
    line: RecordedTransport,
}

impl Transport for Held {
    fn read(&mut self, buffer: &mut [u8], timeout: Duration) -> Result<usize, LinkError> {
        if self.go.load(Ordering::Acquire) {
            return self.line.read(buffer, timeout);
        }
        // As a read of a quiet port does.
        std::thread::sleep(timeout);
        Ok(0)
    }

    fn write(&mut self, bytes: &[u8]) -> Result<(), LinkError> {
        self.line.write(bytes)
    }

    fn drain(&mut self) -> Result<(), LinkError> {
        self.line.drain()
    }

    fn inputs(&mut self) -> Result<Option<ModemInputs>, LinkError> {
        self.line.inputs()
    }
}

/// Plays one stream, once the route runs.
struct Player {
    go: Arc<AtomicBool>,
    time: Arc<DrivenTime>,
    events: Vec<Event>,
}

impl Opener for Player {
    fn line(&self, wanted: &Wanted) -> OpenLine {
        let (go, time) = (self.go.clone(), self.time.clone());
        let stream = Stream {
            header: Header::new("ascii-volume", wanted.line, Origin::Synthesised),
            events: self.events.clone(),
        };
        let mut once = Some(stream);
        Box::new(move || {
            let absent = OpenError::Absent {
                path: "a stream that is played once".to_owned(),
            };
            let stream = once.take().ok_or(absent)?;
            Ok(Box::new(Held {
                go: go.clone(),
                line: RecordedTransport::at_once(stream, time.clone()),
            }))
        })
    }

    fn time(&self, _: &str) -> Arc<dyn Timebase> {
        self.time.clone()
    }

    fn plays(&self) -> bool {
        true
    }
}

/// A resting burette that sends ten values a second, with the pedal pressed now and then.
fn stream() -> Vec<Event> {
    let value = |i: u64| Event {
        at_us: i * 100_000,
        what: What::Rx(b"0.00 cc\r\n".to_vec()),
    };
    let contact = |ms: u64, cts: bool| Event {
        at_us: ms * 1000,
        what: What::Line(LineChange {
            cts: Some(cts),
            dsr: None,
        }),
    };
    // Two short presses far apart, then a long one.
    let presses = [
        (510, true),
        (690, false),
        (2010, true),
        (2190, false),
        (4010, true),
        (5190, false),
    ];
    let mut events: Vec<Event> = (0..80).map(value).collect();
    events.extend(presses.map(|(ms, down)| contact(ms, down)));
    events.sort_by_key(|event| event.at_us);
    events
}

#[test]
fn presses_in_a_recorded_stream_steer_the_route() {
    let folder = tempfile::tempdir().unwrap();
    let pedals = "pedals = 1\n[gauge.burette]\npress = \"skip\"\nlong = \"back\"\n";
    std::fs::write(folder.path().join("pedals.toml"), pedals).unwrap();
    let go = Arc::new(AtomicBool::new(false));
    let player = Player {
        go: go.clone(),
        time: Arc::new(DrivenTime::new()),
        events: stream(),
    };
    let clock = Arc::new(SystemClock::new());
    let works = Works::start(folder.path(), clock, Arc::new(player)).unwrap();
    let ask = |path: &str, body| works.desk.dispatch(path, body, Some(path)).unwrap();
    let engine = include_str!("../../../../examples/invented-v8.toml");
    ask(
        "jobs/new",
        json!({"name": "v8", "engine": engine, "file": "engine.toml"}),
    );
    let setup = json!({"name": "burette", "profile": "ascii-volume", "port": "played"});
    ask("gauges/set", json!({ "setup": setup }));
    ask("routes/start", json!({"job": "v8", "route": "chambers"}));
    let watching = works.hub.watch(None);
    go.store(true, Ordering::Release);

    let mut live = watching.live;
    let mut stands = Vec::new();
    loop {
        match live.blocking_recv().unwrap().event {
            News::Route { progress } => {
                let skipped = progress
                    .stops
                    .iter()
                    .filter(|s| s.state == StopState::Skipped);
                stands.push((progress.at, skipped.count()));
            }
            News::Say {
                said_as: SaidAs::Gauge,
                text,
                ..
            } if text.contains("gone") => break,
            _ => {}
        }
    }
    assert_eq!(stands, [(Some(1), 1), (Some(2), 2), (Some(1), 2)]);
    works.stop_blocking();
}
