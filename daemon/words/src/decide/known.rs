//! The basis of figures: the next reading, sensitivities, the way to a target, the effective
//! ratio, simulated figures.

use blueprint::answers::{
    EffectiveAnswer, NextAnswer, SensitivitiesAnswer, SimulateAnswer, TargetAnswer,
};

use super::{blueprint, both_or, count};
use crate::digits::rounded_like_u;
use crate::stated::{LEGEND, bare, both, sentence, unit_after};

use crate::told::{ToldTable, ToldText};

/// How many standard uncertainties a ± of 95 % has, where no degrees of freedom are told with it.
const K: f64 = 2.0;

/// The figures that each further reading would improve.
pub(super) fn next(answer: &NextAnswer) -> ToldText {
    let mut told = ToldText::titled("The reading that would tell most, taken once more");
    for goal in &answer.goals {
        told += "\n";
        told.title(goal.goal.to_string().replace('_', " "));
        if let Some(none) = &goal.none {
            told.wrapped("  ", none);
        }
        for one in &goal.readings {
            let (now, after) = apart(K * one.u_now.value, K * one.u_after.value);
            told += format!(
                "  {:<20} ± falls by {:.1} %, from {now} to {after}{} (it has {} now)\n",
                one.spot,
                100.0 * (1.0 - one.u_after.value / one.u_now.value),
                unit_after(one.u_now.unit),
                count(one.readings, "reading", "readings"),
            );
        }
    }
    told
}

/// A number with at most so many decimals, without zeros at its end: sums in binary carry noise
/// beyond the last place that anybody chose.
fn digits(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// A chosen value with its unit and all the digits that it was chosen with.
fn bare_to(figure: &blueprint::Figure, decimals: usize) -> String {
    let unit = unit_after(figure.unit);
    format!("{}{unit}", digits(figure.value, decimals))
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
pub(super) fn sensitivities(answer: &SensitivitiesAnswer) -> ToldText {
    let mut table = ToldTable::new(&["input", ">a step of", ">changes it by", ">its own ± makes"]);
    for one in &answer.inputs {
        table.row(vec![
            one.input.to_string(),
            bare_to(&one.step, 6),
            format!("{:+.4}", one.change.value),
            one.contribution.clone().map_or_else(
                || "?".to_owned(),
                |u| match u.value > 0.0 {
                    true => rounded_like_u(K * u.value),
                    false => "0".to_owned(),
                },
            ),
        ]);
    }
    let mut told = ToldText::titled(format!(
        "What the compression of cylinder {} answers to,",
        answer.cylinder
    ));
    told += "  what makes most of its uncertainty first, inputs of unknown ± (?) last\n";
    told += format!("  it is {}\n", sentence(&answer.compression));
    told += table;
    told
}

/// The difference between each cylinder and the target.
pub(super) fn target(answer: &TargetAnswer) -> ToldText {
    let mut table = ToldTable::new(&[
        ">cylinder",
        ">compression",
        ">total at TDC\nwanted, cc",
        ">to take away\ncc",
    ]);
    for one in &answer.cylinders {
        table.row(vec![
            one.cylinder.to_string(),
            both(&one.compression),
            both(&one.clearance_wanted),
            both(&one.remove),
        ]);
    }
    let mut told = ToldText::titled(format!(
        "What separates each cylinder from a compression of {}:1",
        answer.target.value
    ));
    told += "  a volume below 0 is to be added\n";
    told += table;
    told += LEGEND;
    told += "\n";
    told
}

/// The effective ratios, with the lift at which the closing is quoted.
pub(super) fn effective(answer: &EffectiveAnswer) -> ToldText {
    let mut table = ToldTable::new(&[">cylinder", ">compression", ">effective"]);
    for one in &answer.cylinders {
        table.row(vec![
            one.cylinder.to_string(),
            both(&one.compression),
            both(&one.effective),
        ]);
    }
    let mut told = ToldText::titled("Effective compression");
    told += format!(
        "  the intake valve closes {} after bottom dead centre,\n  quoted at {} of lift\n",
        bare(&answer.closing),
        bare(&answer.at_lift),
    );
    told += table;
    told += LEGEND;
    told += "\n";
    told
}

/// Figures by first order and by simulation beside each other.
pub(super) fn simulated(answer: &SimulateAnswer) -> ToldText {
    let mut table = ToldTable::new(&[
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
            (Some((low, high)), _) => {
                format!("{} to {}", digits(low.value, 6), digits(high.value, 6))
            }
            (None, _) => "?".to_owned(),
        };
        table.row(vec![
            one.about.replace('_', " "),
            both(&one.first_order),
            match one.simulated {
                Some(_) => both_or(one.simulated.as_ref()),
                None => "?".to_owned(),
            },
            interval,
            unit_after(one.first_order.unit).trim().to_owned(),
        ]);
    }
    let mut told = ToldText::titled(format!(
        "By simulation: {} draws, seed {}",
        answer.trials, answer.seed
    ));
    told += table;
    told += LEGEND;
    told += "\n";
    told
}
