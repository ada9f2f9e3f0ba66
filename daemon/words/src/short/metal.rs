//! The least metal that brings the chambers within what is allowed, and what becomes of the
//! compression by it.
//!
//! What is taken out cannot be put back, and every cubic centimetre lowers the compression: only
//! chambers that are too small for the largest are opened, and no further than they must.

use benchhand_blueprint::Figure;
use benchhand_blueprint::decide::{ChamberWork, VerdictAnswer};
use benchhand_blueprint::report::{FindingKind, Report, ToleranceName};

use super::document::{DoneAt, NextStep};
use super::steps::decided;
use crate::digits::rounded;
use crate::rows::numbers;
use crate::spots;

/// The side of a target on which too little compression is.
pub(super) const UNDER: &str = "under";

/// The chambers' work, where they differ by more than is allowed and nothing about them is in
/// doubt.
fn work(report: &Report) -> Option<&ChamberWork> {
    let outside = report.verdicts.iter().any(|one| {
        one.about == ToleranceName::ChamberSpread && one.answer == VerdictAnswer::Outside
    });
    let work = report.least_chambers.as_ref()?;
    let any = work.work.iter().any(|one| one.worth_it == Some(true));
    (outside && any && !doubted(report)).then_some(work)
}

/// Metal to take out of chambers.
pub(super) fn least(report: &Report, job: &str) -> Option<NextStep> {
    let work = work(report)?;
    let allowed = report.limits.chamber_spread.as_ref()?.value;
    let opened = work.work.iter().filter(|one| one.worth_it == Some(true));
    let opened: Vec<(u32, f64)> = opened.map(|one| (one.cylinder, one.remove.value)).collect();
    let amounts = opened.iter().map(|(_, cc)| *cc);
    let (least, most) = amounts.fold((f64::MAX, 0.0_f64), |(least, most), cc| {
        (least.min(cc), most.max(cc))
    });
    let amount = match rounded(least, 2) == rounded(most, 2) {
        true => rounded(most, 2),
        false => format!("{} to {}", rounded(least, 2), rounded(most, 2)),
    };
    let cylinders: Vec<u32> = opened.iter().map(|(cylinder, _)| *cylinder).collect();
    Some(NextStep {
        what: format!(
            "Chamber {} sets the size: take {amount} cc out of {}, the least that keeps to {} cc; then pour again",
            work.reference,
            numbers(&cylinders),
            rounded(allowed, 2)
        ),
        command: String::new(),
        more: becomes(report, work, job),
        place: Some(DoneAt::Decide("chambers", &[("equal", "allowed")])),
    })
}

/// What becomes of the compression, and of its target: "Compression becomes 10.43, 0.07 under the
/// target." Empty where neither is known.
fn becomes(report: &Report, work: &ChamberWork, job: &str) -> String {
    let target = report.limits.compression_target.as_ref();
    let Some(after) = &work.compression_after else {
        let unknown = "It lowers the compression; by how much is not known yet.";
        return target.map_or(String::new(), |_| unknown.to_owned());
    };
    let told = format!("Compression becomes {}", rounded(after.value, 2));
    let Some(target) = target else {
        let now = report.summary.compression_mean.as_ref();
        let now = now.map_or(String::new(), |now| {
            format!(" (now {})", rounded(now.value, 2))
        });
        return format!("{told}{now}.");
    };
    let (off, side) = against(after, target);
    if off == "0.00" {
        return format!("{told}, the target.");
    }
    let back = match side == UNDER && beyond(after, target) {
        true => format!(": `{}`", mill_opened(job)),
        false => String::new(),
    };
    format!("{told}, {off} {side} the target{back}.")
}

/// The command that tells the cut that is reckoned with the chambers opened as here.
pub(super) fn mill_opened(job: &str) -> String {
    decided("mill", job, "--opened allowed")
}

/// How far a compression is off its target, and on which side.
pub(super) fn against(compression: &Figure, target: &Figure) -> (String, &'static str) {
    let off = compression.value - target.value;
    let side = if off < 0.0 { UNDER } else { "over" };
    (rounded(off.abs(), 2), side)
}

/// Whether it is off by more than all that its own width may hide.
pub(super) fn beyond(compression: &Figure, target: &Figure) -> bool {
    let off = (compression.value - target.value).abs();
    let width = compression.expanded_assumed();
    width.is_some_and(|width| off > width)
}

/// The compression that the chambers' work leaves, where it is to be done.
pub(super) fn compression_after(report: &Report) -> Option<&Figure> {
    work(report)?.compression_after.as_ref()
}

fn doubted(report: &Report) -> bool {
    report.findings.iter().any(|one| {
        let doubt = matches!(
            one.kind,
            FindingKind::Disagrees
                | FindingKind::Open
                | FindingKind::Marked
                | FindingKind::Unrepeated
                | FindingKind::Missing
        );
        let mut spots = one.spot.split(", ");
        doubt && spots.any(|spot| spots::part(spot) == "chamber")
    })
}
