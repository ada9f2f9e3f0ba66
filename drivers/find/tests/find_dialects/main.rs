//! Finds profiles for more than forty invented dialects that the finder does not know.

mod composed;
mod dialects;
mod harder;
mod on_a_port;

use std::io::Write as _;

use benchhand_drivers::{Profile, SerialFormat, SerialSettings, Unit};
use benchhand_find::{HeardBytes, ProfileCandidate, SURE, analyse};
use benchhand_testbed::gauge::garbled;
use dialects::{Dialect, Moment, all, ambiguous, moments};

/// The bytes that an 8N1 port hears of the dialect at the right speed.
fn heard(dialect: &Dialect, moments: &[Moment]) -> HeardBytes {
    let line = SerialSettings::new(dialect.line.baud, SerialFormat::N81);
    let reads = moments
        .iter()
        .map(|moment| {
            let at_us = u64::try_from(moment.number).unwrap() * dialect.period_ms * 1000;
            (
                at_us,
                garbled(&(dialect.say)(*moment), &dialect.line, &line),
            )
        })
        .collect();
    HeardBytes {
        line,
        reads,
        asked: None,
    }
}

/// Prints how many of the dialects were found. `docs/profile.md` has the figures.
fn tell(what: &str, all: usize, missed: &[String]) {
    let mut to = std::io::stderr();
    let _ = writeln!(to, "{what}: {} of {all}", all - missed.len());
    for one in missed {
        let one: String = one.chars().take(160).collect();
        let _ = writeln!(to, "  not: {one}");
    }
}

/// Whether a candidate is right in the points that matter.
struct Verdict {
    line: bool,
    field: bool,
    wrong_unit: bool,
}

fn verdict(dialect: &Dialect, found: &ProfileCandidate, moments: &[Moment]) -> Verdict {
    let truth: Option<Unit> = dialect.unit.map(|unit| unit.parse().unwrap());
    // The search ends between two frames, so the value is that of one of the last frames.
    let near = moments
        .iter()
        .rev()
        .take(6)
        .map(|moment| (dialect.value)(*moment));
    let value = found.last_value.unwrap_or(f64::NAN);
    Verdict {
        line: found.line == dialect.line,
        field: near.into_iter().any(|truth| (truth - value).abs() < 1e-9),
        wrong_unit: found.unit.is_some() && found.unit != truth,
    }
}

#[test]
fn analysis_finds_field_and_unit_of_nearly_every_dialect_and_is_never_sure_and_wrong() {
    let dialects = all();
    assert!(dialects.len() >= 40, "{}", dialects.len());
    let mut missed = Vec::new();
    for (seed, dialect) in (1..).zip(&dialects) {
        let moments = moments(seed, 45);
        let found = analyse(&[heard(dialect, &moments)]);
        let Some(best) = found.first() else {
            missed.push(format!("{}: nothing", dialect.name));
            continue;
        };
        let verdict = verdict(dialect, best, &moments);
        assert!(
            !(verdict.wrong_unit && best.confidence >= SURE),
            "{}: {best:?}",
            dialect.name
        );
        assert!(
            verdict.field || best.confidence < SURE,
            "{}: {best:?}",
            dialect.name
        );
        let unit_found = best.unit.is_some() == dialect.unit.is_some();
        if !(verdict.line && verdict.field && unit_found) {
            missed.push(format!(
                "{}: {:?} {:?} {:?}",
                dialect.name, best.last_value, best.unit, best.reasons
            ));
        }
        // The ordinary driver must accept the proposed profile.
        Profile::parse(&best.profile, dialect.name).unwrap_or_else(|error| panic!("{error}"));
    }
    tell("analysis of written dialects", dialects.len(), &missed);
    assert!(missed.len() * 20 <= dialects.len(), "{}", missed.join("\n"));
}

/// A port that is opened in the middle of a frame hears nonsense first.
#[test]
fn nonsense_before_the_first_whole_frame_changes_nothing() {
    let mut missed = Vec::new();
    let dialects = all();
    for (seed, dialect) in (1..).zip(&dialects) {
        let moments = moments(seed, 45);
        let mut heard = heard(dialect, &moments);
        heard.reads[0].1 = harder::out_of_step(&heard.reads[0].1);
        let found = analyse(&[heard]);
        let right = found.first().is_some_and(|best| {
            let verdict = verdict(dialect, best, &moments);
            let sound = verdict.line && verdict.field && !verdict.wrong_unit;
            assert!(
                sound || best.confidence < SURE,
                "{}: {best:?}",
                dialect.name
            );
            sound
        });
        if !right {
            missed.push(format!("{}: {:?}", dialect.name, found.first()));
        }
    }
    tell("opened in the midst of a frame", dialects.len(), &missed);
    assert!(missed.len() * 20 <= dialects.len(), "{}", missed.join("\n"));
}

