//! Streams: written, read back, damaged and cut.

use super::*;
use crate::serial_settings::SerialFormat;

fn header() -> StreamHeader {
    StreamHeader::new(
        "ascii-length",
        SerialSettings::new(9600, SerialFormat::N81),
        StreamOrigin::Synthesised,
    )
}

const TEXT: &str = concat!(
    r#"{"stream":1,"profile":"ascii-length","profile_hash":"…","gauge":"depth-2","line":{"baud":9600,"format":"8N1"},"origin":"synthesised","start":"2026-03-02T09:14:05Z","note":"…"}"#,
    "\n",
    r#"[0,"tx","?\r"]"#,
    "\n",
    r#"[41250,"rx","+0.1234 mm\r\n"]"#,
    "\n",
    r#"[941250,"line",{"cts":true}]"#,
    "\n",
    r#"[942450,"link","gone"]"#,
    "\n",
);

#[test]
fn the_described_form_is_read_and_written_back_alike() {
    let stream = Stream::parse(TEXT.as_bytes()).unwrap();
    assert_eq!(stream.header.gauge.as_deref(), Some("depth-2"));
    assert_eq!(stream.events.len(), 4);
    assert_eq!(
        stream.events[1].what,
        LineEvent::Rx(b"+0.1234 mm\r\n".to_vec())
    );
    assert_eq!(
        stream.events[2].what,
        LineEvent::Line(ModemChange {
            cts: Some(true),
            dsr: None
        })
    );
    let mut written = Vec::new();
    stream.write_to(&mut written).unwrap();
    assert_eq!(String::from_utf8(written).unwrap(), TEXT);
}

#[test]
fn every_byte_survives() {
    let all: Vec<u8> = (0..=255).collect();
    let events = vec![StreamEvent {
        at_us: 5,
        what: LineEvent::Rx(all),
    }];
    let stream = Stream {
        header: header(),
        events,
    };
    let mut written = Vec::new();
    stream.write_to(&mut written).unwrap();
    assert_eq!(
        written.iter().filter(|byte| **byte == b'\n').count(),
        2,
        "one line an event"
    );
    assert_eq!(Stream::parse(&written).unwrap(), stream);
}

fn refused(text: &str) -> (usize, String) {
    let error = Stream::parse(text.as_bytes()).unwrap_err();
    (error.line, error.to_string())
}

#[test]
fn a_damaged_stream_is_refused_at_its_line() {
    let first = TEXT.lines().next().unwrap();
    for (text, line, part) in [
        (String::new(), 1, "found nothing"),
        ("hello\n".to_owned(), 1, "no header"),
        (
            first.replace("\"stream\":1", "\"stream\":2") + "\n",
            1,
            "version 2",
        ),
        (first.replace("synthesised", "guessed") + "\n", 1, "guessed"),
        (
            first.replace("\"line\"", "\"lime\"") + "\n",
            1,
            "missing field `line`",
        ),
        (first.replace("8N1", "9X1") + "\n", 1, "9X1"),
        (
            format!("{first}\n[1,\"rx\",\"a\"]\n[2,\"rx\""),
            3,
            "recorder was cut off",
        ),
        (
            format!("{first}\n[1,\"rx\",\"a\"]\n\n"),
            3,
            "expected an event",
        ),
        (
            format!("{first}\n[1.5,\"rx\",\"a\"]\n"),
            2,
            "expected an event",
        ),
        (
            format!("{first}\n[-1,\"rx\",\"a\"]\n"),
            2,
            "expected an event",
        ),
        (
            format!("{first}\n[1,\"rx\",\"€\"]\n"),
            2,
            "U+0000 to U+00FF",
        ),
        (
            format!("{first}\n[1,\"link\",\"lost\"]\n"),
            2,
            "expected an event",
        ),
        (
            format!("{first}\n[1,\"line\",{{\"rts\":true}}]\n"),
            2,
            "expected an event",
        ),
        (
            format!("{first}\n[9,\"rx\",\"a\"]\n[8,\"rx\",\"b\"]\n"),
            3,
            "never go back",
        ),
    ] {
        let (found_line, message) = refused(&text);
        assert_eq!(found_line, line, "{text:?}: {message}");
        assert!(message.contains(part), "{text:?}: {message}");
    }
}

#[test]
fn events_before_a_torn_line_are_handed_out() {
    let torn = &TEXT[..TEXT.len() - 4];
    let seen: Vec<_> = StreamReader::new(torn.as_bytes()).unwrap().collect();
    assert_eq!(seen.len(), 4);
    assert!(seen[..3].iter().all(Result::is_ok));
    assert!(matches!(
        &seen[3],
        Err(StreamError {
            fault: StreamFault::Torn,
            ..
        })
    ));
}

#[test]
fn a_writer_refuses_time_that_goes_back_and_writes_nothing() {
    let mut writer = StreamWriter::new(Vec::new(), &header()).unwrap();
    writer
        .event(&StreamEvent {
            at_us: 5,
            what: LineEvent::Rx(vec![1]),
        })
        .unwrap();
    assert!(
        writer
            .event(&StreamEvent {
                at_us: 4,
                what: LineEvent::Rx(vec![2])
            })
            .is_err()
    );
    let written = writer.finish().unwrap();
    assert_eq!(Stream::parse(&written).unwrap().events.len(), 1);
}

proptest::proptest! {
    #[test]
    fn random_text_never_panics(lines in proptest::collection::vec(".{0,40}", 0..5)) {
        let text = format!("{}\n{}\n", TEXT.lines().next().unwrap(), lines.join("\n"));
        let _ = Stream::parse(text.as_bytes());
    }
}
