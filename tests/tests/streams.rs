//! The demo's recorded streams yield the same samples however they are cut into reads, and the
//! executable says so. (Every other stream of `recorded-streams/` is held against what must come
//! out of it in `drivers/tests/recorded_streams.rs`.)

use benchhand_drivers::stream::{Stream, StreamOrigin, decode_stream, samples_of};
use benchhand_drivers::{DriverOptions, Sample};
use benchhand_testbed::stream::recut;
use benchhand_tests::recorded::demo;
use benchhand_tests::shop::Shop;
use benchhand_tests::signals::shipped;
use benchhand_tests::tree::{files, root};
use serde_json::Value;

/// The demo's streams, by file name.
fn all() -> Vec<(String, Stream)> {
    let found = files(&root().join("recorded-streams/demo"), ".ndjson");
    let named = found.iter().map(|path| {
        let name = path
            .file_name()
            .expect("a file")
            .to_string_lossy()
            .into_owned();
        let stream = demo(&name);
        (name, stream)
    });
    let all: Vec<_> = named.collect();
    assert!(all.len() >= 8, "{}", all.len());
    all
}

fn samples(stream: &Stream) -> Vec<Sample> {
    let profile = shipped(&stream.header.profile);
    samples_of(&decode_stream(stream, &profile, DriverOptions::default()))
}

#[test]
fn the_demos_streams_say_that_they_are_synthesised() {
    for (name, stream) in all() {
        assert_eq!(stream.header.origin, StreamOrigin::Synthesised, "{name}");
    }
}

#[test]
fn byte_by_byte_and_cut_at_random_they_yield_the_same() {
    for (name, stream) in all() {
        let whole = samples(&stream);
        let received = stream.events.len();
        // A polled gauge is asked in every second event and answers with two channels.
        assert!(
            whole.len() * 10 > received * 9,
            "{name}: {} of {received}",
            whole.len()
        );
        assert!(whole.iter().all(|s| s.value.is_some()), "{name}");
        assert_eq!(samples(&recut(&stream, None)), whole, "{name} byte by byte");
        for seed in 0..5 {
            let found = samples(&recut(&stream, Some(seed)));
            assert_eq!(found, whole, "{name} cut with seed {seed}");
        }
    }
}

#[test]
fn the_executable_decodes_a_stream_to_the_same_samples_whole_and_cut() {
    let shop = Shop::new();
    let stream = demo("dial-deck-zero.ndjson");
    let truth = samples(&stream);
    for (name, stream) in [("whole", stream.clone()), ("cut", recut(&stream, Some(7)))] {
        let mut text = Vec::new();
        stream.write_to(&mut text).expect("it is written");
        let file = shop.file(name, &String::from_utf8(text).expect("UTF-8"));
        let ran = shop.program.run(&["play", &file, "--json"]).good();
        let found: Vec<Value> = ran
            .out
            .lines()
            .map(|line| serde_json::from_str(line).expect("one object a line"))
            .collect();
        assert_eq!(found.len(), truth.len(), "{name}");
        for (found, truth) in found.iter().zip(&truth) {
            assert_eq!(found["value"].as_f64(), truth.value, "{name}");
            assert_eq!(found["at_us"].as_u64(), Some(truth.at_us), "{name}");
            assert_eq!(found["unit"], truth.unit.symbol(), "{name}");
            assert_eq!(found["channel"], "length", "{name}");
        }
    }
    assert!(
        !shop.program.data().exists(),
        "a played stream keeps nothing"
    );
}
