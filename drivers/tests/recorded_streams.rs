//! Every stream of `recorded-streams/` yields what is written beside it: whole, byte by byte,
//! and cut at random.

use std::path::PathBuf;

use benchhand_drivers::stream::{Damage, Stream, damage, decode_stream, recut, samples_of};
use benchhand_drivers::{DriverOptions, Profile, Registry, Sample, Status};
use serde_json::Value;

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../recorded-streams")
}

struct Case {
    name: String,
    stream: Stream,
    profile: Profile,
    expected: Vec<Sample>,
}

fn cases() -> Vec<Case> {
    let registry = Registry::builtin();
    let mut names: Vec<String> = std::fs::read_dir(folder())
        .unwrap()
        .filter_map(|entry| entry.unwrap().file_name().into_string().ok())
        .filter_map(|name| name.strip_suffix(".ndjson").map(str::to_owned))
        .collect();
    names.sort();
    names
        .into_iter()
        .map(|name| case(name, &registry))
        .collect()
}

fn case(name: String, registry: &Registry) -> Case {
    let text = std::fs::read(folder().join(format!("{name}.ndjson"))).unwrap();
    let stream = Stream::parse(&text).unwrap_or_else(|error| panic!("{name}: {error}"));
    let profile = registry.get(&stream.header.profile).unwrap().clone();
    let text = std::fs::read_to_string(folder().join(format!("{name}.expected.json"))).unwrap();
    let expected: Value = serde_json::from_str(&text).unwrap();
    let expected = expected["samples"].as_array().unwrap();
    let expected = expected
        .iter()
        .map(|sample| sample_of(sample, &profile))
        .collect();
    Case {
        name,
        stream,
        profile,
        expected,
    }
}

fn sample_of(value: &Value, profile: &Profile) -> Sample {
    let name = value["channel"].as_str().unwrap();
    let channel = profile
        .channels()
        .iter()
        .position(|channel| channel.name == name)
        .unwrap();
    let says: Vec<&str> = value["says"]
        .as_array()
        .unwrap()
        .iter()
        .map(|word| word.as_str().unwrap())
        .collect();
    let says = |word| says.contains(&word);
    Sample {
        at_us: value["at_us"].as_u64().unwrap(),
        channel: u8::try_from(channel).unwrap(),
        value: value["value"].as_f64(),
        unit: value["unit"].as_str().unwrap().parse().unwrap(),
        resolution: value["resolution"].as_f64().unwrap(),
        status: Status {
            stable: match (says("stable"), says("unstable")) {
                (true, _) => Some(true),
                (_, true) => Some(false),
                _ => None,
            },
            overrange: says("overrange"),
            hold: says("hold"),
            low_battery: says("low-battery"),
            fault: says("fault"),
            button: profile.mode() == benchhand_drivers::Mode::Button,
        },
    }
}

fn check(case: &Case, stream: &Stream, how: &str) {
    let decoded = decode_stream(stream, &case.profile, DriverOptions::default());
    let samples = samples_of(&decoded);
    for (number, (found, expected)) in samples.iter().zip(&case.expected).enumerate() {
        assert_eq!(found, expected, "{} {how}: sample {number}", case.name);
    }
    assert_eq!(
        samples.len(),
        case.expected.len(),
        "{} {how}: {decoded:?}",
        case.name
    );
}

#[test]
fn every_profile_has_a_stream_and_no_stream_is_without_its_expectation() {
    let names: Vec<String> = cases().into_iter().map(|case| case.name).collect();
    for name in Registry::builtin().names() {
        assert!(
            names.iter().any(|known| known == name),
            "no stream of {name}"
        );
    }
    for case in cases() {
        assert!(
            case.expected.len() > 40,
            "{} yields too little to prove anything",
            case.name
        );
    }
}

#[test]
fn whole_streams_yield_what_they_must() {
    for case in cases() {
        check(&case, &case.stream, "whole");
    }
}

#[test]
fn streams_played_byte_by_byte_yield_the_same() {
    for case in cases() {
        check(&case, &recut(&case.stream, None), "byte by byte");
    }
}

#[test]
fn streams_cut_at_random_yield_the_same() {
    for case in cases() {
        for seed in 0..20 {
            check(
                &case,
                &recut(&case.stream, Some(seed)),
                &format!("cut with seed {seed}"),
            );
        }
    }
}

#[test]
fn merging_reads_changes_no_value() {
    for case in cases() {
        for seed in 0..20 {
            let merged = damage(&case.stream, Damage::Merged, seed).stream;
            let decoded = decode_stream(&merged, &case.profile, DriverOptions::default());
            let values = |samples: &[Sample]| -> Vec<_> {
                samples
                    .iter()
                    .map(|s| (s.channel, s.value, s.unit, s.status))
                    .collect()
            };
            assert_eq!(
                values(&samples_of(&decoded)),
                values(&case.expected),
                "{} merged with seed {seed}",
                case.name
            );
        }
    }
}