#[test]
fn most_findings_are_sure() {
    let dialects = all();
    let mut unsure = Vec::new();
    for (seed, dialect) in (1..).zip(&dialects) {
        let found = analyse(&[heard(dialect, &moments(seed, 45))]);
        if found.first().is_none_or(|best| best.confidence < SURE) {
            unsure.push(format!(
                "{}: {:?}",
                dialect.name,
                found.first().map(|best| (best.confidence, &best.reasons))
            ));
        }
    }
    tell("sure of written dialects", dialects.len(), &unsure);
    assert!(unsure.len() * 5 <= dialects.len(), "{}", unsure.join("\n"));
}

#[test]
fn what_the_bytes_do_not_decide_is_never_claimed() {
    for (seed, dialect) in (100..).zip(ambiguous()) {
        for again in 0..5 {
            let moments = moments(seed + 1000 * again, 45);
            let found = analyse(&[heard(&dialect, &moments)]);
            let Some(best) = found.first() else { continue };
            let verdict = verdict(&dialect, best, &moments);
            assert!(
                best.confidence < SURE || (verdict.field && best.unit.is_none()),
                "{}: {best:?}",
                dialect.name
            );
            assert!(
                !verdict.wrong_unit || best.confidence < SURE,
                "{}: {best:?}",
                dialect.name
            );
        }
    }
}

#[test]
fn another_speed_is_never_taken_for_the_right_one() {
    for (seed, dialect) in (1..).zip(all()) {
        let moments = moments(seed, 45);
        for baud in [1200, 2400, 4800, 9600, 19_200, 38_400, 57_600, 115_200] {
            if baud == dialect.line.baud {
                continue;
            }
            let line = SerialSettings::new(baud, SerialFormat::N81);
            let mut wrong = heard(&dialect, &moments);
            wrong.line = line;
            for (read, moment) in wrong.reads.iter_mut().zip(&moments) {
                read.1 = garbled(&(dialect.say)(*moment), &dialect.line, &line);
            }
            let found = analyse(&[wrong]);
            assert!(
                found.iter().all(|c| c.confidence < 0.5),
                "{} at {baud}: {found:?}",
                dialect.name
            );
        }
    }
}

/// Dialects composed at random: nearly all are read rightly, and none is read wrongly with
/// confidence.
#[test]
fn composed_dialects_are_read_rightly_or_not_claimed() {
    const COUNT: u64 = 600;
    let line = SerialSettings::new(9600, SerialFormat::N81);
    let mut missed = Vec::new();
    for seed in 0..COUNT {
        let composed = composed::Composed::draw(seed);
        let moments = moments(seed + 5_000, 45);
        let read = |m: &Moment| (u64::try_from(m.number).unwrap() * 100_000, composed.say(*m));
        let reads = moments.iter().map(read).collect();
        let found = analyse(&[HeardBytes {
            line,
            reads,
            asked: None,
        }]);
        let scale = 10f64.powi(i32::try_from(composed.decimals).unwrap());
        let truth = f64::from(i32::try_from(moments[44].count).unwrap()) / scale;
        let before = f64::from(i32::try_from(moments[43].count).unwrap()) / scale;
        let unit: Option<Unit> = composed.unit().map(|unit| unit.parse().unwrap());
        let Some(best) = found.first() else {
            missed.push(format!("{seed}: nothing: {composed:?}"));
            continue;
        };
        let value = best.last_value.unwrap_or(f64::NAN);
        let right = (value - truth).abs() < 1e-9 || (value - before).abs() < 1e-9;
        let sure = best.confidence >= SURE;
        assert!(right || !sure, "seed {seed}: {composed:?} {best:?}");
        assert!(
            best.unit.is_none() || best.unit == unit || !sure,
            "seed {seed}: {composed:?} {best:?}"
        );
        if !right || (unit.is_some() && best.unit.is_none()) {
            missed.push(format!(
                "{seed}: {:?} {:?} {composed:?}",
                best.last_value, best.unit
            ));
        }
    }
    tell("analysis of composed dialects", 600, &missed);
    assert!(
        missed.len() * 50 <= usize::try_from(COUNT).unwrap(),
        "{} of {COUNT}\n{}",
        missed.len(),
        missed.join("\n")
    );
}

#[test]
fn noise_is_nothing() {
    let mut random = benchhand_testbed::SplitMix64::new(5);
    for _ in 0..20 {
        let reads = (0..60)
            .map(|n| (n * 20_000, (0..12).map(|_| random.byte()).collect()))
            .collect();
        let found = analyse(&[HeardBytes {
            line: SerialSettings::new(9600, SerialFormat::N81),
            reads,
            asked: None,
        }]);
        assert!(found.iter().all(|c| c.confidence < 0.5), "{found:?}");
    }
}
