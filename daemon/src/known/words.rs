//! What is said of the daemon's own facts: their numbers are handed to the words' package, which
//! makes the sentences.

use std::collections::BTreeMap;

use benchhand_blueprint::{Spot, Unit};
use benchhand_drivers::{DecodeTrouble, SampleStatus};
use benchhand_wire::SaidAs;
use benchhand_words::spoken::{self, ShownValue, in_unit};
use jiff::SignedDuration;

use crate::capture::{CaptureNote, CapturedValue};
use crate::store::fact::{CheckedGauge, DECIMALS, PartsCut, Reading};
use crate::store::notice::Notice;
use crate::store::view::{CutCorrection, JobStage, KeptReading};

pub use benchhand_words::spoken::{
    again, answers, called, decimals_of, done, engine_not_used, joined, next, no_third_round,
    not_kept, number, taken_up, third_round,
};

/// The value in its gauge's unit: what the gauge's own scale shows.
fn of_captured(taken: &CapturedValue) -> ShownValue<'_> {
    ShownValue {
        value: taken.value,
        unit: taken.unit.symbol(),
        step: taken.resolution,
    }
}

/// A value with its unit as a person is told it: in the unit `wanted`, where that is of its kind.
pub fn value(value: f64, unit: &str, step: Option<f64>, wanted: Option<Unit>) -> String {
    let (value, unit, step) = in_unit(value, unit, step, wanted);
    format!("{} {unit}", number(value, step))
}

/// A kept reading's value in the unit `wanted`: "64.21 cc".
pub fn shown_in(kept: &KeptReading, wanted: Option<Unit>) -> String {
    value(kept.value, &kept.unit, step_of(&kept.labels), wanted)
}

/// A reading that was taken, in the unit `wanted`.
pub fn taken(spot: &Spot, read: &Reading, step: Option<f64>, wanted: Option<Unit>) -> String {
    let (value, unit, step) = in_unit(read.value, &read.unit, step, wanted);
    spoken::reading_taken(spot, value, unit, step)
}

/// The smallest step worth showing of a reading: its gauge's count, or the last digit typed.
pub fn step_of(labels: &BTreeMap<String, String>) -> Option<f64> {
    let captured = labels
        .get(crate::store::fact::STEP)
        .and_then(|s| s.parse().ok());
    let typed = || {
        let decimals: i32 = labels.get(DECIMALS)?.parse().ok()?;
        Some(10f64.powi(-decimals))
    };
    captured.or_else(typed)
}

/// A held value was withdrawn.
pub fn withdrawn(spot: &Spot, why: &CaptureNote) -> String {
    spoken::withdrawn(spot, &why.to_string())
}

/// A value came after the last stop.
pub fn beyond_the_route(taken: &CapturedValue, wanted: Option<Unit>) -> String {
    spoken::beyond_the_route(of_captured(taken).told_in(wanted))
}

/// From where to where a burette's level went in each filling, what is left in it, and whether that
/// is enough for the next spot.
pub fn burette(
    left: Option<f64>,
    holds: Option<f64>,
    next: Option<(&Spot, f64)>,
    taken: &CapturedValue,
) -> String {
    spoken::burette(&taken.fills, left, holds, next, of_captured(taken))
}

/// What went into a chamber so far, where more must come.
pub fn so_far(spot: &Spot, taken: &CapturedValue, wanted: Option<Unit>) -> String {
    spoken::so_far(spot, of_captured(taken).told_in(wanted))
}

/// The levels between which a pour went; empty where the value was no pour.
pub fn levels(taken: &CapturedValue) -> String {
    spoken::levels(&taken.fills, taken.resolution)
}

/// How long ago something was: "3 weeks ago".
pub fn ago(passed: SignedDuration) -> String {
    spoken::ago(passed.as_hours())
}

/// A cut, with the stage that it opened.
pub fn cut(cut: &PartsCut) -> String {
    spoken::cut(&cut.stage, &cut.what, &cut.changes, &cut.cylinders)
}

/// What was said of a cut after it.
pub fn corrected(stage: &JobStage, said: &CutCorrection) -> String {
    match stage.cut.as_ref().filter(|_| said.stands) {
        Some(cut) => format!("corrected: {}", self::cut(cut)),
        None => format!("{}: the cut was taken back, {}", stage.name, said.reason),
    }
}

/// A check of a gauge.
pub fn checked(check: &CheckedGauge) -> String {
    spoken::checked(&check.gauge, &check.against, check.passed)
}

/// The status that a gauge sends, in words.
pub fn status(status: SampleStatus) -> String {
    let said = [
        (status.overrange, "beyond its range"),
        (status.hold, "display on hold"),
        (status.low_battery, "battery low"),
        (status.fault, "fault"),
    ];
    said.iter()
        .filter(|(is, _)| *is)
        .map(|(_, word)| *word)
        .collect::<Vec<_>>()
        .join(", ")
}

/// Why bytes gave no value, in words.
pub fn trouble(trouble: &DecodeTrouble) -> String {
    match trouble {
        DecodeTrouble::Skipped { bytes } => format!("{bytes} bytes fit no frame"),
        DecodeTrouble::Checksum { computed, stated } => {
            format!("checksum {stated:#x} stated, {computed:#x} computed")
        }
        DecodeTrouble::Unreadable(why) => format!("unreadable: {why}"),
        DecodeTrouble::Refused(why) => format!("the gauge refused: {why}"),
        DecodeTrouble::NoAnswer => "no answer in time".to_owned(),
        DecodeTrouble::LateAnswer => "an answer that came too late was thrown away".to_owned(),
        DecodeTrouble::Withheld => "the first answer after a lost one was thrown away".to_owned(),
        DecodeTrouble::Parity { bytes } => format!("{bytes} bytes with wrong parity"),
    }
}

/// How a note is told: most are only worth knowing, some ask for another try.
pub fn note_tone(note: &CaptureNote) -> SaidAs {
    match note {
        CaptureNote::TooFast { .. }
        | CaptureNote::PassesDisagree { .. }
        | CaptureNote::PoursOnHold { .. } => SaidAs::Again,
        _ => SaidAs::Note,
    }
}

/// What the index and its journals say of each other.
pub(crate) fn index_notice(notice: &Notice) -> String {
    match notice {
        Notice::BegunAnew { reason } => format!("the index was begun anew: {reason}"),
        Notice::InMemory { reason } => {
            format!("the index is kept in memory only, nothing is lost by it: {reason}")
        }
        Notice::Shortened { job, known, found } => format!(
            "the journal of {job} ends at entry {found}, but entry {known} had been kept: \
             something else shortened it; restore it from a copy"
        ),
        Notice::Gone { job } => format!("the job {job} is there no more"),
    }
}
