//! The crown to order.

use blueprint::answers::DomeAnswer;

use super::blueprint;
use crate::stated::{LEGEND, bare, both, sentence};

use crate::told::{ToldTable, ToldText};

/// The order with its sign given in two ways, its tolerance, and the result for each cylinder.
pub(super) fn told(answer: &DomeAnswer) -> ToldText {
    let value = answer.crown.value;
    let volume = bare(&blueprint::Figure::bare(value.abs(), answer.crown.unit));
    let shape = match value < 0.0 {
        true => format!("a dish of {volume}"),
        false => format!("a dome of {volume}"),
    };
    let mut told = ToldText::titled(format!(
        "Dome or dish to order for a compression of {}:1",
        answer.target.value
    ));
    told += format!(
        "  {} where a dome is positive: {shape}\n  {} where a catalogue counts a dish as positive\n",
        sentence(&answer.crown),
        sentence(&answer.crown_dish_positive),
    );
    told.wrapped("", &tolerance(answer));
    if let Some(ratio) = &answer.ratio_tolerance {
        each(&mut told, answer, ratio.value);
    }
    for warning in &answer.warnings {
        told.wrapped("  * ", warning);
    }
    let mut table = ToldTable::new(&[
        ">cylinder",
        ">volume that it wants\ncc, dome positive",
        ">compression with\nthe one piston",
        ">off the\ntarget",
    ]);
    for one in &answer.cylinders {
        table.row(vec![
            one.cylinder.to_string(),
            both(&one.crown),
            both(&one.compression),
            format!("{:+.3}", one.off_target.value),
        ]);
    }
    told += "\n";
    told += table;
    told += LEGEND;
    told += "\n";
    told
}

/// The tolerance to write on the order, or why there is none.
pub fn tolerance(answer: &DomeAnswer) -> String {
    match (&answer.ratio_tolerance, &answer.allowed, &answer.tolerance) {
        (Some(ratio), Some(allowed), Some(left)) => {
            let (pistons, a_ratio) = match answer.cylinders.len() {
                1 => ("the one piston", "a ratio"),
                _ => ("the mean of the cylinders", "a mean ratio"),
            };
            format!(
                "Tolerance to write on the order: ± {} for {pistons} ({a_ratio} off by {} allows {}; twice the uncertainty of the volumes is taken off)",
                bare(left),
                ratio.value,
                bare(allowed),
            )
        }
        (Some(ratio), Some(allowed), None) if answer.crown.u.is_none() => format!(
            "Tolerance to write on the order: not known, since the uncertainty of the volume is not (a ratio off by {} allows {} in all)",
            ratio.value,
            bare(allowed),
        ),
        (Some(ratio), Some(allowed), None) => format!(
            "No tolerance is left for the maker: a ratio off by {} allows {} in all, and the volumes are not known as well as that. Measure them again before you order.",
            ratio.value,
            bare(allowed),
        ),
        _ => "No tolerance is told: how far the ratio may be off is not stated.".to_owned(),
    }
}

/// The meaning of the tolerance for each cylinder.
fn each(told: &mut ToldText, answer: &DomeAnswer, ratio: f64) {
    let beyond = |cylinder: u32| answer.beyond.contains(&cylinder);
    for one in answer.cylinders.iter().filter(|one| beyond(one.cylinder)) {
        told.wrapped(
            "  * ",
            &format!(
                "cylinder {} is off by {:+.3} with a perfect piston, more than {ratio}: no tolerance of the one piston brings it in. Order a piston of its own for it ({}), or bring its chamber to the others' first.",
                one.cylinder,
                one.off_target.value,
                sentence(&one.crown)
            ),
        );
    }
    if !answer.beyond.is_empty() {
        return;
    }
    let text = match &answer.tolerance_each {
        Some(left) => format!(
            "So that each cylinder by itself keeps to {ratio}: ± {}",
            bare(left)
        ),
        None => format!(
            "No tolerance is left with which each cylinder by itself is sure to keep to {ratio}."
        ),
    };
    told.wrapped("", &text);
}
