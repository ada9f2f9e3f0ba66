//! The loop of a port on lines in memory: loss, silence, overflow, a driven clock.

use std::sync::mpsc::Receiver;
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;

use super::*;
use crate::profile::{DriverOptions, JoinPoint, Profile, ProfileRegistry};
use crate::stream::{LineEvent, Stream, StreamEvent, StreamHeader, StreamOrigin};
use crate::timebase::{DrivenTime, RealTime};
use crate::transport::{MemoryEnd, RecordedTransport, Transport, memory_pair};

/// Longer than any step of these tests takes on a busy machine.
const PATIENCE: Duration = Duration::from_secs(30);

pub(crate) struct Running {
    pub(crate) events: Receiver<PortEvent>,
    pub(crate) stop: Arc<AtomicBool>,
    pub(crate) progress: Arc<PortProgress>,
    thread: JoinHandle<()>,
}

impl Running {
    pub(crate) fn start(
        opener: impl Opener + 'static,
        profile: &Profile,
        time: Arc<dyn Timebase>,
        capacity: usize,
    ) -> Self {
        let (sink, events) = channel(capacity);
        let stop = Arc::new(AtomicBool::new(false));
        let progress = Arc::new(PortProgress::default());
        let options = DriverOptions {
            joined: JoinPoint::AtStart,
            address: None,
        };
        let port = PortLoop {
            opener: Box::new(opener),
            line: profile.line(),
            driver: profile.driver(options),
            time,
            stop: Arc::clone(&stop),
            progress: Arc::clone(&progress),
            silence_after_us: profile.silence_after(),
            watch_inputs: true,
        };
        Self {
            events,
            stop,
            progress,
            thread: std::thread::spawn(move || port.run(sink)),
        }
    }

    /// The next event of this kind, and the events before it.
    fn until(&self, wanted: impl Fn(&PortEvent) -> bool) -> (Vec<PortEvent>, PortEvent) {
        let mut before = Vec::new();
        loop {
            match self.events.recv_timeout(PATIENCE) {
                Ok(event) if wanted(&event) => return (before, event),
                Ok(event) => before.push(event),
                Err(error) => panic!("{error} after {before:?}"),
            }
        }
    }

    pub(crate) fn next_values(&self, count: usize) -> Vec<f64> {
        let mut values = Vec::new();
        while values.len() < count {
            let (_, event) = self.until(|event| matches!(event, PortEvent::Samples { .. }));
            let PortEvent::Samples { samples, .. } = event else {
                continue;
            };
            values.extend(samples.iter().filter_map(|sample| sample.value));
        }
        values
    }

    fn end(self) -> Vec<PortEvent> {
        self.stop.store(true, Ordering::Release);
        self.thread.join().unwrap();
        self.events.try_iter().collect()
    }
}

fn profile(name: &str) -> Profile {
    ProfileRegistry::builtin().get(name).unwrap().clone()
}

/// An opener that hands out these ends one after the other, and then reports "absent".
fn ends(ends: Vec<MemoryEnd>) -> impl Opener {
    let mut ends = ends.into_iter();
    move || -> Result<Box<dyn Transport>, OpenError> {
        let absent = || OpenError::Absent {
            path: "memory".to_owned(),
        };
        ends.next()
            .map(|end| Box::new(end) as Box<dyn Transport>)
            .ok_or_else(absent)
    }
}

#[test]
fn bytes_become_samples_and_are_handed_on_raw_as_well() {
    let (near, mut far) = memory_pair();
    let port = Running::start(
        ends(vec![near]),
        &profile("ascii-length"),
        Arc::new(RealTime::new()),
        64,
    );
    far.write(b"+0.1234 mm\r\n").unwrap();
    let (before, event) = port.until(|event| matches!(event, PortEvent::Samples { .. }));
    assert!(matches!(before[0], PortEvent::Opened { .. }));
    assert!(before.iter().any(|event| matches!(event, PortEvent::Raw { bytes, direction: ByteDirection::Rx, .. } if bytes == b"+0.1234 mm\r\n")));
    let PortEvent::Samples { samples, .. } = event else {
        unreachable!()
    };
    assert_eq!(samples[0].value, Some(0.1234));
    port.end();
}

