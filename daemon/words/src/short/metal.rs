//! The least metal that brings the chambers within what is allowed.
//!
//! What is taken out cannot be put back, and every cubic centimetre lowers the compression: only
//! chambers that are too small for the largest are opened, and no further than they must.

use benchhand_blueprint::decide::VerdictAnswer;
use benchhand_blueprint::report::{FindingKind, Report, ToleranceName};

use super::document::{DoneAt, NextStep};
use crate::digits::rounded;
use crate::rows::numbers;
use crate::spots;

/// Metal to take out where the chambers differ by more than is allowed and nothing about them is in
/// doubt.
pub(super) fn least(report: &Report) -> Option<NextStep> {
    let outside = report.verdicts.iter().any(|one| {
        one.about == ToleranceName::ChamberSpread && one.answer == VerdictAnswer::Outside
    });
    if !outside || doubted(report) {
        return None;
    }
    let allowed = report.limits.chamber_spread.as_ref()?.value;
    let chambers = report.cylinders.iter();
    let chambers: Vec<(u32, f64)> = chambers
        .filter_map(|one| Some((one.cylinder, one.chamber.as_ref()?.value)))
        .collect();
    let by_size = |a: &&(u32, f64), b: &&(u32, f64)| a.1.total_cmp(&b.1);
    let (largest, most) = chambers.iter().max_by(by_size)?;
    // Two chambers are known against each other to this much: the difference that is left keeps it
    // off the limit, so that the next round can show that it is kept to.
    let between = report.summary.between_cylinders.get("chamber");
    let between = between.map_or(0.0, |one| one.value).min(0.5 * allowed);
    let floor = most - allowed + between;
    let small = chambers
        .iter()
        .filter(|(_, size)| *size < most - allowed + 0.5 * between);
    let work: Vec<(u32, f64)> = small
        .map(|(cylinder, size)| (*cylinder, (100.0 * (floor - size)).ceil() / 100.0))
        .collect();
    let amounts = work.iter().map(|(_, cc)| *cc);
    let (least, most) = amounts.fold((f64::MAX, 0.0_f64), |(least, most), cc| {
        (least.min(cc), most.max(cc))
    });
    if work.is_empty() {
        return None;
    }
    let amount = match rounded(least, 2) == rounded(most, 2) {
        true => rounded(most, 2),
        false => format!("{} to {}", rounded(least, 2), rounded(most, 2)),
    };
    let cylinders: Vec<u32> = work.iter().map(|(cylinder, _)| *cylinder).collect();
    Some(NextStep {
        what: format!(
            "Chamber {largest} sets the size: take {amount} cc out of {}, then pour again",
            numbers(&cylinders)
        ),
        command: String::new(),
        more: format!(
            "That is the least that keeps to {} cc.",
            rounded(allowed, 2)
        ),
        place: Some(DoneAt::Decide("chambers")),
    })
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
