//! A pedal in a recorded stream steers a job's route.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use benchhand_drivers::stream::{
    LineEvent, ModemChange, Stream, StreamEvent, StreamHeader, StreamOrigin,
};
use benchhand_drivers::timebase::{DrivenTime, Timebase};
use benchhand_drivers::transport::{
    LinkError, ModemInputs, OpenError, RecordedTransport, Transport,
};
use benchhand_wire::{Event as News, SaidAs, StopState};
use serde_json::{Value, json};

use crate::clock::SystemClock;
use crate::live::{OpenLine, Opener, WantedLine};
use crate::serve::Works;

/// A line that is open from the start; nothing comes on it before the route runs.
struct Held {
    go: Arc<AtomicBool>,
    line: RecordedTransport,
}

impl Transport for Held {
    fn read(&mut self, buffer: &mut [u8], timeout: Duration) -> Result<usize, LinkError> {
        if self.go.load(Ordering::Acquire) {
            return self.line.read(buffer, timeout);
        }
        // As reading a quiet port does.
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
    events: Vec<StreamEvent>,
}

impl Opener for Player {
    fn line(&self, wanted: &WantedLine) -> OpenLine {
        let (go, time) = (self.go.clone(), self.time.clone());
        let stream = Stream {
            header: StreamHeader::new("ascii-volume", wanted.line, StreamOrigin::Synthesised),
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
fn stream() -> Vec<StreamEvent> {
    let value = |i: u64| StreamEvent {
        at_us: i * 100_000,
        what: LineEvent::Rx(b"0.00 cc\r\n".to_vec()),
    };
    let contact = |ms: u64, cts: bool| StreamEvent {
        at_us: ms * 1000,
        what: LineEvent::Line(ModemChange {
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
    let mut events: Vec<StreamEvent> = (0..80).map(value).collect();
    events.extend(presses.map(|(ms, down)| contact(ms, down)));
    events.sort_by_key(|event| event.at_us);
    events
}

/// A first pour far off the nominal of 64 cc, and two presses after it has come to rest.
fn far_off() -> Vec<StreamEvent> {
    let level = |s: f64| ((s - 4.0) * 9.0).clamp(0.0, 90.0);
    let value = |i: u64| StreamEvent {
        at_us: i * 100_000,
        what: LineEvent::Rx(format!("{:.2} cc\r\n", level(i as f64 / 10.0)).into_bytes()),
    };
    let contact = |ms: u64, cts: bool| StreamEvent {
        at_us: ms * 1000,
        what: LineEvent::Line(ModemChange {
            cts: Some(cts),
            dsr: None,
        }),
    };
    let presses = [
        (24_010, true),
        (24_190, false),
        (26_010, true),
        (26_190, false),
    ];
    let mut events: Vec<StreamEvent> = (0..300).map(value).collect();
    events.extend(presses.map(|(ms, down)| contact(ms, down)));
    events.sort_by_key(|event| event.at_us);
    events
}

/// Plays a stream to a route of chambers. Returns what happened until the gauge was gone, and the
/// readings of the job.
fn played(pedals: &str, events: Vec<StreamEvent>) -> (Vec<News>, Value) {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("pedals.toml"), pedals).unwrap();
    let go = Arc::new(AtomicBool::new(false));
    let player = Player {
        go: go.clone(),
        time: Arc::new(DrivenTime::new()),
        events,
    };
    let clock = Arc::new(SystemClock::new());
    let works = Works::start(folder.path(), clock, Arc::new(player)).unwrap();
    let ask = |path: &str, body| works.desk.dispatch(path, body, Some(path)).unwrap();
    let engine = include_str!("../../../../examples/invented-v8.toml");
    ask(
        "jobs/new",
        json!({"name": "v8", "engine": engine, "file": "engine.toml"}),
    );
    let setup = json!({"name": "burette", "profile": "ascii-volume", "port": "played",
        "counts": "up"});
    ask("gauges/set", json!({ "setup": setup }));
    ask("routes/start", json!({"job": "v8", "route": "chambers"}));
    let watching = works.hub.watch(None);
    go.store(true, Ordering::Release);

    let mut live = watching.live;
    let mut news = Vec::new();
    loop {
        match live.blocking_recv().unwrap().event {
            News::Say {
                said_as: SaidAs::Gauge,
                text,
                ..
            } if text.contains("gone") => break,
            event => news.push(event),
        }
    }
    let readings = ask("jobs/show", json!({"job": "v8"}))["readings"].clone();
    works.stop_blocking();
    (news, readings)
}

#[test]
fn presses_in_a_recorded_stream_steer_the_route() {
    let pedals = "pedals = 1\n[gauge.burette]\npress = \"skip\"\nlong = \"back\"\n";
    let (news, _) = played(pedals, stream());
    let stands = news.iter().filter_map(|event| match event {
        News::Route { progress } => {
            let stops = progress.stops.iter();
            let skipped = stops.filter(|s| s.state == StopState::Skipped);
            Some((progress.at, skipped.count()))
        }
        _ => None,
    });
    let stands: Vec<_> = stands.collect();
    // The route goes back to the second stop, which no longer counts as passed over.
    assert_eq!(stands, [(Some(1), 1), (Some(2), 2), (Some(1), 1)]);
}

#[test]
fn a_take_by_pedal_never_keeps_the_value_that_is_asked_about() {
    let pedals = "pedals = 1\n[gauge.burette]\npress = \"take\"\n";
    let (news, readings) = played(pedals, far_off());
    let said = |wanted: SaidAs| {
        let texts = news.iter().filter_map(move |event| match event {
            News::Say { said_as, text, .. } if *said_as == wanted => Some(text.as_str()),
            _ => None,
        });
        texts.collect::<Vec<&str>>()
    };
    let [question] = said(SaidAs::Asked)[..] else {
        panic!("one question: {:?}", said(SaidAs::Asked));
    };
    assert!(question.contains("90.00 cc, expected about 64.0 cc"));
    // Each press is refused with the words of the question.
    let refused = said(SaidAs::Again);
    assert_eq!(refused.len(), 2, "{refused:?}");
    for text in refused {
        assert!(text.starts_with("not done: "), "{text}");
        assert!(text.contains(question), "{text}");
    }
    let last = news.iter().rev().find_map(|event| match event {
        News::Route { progress } => Some(progress),
        _ => None,
    });
    let last = last.expect("the route stands somewhere");
    assert_eq!(last.at, Some(0), "the route has not moved on");
    assert_eq!(last.asked.as_ref().map(|q| q.text.as_str()), Some(question));
    assert_eq!(readings, json!([]), "nothing was kept");
}