#[test]
fn a_lost_line_is_told_and_opened_again_and_half_a_line_does_not_join_the_next() {
    let (near, mut far) = memory_pair();
    let (near_again, mut far_again) = memory_pair();
    let time = Arc::new(RealTime::new());
    let port = Running::start(
        ends(vec![near, near_again]),
        &profile("ascii-length"),
        time,
        64,
    );
    far.write(b"+1.00\r\n+2").unwrap();
    assert_eq!(port.next_values(1), [1.0]);
    far.hang_up("unplugged");
    let (_, gone) = port.until(|event| matches!(event, PortEvent::Gone { .. }));
    assert!(matches!(gone, PortEvent::Gone { reason, .. } if reason == "unplugged"));
    port.until(|event| matches!(event, PortEvent::Opened { .. }));
    far_again.write(b"+3.00\r\n").unwrap();
    assert_eq!(port.next_values(1), [3.0]);
    far_again.hang_up("unplugged again");
    let (_, failed) = port.until(|event| matches!(event, PortEvent::OpenFailed { .. }));
    assert!(matches!(
        failed,
        PortEvent::OpenFailed {
            error: OpenError::Absent { .. },
            ..
        }
    ));
    let rest = port.end();
    assert!(
        !rest
            .iter()
            .any(|event| matches!(event, PortEvent::OpenFailed { .. })),
        "told twice"
    );
}

#[test]
fn silence_is_told_once_and_so_is_its_end() {
    let (near, mut far) = memory_pair();
    let time = Arc::new(DrivenTime::new());
    let clock = Arc::<DrivenTime>::clone(&time);
    let port = Running::start(ends(vec![near]), &profile("ascii-length"), time, 64);
    far.write(b"+1.00\r\n").unwrap();
    assert_eq!(port.next_values(1), [1.0]);
    clock.advance_to(2_000_000);
    far.write(b"?\r\n").unwrap();
    let (_, silent) = port.until(|event| matches!(event, PortEvent::Silent { .. }));
    let PortEvent::Silent {
        since_us, at_us, ..
    } = silent
    else {
        unreachable!()
    };
    assert_eq!((since_us, at_us), (0, 2_000_000));
    far.write(b"+1.00\r\n").unwrap();
    let (before, _) = port.until(|event| matches!(event, PortEvent::Heard { .. }));
    assert!(
        !before
            .iter()
            .any(|event| matches!(event, PortEvent::Silent { .. }))
    );
    port.end();
}

#[test]
fn a_gauge_with_a_button_is_never_silent() {
    let (near, mut far) = memory_pair();
    let time = Arc::new(DrivenTime::new());
    let clock = Arc::<DrivenTime>::clone(&time);
    let port = Running::start(ends(vec![near]), &profile("bcd13-length-button"), time, 64);
    clock.advance_to(3_600_000_000);
    far.write(b"FFFF000123420\r").unwrap();
    let (before, event) = port.until(|event| matches!(event, PortEvent::Samples { .. }));
    assert!(
        !before
            .iter()
            .any(|event| matches!(event, PortEvent::Silent { .. }))
    );
    assert!(matches!(event, PortEvent::Samples { samples, .. } if samples[0].status.button));
    port.end();
}

#[test]
fn a_listener_that_stands_still_holds_nothing_up_and_hears_how_much_it_missed() {
    let (near, mut far) = memory_pair();
    let time = Arc::new(RealTime::new());
    let port = Running::start(ends(vec![near]), &profile("ascii-length"), time, 4);
    let mut sent = 0;
    for _ in 0..50 {
        far.write(b"+1.00\r\n").unwrap();
        sent += 7;
        let deadline = Instant::now() + PATIENCE;
        while port.progress.consumed() < sent {
            assert!(Instant::now() < deadline, "the port is held up");
            std::thread::yield_now();
        }
    }
    let (before, overflow) = port.until(|event| matches!(event, PortEvent::Overflow { .. }));
    let PortEvent::Overflow { lost, .. } = overflow else {
        unreachable!()
    };
    let count = |events: &[PortEvent]| -> usize {
        events
            .iter()
            .map(|event| match event {
                PortEvent::Samples { samples, .. } => samples.len(),
                _ => 0,
            })
            .sum()
    };
    let rest = port.end();
    assert_eq!(count(&before) + lost.samples + count(&rest), 50);
}

#[test]
fn modem_inputs_are_told_when_they_change() {
    let (near, far) = memory_pair();
    let time = Arc::new(RealTime::new());
    let port = Running::start(ends(vec![near]), &profile("ascii-length"), time, 64);
    let inputs = |event: &PortEvent| matches!(event, PortEvent::Inputs { .. });
    let (_, first) = port.until(inputs);
    assert!(matches!(
        first,
        PortEvent::Inputs {
            inputs: ModemInputs { cts: false, .. },
            ..
        }
    ));
    far.set_inputs(ModemInputs {
        cts: true,
        dsr: false,
    });
    let (_, second) = port.until(inputs);
    assert!(matches!(
        second,
        PortEvent::Inputs {
            inputs: ModemInputs { cts: true, .. },
            ..
        }
    ));
    port.end();
}

