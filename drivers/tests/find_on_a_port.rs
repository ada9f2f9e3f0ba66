//! Virtual gauges on pseudo-terminals, found out through the real serial code.
#![cfg(unix)]

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use benchhand_drivers::bench::{Say, VirtualGauge, encode};
use benchhand_drivers::find::search::{Options, SearchError, search};
use benchhand_drivers::find::{Candidate, SURE};
use benchhand_drivers::transport::pty::PtyEnd;
use benchhand_drivers::transport::serial;
use benchhand_drivers::{Line, Mode, Unit};

/// A count that goes up and down.
fn count(number: usize) -> i64 {
    let phase = i64::try_from(number % 40).unwrap();
    2_000 + 371 * (20 - (phase - 20).abs()) + phase * phase % 7
}

fn found(gauge: VirtualGauge, allow_queries: bool) -> Result<Vec<Candidate>, SearchError> {
    found_with(
        gauge,
        Options {
            allow_queries,
            ..Options::default()
        },
    )
}

fn found_with(gauge: VirtualGauge, options: Options) -> Result<Vec<Candidate>, SearchError> {
    let end = PtyEnd::open().unwrap();
    let path = end.path().to_owned();
    let stop = Arc::new(AtomicBool::new(false));
    let until = Arc::clone(&stop);
    let living = std::thread::spawn(move || gauge.live(end, &until));
    let mut open = |line: &Line| serial::open(&path, line);
    let found = search(&mut open, &options, &AtomicBool::new(false), &mut |_| {});
    stop.store(true, Ordering::Release);
    living.join().unwrap().unwrap();
    found
}

fn line(baud: u32, format: &str) -> Line {
    Line::new(baud, format.parse().unwrap())
}

fn streaming(
    line: Line,
    period_ms: u64,
    say: impl FnMut(usize) -> Vec<u8> + Send + 'static,
) -> VirtualGauge {
    VirtualGauge {
        line,
        stream: Some((Duration::from_millis(period_ms), Box::new(say))),
        answers: Vec::new(),
        delay: Duration::ZERO,
    }
}

fn asked(
    line: Line,
    question: &[u8],
    say: impl FnMut(usize) -> Vec<u8> + Send + 'static,
) -> VirtualGauge {
    let say: Say = Box::new(say);
    VirtualGauge {
        line,
        stream: None,
        answers: vec![(question.to_vec(), say)],
        delay: Duration::from_millis(15),
    }
}

fn surest(found: Result<Vec<Candidate>, SearchError>) -> Candidate {
    found.unwrap().into_iter().next().unwrap()
}

#[test]
fn a_streaming_gauge_at_an_unusual_speed() {
    let own = line(38_400, "8N1");
    let gauge = streaming(own, 100, |n| encode::line(count(n), 3, " mm"));
    let best = surest(found(gauge, false));
    assert_eq!(
        (best.line, best.mode, best.unit),
        (own, Mode::Stream, Some(Unit::Millimetre))
    );
    assert!(best.confidence >= SURE, "{best:?}");
}

#[test]
fn a_seven_bit_gauge_is_recognised_by_its_parity() {
    let own = line(2400, "7E1");
    let gauge = streaming(own, 200, |n| encode::line(count(n), 2, " g"));
    let best = surest(found(gauge, false));
    assert_eq!((best.line, best.unit), (own, Some(Unit::Gram)));
    assert!(best.confidence >= SURE, "{best:?}");
}

#[test]
fn a_gauge_that_only_answers_is_asked_where_that_is_allowed() {
    let own = line(19_200, "8N1");
    let gauge = || asked(own, b"R\r", |n| encode::line(count(n), 3, " in"));
    assert_eq!(found(gauge(), false).unwrap_err(), SearchError::Silent);
    let best = surest(found(gauge(), true));
    assert_eq!(
        (best.line, best.mode, best.unit),
        (own, Mode::Poll, Some(Unit::Inch))
    );
    assert!(
        best.profile.contains("command = \"R\\r\""),
        "{}",
        best.profile
    );
    assert!(best.last_value.is_some());
}

#[test]
fn a_seven_bit_gauge_that_only_answers() {
    let own = line(4800, "7E1");
    let gauge = asked(own, b"?\r", |n| encode::line(count(n), 2, " g"));
    let best = surest(found(gauge, true));
    assert_eq!(
        (best.line, best.mode, best.unit),
        (own, Mode::Poll, Some(Unit::Gram))
    );
}

#[test]
fn a_port_where_nothing_answers_says_so() {
    let gauge = VirtualGauge {
        line: line(9600, "8N1"),
        stream: None,
        answers: Vec::new(),
        delay: Duration::ZERO,
    };
    let options = Options {
        allow_queries: true,
        listen: Duration::from_millis(500),
        speeds: vec![9600, 115_200],
    };
    assert_eq!(found_with(gauge, options).unwrap_err(), SearchError::Mute);
}
