//! A thousand damaged versions of every recorded stream: nothing panics, no value is invented, and
//! the driver is in step again within one frame.

mod common;
mod spelled;

use benchhand_drivers::stream::{LineEvent, decode_stream, samples_of};
use benchhand_drivers::{DriverOptions, Sample, TalkMode, Unit};
use benchhand_testbed::stream::{Damage, Damaged, damage};
use common::{Case, cases};

/// Versions of each stream, spread over the kinds of damage.
const VERSIONS: u64 = 1_000;

/// The parts of a sample that do not depend on when it was decoded.
type Meaning = (u8, Option<u64>, Unit, benchhand_drivers::SampleStatus);

fn meaning(sample: &Sample) -> Meaning {
    (
        sample.channel,
        sample.value.map(f64::to_bits),
        sample.unit,
        sample.status,
    )
}

fn decode(case: &Case, damaged: &Damaged) -> Vec<Sample> {
    samples_of(&decode_stream(
        &damaged.stream,
        &case.profile,
        DriverOptions::default(),
    ))
}

fn versions() -> impl Iterator<Item = (Damage, u64)> {
    (0..VERSIONS).map(|seed| {
        let ways = u64::try_from(Damage::ALL.len()).unwrap();
        (Damage::ALL[usize::try_from(seed % ways).unwrap()], seed)
    })
}

#[test]
fn no_damage_invents_a_value() {
    for case in cases() {
        let truth: std::collections::HashSet<Meaning> = case.expected.iter().map(meaning).collect();
        let mut invented = 0;
        for (how, seed) in versions() {
            let damaged = damage(&case.stream, how, seed);
            for sample in decode(&case, &damaged) {
                if truth.contains(&meaning(&sample)) || sample.value.is_none() {
                    continue;
                }
                invented += 1;
                assert!(
                    spelled::spells(&case.name, &damaged.stream.received(), &sample),
                    "{} {how:?} seed {seed}: {sample:?} stands nowhere in the damaged bytes",
                    case.name
                );
            }
        }
        // If a CRC protects the frames, no damage may slip through.
        if spelled::is_protected_by_crc(&case.name) {
            assert_eq!(invented, 0, "{}", case.name);
        }
    }
}

#[test]
fn the_driver_is_in_step_again_within_one_frame() {
    for case in cases() {
        for (how, seed) in versions() {
            let damaged = damage(&case.stream, how, seed);
            let found: Vec<Meaning> = decode(&case, &damaged).iter().map(meaning).collect();
            if how == Damage::HungUp {
                let expected: Vec<Meaning> = case.expected.iter().map(meaning).collect();
                assert!(
                    expected.starts_with(&found),
                    "{} {how:?} seed {seed}",
                    case.name
                );
                continue;
            }
            let Some(rest) = undisturbed(&case, &damaged) else {
                continue;
            };
            let rest: Vec<Meaning> = rest.iter().map(meaning).collect();
            assert!(
                found.ends_with(&rest),
                "{} {how:?} seed {seed}: out of step after the damage: {:?} instead of {:?}",
                case.name,
                &found[found.len().saturating_sub(rest.len())..],
                rest
            );
        }
    }
}

/// The samples that the damage does not excuse: all after the damaged frame and the frame after
/// it. For a polled gauge, also after the answer that is withheld after a loss.
fn undisturbed<'a>(case: &'a Case, damaged: &Damaged) -> Option<&'a [Sample]> {
    let Some(last) = damaged.touched.last() else {
        return Some(&case.expected);
    };
    // A recorded gauge cannot repeat its start-up if the answer to it was damaged.
    let first_value = case.expected.first()?.at_us;
    let set_up_by = |at: &usize| damaged.stream.events[*at].at_us < first_value;
    if case.name == "set-up-volume" && damaged.touched.iter().any(set_up_by) {
        return None;
    }
    let at_us = damaged.stream.events[*last].at_us;
    let excused = if case.profile.mode() == TalkMode::Poll {
        3
    } else {
        2
    };
    let frames = frames_from(case, at_us);
    let from = frames.get(excused)?;
    Some(&case.expected[*from..])
}

/// The index of the first sample of each frame from this time on. Frames without samples (lost or
/// withheld answers) are in no list, so questions are counted too.
fn frames_from(case: &Case, at_us: u64) -> Vec<usize> {
    let mut starts = Vec::new();
    let mut before = None;
    for (index, sample) in case.expected.iter().enumerate() {
        if sample.at_us >= at_us && before != Some(sample.at_us) {
            starts.push(index);
        }
        before = Some(sample.at_us);
    }
    starts
}

#[test]
fn damage_is_damage() {
    for case in cases() {
        let whole = case.stream.received();
        let changed = (0..100)
            .filter(|seed| {
                damage(&case.stream, Damage::Flipped, *seed)
                    .stream
                    .received()
                    != whole
            })
            .count();
        assert!(changed > 95, "{}", case.name);
        assert!(
            case.stream
                .events
                .iter()
                .any(|event| matches!(event.what, LineEvent::Rx(_)))
        );
    }
}
