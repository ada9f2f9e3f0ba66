//! Finds virtual gauges on pseudo-terminals through the real serial code.
#![cfg(unix)]

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use benchhand_drivers::transport::pty::PtyEnd;
use benchhand_drivers::transport::serial;
use benchhand_drivers::{SerialSettings, TalkMode, Unit};
use benchhand_find::{ProfileCandidate, SURE};
use benchhand_find::{SearchError, SearchOptions, search};
use benchhand_testbed::gauge::{GaugeFrames, VirtualGauge, encode};

/// A count that goes up and down.
fn count(number: usize) -> i64 {
    let phase = i64::try_from(number % 40).unwrap();
    2_000 + 371 * (20 - (phase - 20).abs()) + phase * phase % 7
}

fn found(gauge: VirtualGauge, allow_queries: bool) -> Result<Vec<ProfileCandidate>, SearchError> {
    found_with(
        gauge,
        SearchOptions {
            allow_queries,
            ..SearchOptions::default()
        },
    )
}

fn found_with(
    gauge: VirtualGauge,
    options: SearchOptions,
) -> Result<Vec<ProfileCandidate>, SearchError> {
    let end = PtyEnd::open().unwrap();
    let path = end.path().to_owned();
    let stop = Arc::new(AtomicBool::new(false));
    let until = Arc::clone(&stop);
    let living = std::thread::spawn(move || gauge.live(end, &until));
    let mut open = |line: &SerialSettings| serial::open(&path, line);
    let found = search(&mut open, &options, &AtomicBool::new(false), &mut |_| {});
    stop.store(true, Ordering::Release);
    living.join().unwrap().unwrap();
    found
}

fn line(baud: u32, format: &str) -> SerialSettings {
    SerialSettings::new(baud, format.parse().unwrap())
}

fn streaming(
    line: SerialSettings,
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
    line: SerialSettings,
    question: &[u8],
    say: impl FnMut(usize) -> Vec<u8> + Send + 'static,
) -> VirtualGauge {
    let say: GaugeFrames = Box::new(say);
    VirtualGauge {
        line,
        stream: None,
        answers: vec![(question.to_vec(), say)],
        delay: Duration::from_millis(15),
    }
}

fn surest(found: Result<Vec<ProfileCandidate>, SearchError>) -> ProfileCandidate {
    found.unwrap().into_iter().next().unwrap()
}