fn polled_stream() -> Stream {
    let profile = profile("ascii-length-polled");
    let mut events = Vec::new();
    for turn in 0..20u64 {
        let at_us = turn * 100_000;
        events.push(StreamEvent {
            at_us,
            what: LineEvent::Tx(b"?\r".to_vec()),
        });
        let answer = format!("+{turn}.00 mm\r\n").into_bytes();
        events.push(StreamEvent {
            at_us: at_us + 30_000,
            what: LineEvent::Rx(answer),
        });
    }
    let header = StreamHeader::new(profile.name(), profile.line(), StreamOrigin::Synthesised);
    Stream { header, events }
}

#[test]
fn a_recorded_polled_gauge_plays_at_once_through_the_port() {
    let profile = profile("ascii-length-polled");
    let time = Arc::new(DrivenTime::new());
    let clock = Arc::<DrivenTime>::clone(&time);
    let streams = Mutex::new(Some(polled_stream()));
    let opener = move || -> Result<Box<dyn Transport>, OpenError> {
        let stream = streams.lock().unwrap().take();
        let stream = stream.ok_or(OpenError::Absent {
            path: "stream".to_owned(),
        })?;
        Ok(Box::new(RecordedTransport::at_once(
            stream,
            Arc::<DrivenTime>::clone(&clock),
        )))
    };
    let port = Running::start(opener, &profile, time, 256);
    let expected: Vec<f64> = (0..20).map(f64::from).collect();
    assert_eq!(port.next_values(20), expected);
    let (_, gone) = port.until(|event| matches!(event, PortEvent::Gone { .. }));
    assert!(matches!(gone, PortEvent::Gone { reason, .. } if reason.contains("ended")));
    port.end();
}

#[cfg(unix)]
mod on_a_pseudo_terminal {
    use super::*;
    use crate::player::{PlayError, PlayPace, play_into};
    use crate::serial_settings::{SerialFormat, SerialSettings};
    use crate::transport::pty::PtyEnd;
    use crate::transport::serial::{self, PortState};

    fn serial_opener(path: &str, line: SerialSettings) -> impl Opener + use<> {
        let path = path.to_owned();
        move || serial::open(&path, &line)
    }

    fn play(stream: &Stream, name: &str) -> (Running, Result<(), PlayError>) {
        let profile = profile(name);
        let mut gauge = PtyEnd::open().unwrap();
        let time = Arc::new(DrivenTime::new());
        let clock = Arc::<DrivenTime>::clone(&time);
        let port = Running::start(
            serial_opener(gauge.path(), profile.line()),
            &profile,
            time,
            4096,
        );
        port.until(|event| matches!(event, PortEvent::Opened { .. }));
        let progress = Arc::clone(&port.progress);
        let pace = PlayPace::InStep {
            time: &clock,
            progress: &progress,
            patience: PATIENCE,
        };
        let played = play_into(&mut gauge, stream, &pace, |_| true);
        (port, played)
    }

    #[test]
    fn a_polled_stream_plays_in_step_through_the_real_serial_code() {
        let (port, played) = play(&polled_stream(), "ascii-length-polled");
        assert_eq!(played, Ok(()));
        let expected: Vec<f64> = (0..20).map(f64::from).collect();
        assert_eq!(port.next_values(20), expected);
        let (_, gone) = port.until(|event| matches!(event, PortEvent::Gone { .. }));
        assert!(matches!(gone, PortEvent::Gone { .. }));
        port.end();
    }

    #[test]
    fn another_question_than_the_stream_holds_is_an_error_of_its_own() {
        let mut stream = polled_stream();
        stream.events[4].what = LineEvent::Tx(b"READ\r".to_vec());
        let (port, played) = play(&stream, "ascii-length-polled");
        assert!(
            matches!(played, Err(PlayError::OtherBytes { event: 5, .. })),
            "{played:?}"
        );
        port.end();
    }

    #[test]
    fn the_line_is_set_as_the_profile_says() {
        let gauge = PtyEnd::open().unwrap();
        let line = SerialSettings::new(19_200, SerialFormat::N81);
        let open = serial::open(gauge.path(), &line).unwrap();
        assert_eq!(gauge.settings().unwrap(), line);
        drop(open);
    }

    #[test]
    fn absent_busy_and_no_port_are_told_apart() {
        let line = SerialSettings::new(9600, SerialFormat::N81);
        let open = |path: &str| serial::open(path, &line).map(drop).unwrap_err();
        assert!(matches!(
            open("/dev/no-such-port"),
            OpenError::Absent { .. }
        ));
        let gauge = PtyEnd::open().unwrap();
        assert_eq!(serial::probe(gauge.path()), PortState::Free);
        let first = serial::open(gauge.path(), &line).unwrap();
        assert!(matches!(open(gauge.path()), OpenError::Busy { .. }));
        assert_eq!(serial::probe(gauge.path()), PortState::Busy);
        drop(first);
        assert_eq!(serial::probe(gauge.path()), PortState::Free);
        let error = open("/etc/hostname");
        assert!(matches!(error, OpenError::NotAPort { .. }), "{error:?}");
    }
}
