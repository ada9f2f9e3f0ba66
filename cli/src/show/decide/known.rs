//! The basis of figures: the next reading, sensitivities, the way to a target, the effective
//! ratio, simulated figures.

use blueprint::answers::{
    EffectiveAnswer, NextAnswer, SensitivitiesAnswer, SimulateAnswer, TargetAnswer,
};

use super::{bare, blueprint, said, shown, shown_or};
use crate::show::figure::{LEGEND, rounded_like_u, unit_after};
use crate::show::table::Table;
use crate::show::wrapped;

/// The figures that each further reading would improve.
pub(super) fn next(answer: &NextAnswer) -> String {
    let mut text = "The reading that would tell most, taken once more\n".to_owned();
    for goal in &answer.goals {
        text += &format!("\n{}\n", goal.goal.to_string().replace('_', " "));
        if let Some(none) = &goal.none {
            text += &wrapped("  ", none);
        }
        for one in &goal.readings {
            let (now, after) = apart(one.u_now.value, one.u_after.value);
            text += &format!(
                "  {:<20} u falls by {:.1} %, from {} to {}{} (it has {} now)\n",
                one.spot,
                100.0 * (1.0 - one.u_after.value / one.u_now.value),
                now,
                after,
                unit_after(&one.u_now.unit.to_string()),
                crate::show::count(one.readings, "reading", "readings"),
            );
        }
    }
    text
}

/// Two uncertainties with enough digits to tell them apart.
fn apart(now: f64, after: f64) -> (String, String) {
    let places = |text: &str| text.split_once('.').map_or(0, |(_, after)| after.len());
    let (a, b) = (rounded_like_u(now), rounded_like_u(after));
    let usual = places(&a).max(places(&b));
    (usual..usual + 6)
        .map(|places| (format!("{now:.places$}"), format!("{after:.places$}")))
        .find(|(now, after)| now != after)
        .unwrap_or((a, b))
}

/// The inputs. The largest contribution to the uncertainty comes first.
pub(super) fn sensitivities(answer: &SensitivitiesAnswer) -> String {
    let mut table = Table::new(&["input", ">a step of", ">changes it by", ">its own u makes"]);
    for one in &answer.inputs {
        table.row(vec![
            one.input.to_string(),
            format!("{} {}", one.step.value, one.step.unit),
            format!("{:+.4}", one.change.value),
            one.contribution.clone().map_or_else(
                || "?".to_owned(),
                |u| match u.value > 0.0 {
                    true => rounded_like_u(u.value),
                    false => "0".to_owned(),
                },
            ),
        ]);
    }
    format!(
        "What the compression of cylinder {} answers to,\n  what makes most of its uncertainty first, inputs of unknown u (?) last\n  it is {}\n{}",
        answer.cylinder,
        said(answer.compression.clone()),
        table.text()
    )
}

/// The difference between each cylinder and the target.
pub(super) fn target(answer: &TargetAnswer) -> String {
    let mut table = Table::new(&[
        ">cylinder",
        ">compression",
        ">clearance volume\nwanted, cc",
        ">to take away\ncc",
    ]);
    for one in &answer.cylinders {
        table.row(vec![
            one.cylinder.to_string(),
            shown(one.compression.clone()),
            shown(one.clearance_wanted.clone()),
            shown(one.remove.clone()),
        ]);
    }
    format!(
        "What separates each cylinder from a compression of {} to 1\n  a volume below 0 is to be added\n{}{LEGEND}\n",
        answer.target.value,
        table.text()
    )
}

/// The effective ratios, with the lift at which the closing is quoted.
pub(super) fn effective(answer: &EffectiveAnswer) -> String {
    let mut table = Table::new(&[">cylinder", ">compression", ">effective"]);
    for one in &answer.cylinders {
        table.row(vec![
            one.cylinder.to_string(),
            shown(one.compression.clone()),
            shown(one.effective.clone()),
        ]);
    }
    format!(
        "Effective compression\n  the intake valve closes {} after bottom dead centre,\n  quoted at {} of lift\n{}{LEGEND}\n",
        bare(answer.closing.clone()),
        bare(answer.at_lift.clone()),
        table.text()
    )
}

/// Figures by first order and by simulation beside each other.
pub(super) fn simulated(answer: &SimulateAnswer) -> String {
    let mut table = Table::new(&[
        "figure",
        ">by first order",
        ">simulated",
        ">middle 95 %",
        "unit",
    ]);
    for one in &answer.figures {
        let interval = match (
            one.interval.clone(),
            one.simulated.clone().and_then(|figure| figure.u),
        ) {
            (Some((low, high)), Some(u)) if u > 0.0 => {
                let places = rounded_like_u(u)
                    .split_once('.')
                    .map_or(0, |(_, after)| after.len());
                format!("{:.places$} to {:.places$}", low.value, high.value)
            }
            (Some((low, high)), _) => format!("{} to {}", low.value, high.value),
            (None, _) => "?".to_owned(),
        };
        table.row(vec![
            one.about.replace('_', " "),
            shown(one.first_order.clone()),
            match one.simulated {
                Some(_) => shown_or(one.simulated.clone()),
                None => "?".to_owned(),
            },
            interval,
            unit_after(&one.first_order.unit.to_string())
                .trim()
                .to_owned(),
        ]);
    }
    format!(
        "By simulation: {} draws, seed {}\n{}{LEGEND}\n",
        answer.trials,
        answer.seed,
        table.text()
    )
}
