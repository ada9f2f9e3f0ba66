//! The crown to order.

use blueprint::answers::DomeAnswer;

use super::{blueprint, said, shown};
use crate::show::figure::{LEGEND, plain};
use crate::show::table::Table;
use crate::show::wrapped;

/// The order with its sign given in two ways, its tolerance, and the result for each cylinder.
pub(super) fn text(answer: &DomeAnswer) -> String {
    let value = answer.crown.value;
    let shape = if value < 0.0 {
        format!("a dish of {}", plain(-value, "cc"))
    } else {
        format!("a dome of {}", plain(value, "cc"))
    };
    let mut text = format!(
        "Crown to order for a compression of {} to 1\n  {} where a dome is positive: {shape}\n  {} where a catalogue counts a dish as positive\n",
        answer.target.value,
        said(answer.crown.clone()),
        said(answer.crown_dish_positive.clone()),
    );
    let tolerance = match (
        answer.ratio_tolerance.clone(),
        answer.allowed.clone(),
        answer.tolerance.clone(),
    ) {
        (Some(ratio), Some(allowed), Some(left)) => format!(
            "Tolerance to write on the order: ± {} for the mean of the cylinders (a mean ratio off by {} allows {}; twice the uncertainty of the volumes is taken off)\n",
            plain(left.value, "cc"),
            ratio.value,
            plain(allowed.value, "cc"),
        ),
        (Some(ratio), Some(allowed), None) if answer.crown.u.is_none() => format!(
            "Tolerance to write on the order: not known, since the crown's uncertainty is not (a ratio off by {} allows {} in all)\n",
            ratio.value,
            plain(allowed.value, "cc"),
        ),
        (Some(ratio), Some(allowed), None) => format!(
            "No tolerance is left for the maker: a ratio off by {} allows {} in all, and the volumes are not known as well as that. Measure them again before you order.\n",
            ratio.value,
            plain(allowed.value, "cc"),
        ),
        _ => "No tolerance: say with --ratio-tolerance how far a ratio may be off.\n".to_owned(),
    };
    text += &wrapped("", &tolerance);
    if let Some(ratio) = answer.ratio_tolerance.clone() {
        text += &each(answer, ratio.value);
    }
    for warning in &answer.warnings {
        text += &wrapped("  * ", warning);
    }
    let mut table = Table::new(&[
        ">cylinder",
        ">crown that it wants\ncc, dome positive",
        ">compression with\nthe one crown",
        ">off the\ntarget",
    ]);
    for one in &answer.cylinders {
        table.row(vec![
            one.cylinder.to_string(),
            shown(one.crown.clone()),
            shown(one.compression.clone()),
            format!("{:+.3}", one.off_target.value),
        ]);
    }
    text + "\n" + &table.text() + LEGEND + "\n"
}

/// The meaning of the tolerance for each cylinder.
fn each(answer: &DomeAnswer, ratio: f64) -> String {
    let mut text = String::new();
    for one in &answer.cylinders {
        if answer.beyond.contains(&one.cylinder) {
            text += &wrapped(
                "  * ",
                &format!(
                    "cylinder {} is off by {:+.3} with a perfect crown, more than {ratio}: no tolerance of the one crown brings it in. Order a crown of its own for it ({}), or bring its chamber to the others' first.",
                    one.cylinder,
                    one.off_target.value,
                    said(one.crown.clone())
                ),
            );
        }
    }
    if answer.beyond.is_empty() {
        text += &match answer.tolerance_each.clone() {
            Some(left) => wrapped(
                "",
                &format!(
                    "So that each cylinder by itself keeps to {ratio}: ± {}",
                    plain(left.value, "cc")
                ),
            ),
            None => wrapped(
                "",
                &format!(
                    "No tolerance is left with which each cylinder by itself is sure to keep to {ratio}."
                ),
            ),
        };
    }
    text
}