#[test]
fn a_streaming_gauge_at_an_unusual_speed() {
    let own = line(38_400, "8N1");
    let gauge = streaming(own, 100, |n| encode::line(count(n), 3, " mm"));
    let best = surest(found(gauge, false));
    assert_eq!(
        (best.line, best.mode, best.unit),
        (own, TalkMode::Stream, Some(Unit::Millimetre))
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
    let options = |allow_queries| SearchOptions {
        allow_queries,
        listen: Duration::from_secs(2),
        speeds: vec![9600, 19_200],
        ..SearchOptions::default()
    };
    assert_eq!(
        found_with(gauge(), options(false)).unwrap_err(),
        SearchError::Silent
    );
    let best = surest(found_with(gauge(), options(true)));
    assert_eq!(
        (best.line, best.mode, best.unit),
        (own, TalkMode::Poll, Some(Unit::Inch))
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
    let options = SearchOptions {
        allow_queries: true,
        listen: Duration::from_secs(2),
        speeds: vec![9600, 4800],
        ..SearchOptions::default()
    };
    let best = surest(found_with(gauge, options));
    assert_eq!(
        (best.line, best.mode, best.unit),
        (own, TalkMode::Poll, Some(Unit::Gram))
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
    let options = SearchOptions {
        allow_queries: true,
        listen: Duration::from_millis(500),
        speeds: vec![9600, 115_200],
        ..SearchOptions::default()
    };
    assert_eq!(found_with(gauge, options).unwrap_err(), SearchError::Mute);
}

#[test]
fn a_modbus_gauge_is_asked_for_its_registers_and_its_unit_is_not_guessed() {
    // Pseudo-terminals have no parity.
    let own = line(19_200, "8N1");
    let reading = |n: usize| f32::from(i16::try_from(count(n)).unwrap()) / 8.0;
    // Registers 0 and 1 hold a serial number, 2 and 3 the measured value. There are no others.
    let answer = move |registers: usize, refuse: bool| -> GaugeFrames {
        Box::new(move |n| {
            let mut bytes = vec![0x12, 0x34, 0, 7];
            bytes.extend(reading(n).to_be_bytes());
            if refuse {
                encode::modbus_exception(1, 4, 2)
            } else {
                encode::modbus_reply(1, 4, &bytes[..registers * 2])
            }
        })
    };
    let mut answers: Vec<(Vec<u8>, GaugeFrames)> = Vec::new();
    for (registers, refuse) in [(16, true), (8, true), (4, false), (2, false), (1, false)] {
        let request = encode::modbus_request(1, 4, 0, registers);
        answers.push((request, answer(usize::from(registers), refuse)));
    }
    // The proposed profile asks for registers 2 and 3 alone.
    let alone: GaugeFrames =
        Box::new(move |n| encode::modbus_reply(1, 4, &reading(n).to_be_bytes()));
    answers.push((encode::modbus_request(1, 4, 2, 2), alone));
    for registers in [16, 8, 4, 2, 1] {
        let none: GaugeFrames = Box::new(|_| encode::modbus_exception(1, 3, 1));
        answers.push((encode::modbus_request(1, 3, 0, registers), none));
    }
    let gauge = VirtualGauge {
        line: own,
        stream: None,
        answers,
        delay: Duration::from_millis(5),
    };
    let options = SearchOptions {
        allow_queries: true,
        listen: Duration::from_secs(1),
        speeds: vec![9600, 19_200],
        ..SearchOptions::default()
    };
    let best = surest(found_with(gauge, options));
    assert_eq!(
        (best.line, best.mode, best.unit),
        (own, TalkMode::Poll, None)
    );
    assert!(
        best.profile
            .contains("register = 2\ntype = \"f32\"\norder = \"ABCD\""),
        "{}",
        best.profile
    );
    assert!(best.confidence < SURE, "{best:?}");
}

/// A gauge that only answers is found, whatever stands around its answers.
fn asked_and_found(question: &'static [u8], before: &'static str, behind: &'static str) {
    let own = line(9600, "8N1");
    let say = move |n: usize| {
        let mut answer = before.as_bytes().to_vec();
        answer.extend(encode::line(count(n), 3, " mm"));
        answer.extend(behind.as_bytes());
        answer
    };
    let options = SearchOptions {
        allow_queries: true,
        listen: Duration::from_secs(1),
        speeds: vec![9600],
        ..SearchOptions::default()
    };
    let best = surest(found_with(asked(own, question, say), options));
    assert_eq!(
        (best.line, best.mode, best.unit),
        (own, TalkMode::Poll, Some(Unit::Millimetre))
    );
    assert!(best.confidence >= SURE, "{best:?}");
    let echoes = before.len() > 1;
    assert_eq!(best.profile.contains("echo = true"), echoes, "{best:?}");
}

#[test]
fn an_answer_behind_the_repeated_question() {
    asked_and_found(b"R\r", "R\r", "");
}

#[test]
fn a_prompt_behind_the_answer() {
    asked_and_found(b"?\r", "", ">");
}

/// What the manual names is asked even where no other question may be sent, and it alone.
#[test]
fn a_question_of_the_manual_is_asked_by_itself() {
    let own = line(9600, "8N1");
    let options = |question: &[u8]| SearchOptions {
        questions: vec![question.to_vec()],
        listen: Duration::from_secs(1),
        speeds: vec![9600],
        ..SearchOptions::default()
    };
    let gauge = || asked(own, b"GIVE\r", |n| encode::line(count(n), 3, " in"));
    let best = surest(found_with(gauge(), options(b"GIVE\r")));
    assert_eq!((best.line, best.mode), (own, TalkMode::Poll));
    assert!(
        best.profile.contains("command = \"GIVE\\r\""),
        "{}",
        best.profile
    );
    let usual = asked(own, b"R\r", |n| encode::line(count(n), 3, " in"));
    assert_eq!(
        found_with(usual, options(b"TELL\r")).unwrap_err(),
        SearchError::Mute
    );
}
