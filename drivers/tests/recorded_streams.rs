//! Every stream of `recorded-streams/` yields the samples written beside it: whole, byte by byte,
//! and cut at random.

mod common;

use benchhand_drivers::stream::{Stream, decode_stream, samples_of};
use benchhand_drivers::{DriverOptions, ProfileRegistry, Sample};
use benchhand_testbed::stream::{Damage, damage, recut};
use common::{Case, cases};

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
    for name in ProfileRegistry::builtin().names() {
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
