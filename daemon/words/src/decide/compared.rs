//! Two states beside each other, and ports against ports.

use blueprint::answers::{BeforeAfter, ComparedAnswer, ComparedCylinder, ComparedPort, OneSide};

use super::{blueprint, number};
use crate::digits::decimals_of;
use crate::rows::numbers;
use crate::stated::{LEGEND, both, half_width, width_told};

use crate::told::{ToldTable, ToldText};

/// A quantity: what people call it, its name in the answer, and its pair.
type Column = (
    &'static str,
    &'static str,
    fn(&ComparedCylinder) -> Option<BeforeAfter>,
);

const COLUMNS: [Column; 6] = [
    ("compression", "compression", |one| one.compression.clone()),
    ("chamber", "chamber", |one| one.chamber.clone()),
    ("deck clearance", "deck", |one| one.deck.clone()),
    ("dome/dish", "crown", |one| one.crown.clone()),
    ("total at TDC", "clearance", |one| one.clearance.clone()),
    ("quench", "quench", |one| one.quench.clone()),
];

/// The changed quantities before and after. Unchanged quantities are named.
pub(super) fn told(answer: &ComparedAnswer) -> ToldText {
    let mut told = ToldText::titled(format!("{} beside {}", answer.before, answer.after));
    for change in &answer.changes {
        told += format!("  {change}\n");
    }
    let (mut same, mut unknown) = (Vec::new(), Vec::new());
    for column in COLUMNS {
        let (name, _, get) = column;
        let pairs: Vec<BeforeAfter> = answer.cylinders.iter().filter_map(get).collect();
        if pairs.is_empty() {
            unknown.push(name);
        } else if pairs.iter().all(|pair| pair.difference.value == 0.0) {
            same.push(name);
        } else {
            told += "\n";
            told += quantity(answer, column);
        }
    }
    told += "\n";
    if let Some(over) = part(answer) {
        told.wrapped(
            "",
            &format!(
                "Mean and spread of the compression are over cylinders {over} on both sides: the others are not known on one of them."
            ),
        );
    }
    if !same.is_empty() {
        told.wrapped("", &format!("Unchanged: {}.", same.join(", ")));
    }
    if !unknown.is_empty() {
        told.wrapped(
            "",
            &format!("Not known on both sides: {}.", unknown.join(", ")),
        );
    }
    if !answer.flow.is_empty() {
        told += "\n";
        told += ports(&answer.flow, &answer.before);
    }
    told += super::mill::gaps(&answer.valve_gaps).as_str();
    for warning in &answer.warnings {
        told.wrapped("  * ", warning);
    }
    told += LEGEND;
    told += "\n";
    told
}

/// The cylinders that mean and spread are over, where these are not all.
fn part(answer: &ComparedAnswer) -> Option<String> {
    let (compared, all) = (answer.compared.len(), answer.cylinders.len());
    (compared > 0 && compared < all).then(|| numbers(&answer.compared))
}

fn quantity(answer: &ComparedAnswer, (name, key, get): Column) -> ToldTable {
    let unit_of_pair = answer
        .cylinders
        .iter()
        .find_map(get)
        .map_or(String::new(), |pair| pair.before.unit.to_string());
    let unit = match unit_of_pair.as_str() {
        "1" | "" => String::new(),
        unit => format!(", {unit}"),
    };
    let chosen = !answer.changes.is_empty();
    let heading = format!("{name}{unit}\ncylinder");
    let mut table = ToldTable::new(&[&heading, ">before", ">after", ">difference", "real"]);
    let mut row = |about: String, pair: Option<BeforeAfter>, side: Option<OneSide>| {
        let [before, after] = match (&pair, side) {
            (Some(pair), _) => [Some(pair.before.clone()), Some(pair.after.clone())],
            (None, Some(side)) => [side.before, side.after],
            (None, None) => [None, None],
        };
        let told = |one: Option<blueprint::Figure>| {
            one.map_or_else(|| "missing".to_owned(), |one| both(&one))
        };
        table.row(vec![
            about,
            told(before),
            told(after),
            pair.as_ref()
                .map_or_else(String::new, |pair| match pair.difference.u {
                    Some(0.0) if chosen => number(&pair.difference),
                    _ => both(&pair.difference),
                }),
            pair.as_ref()
                .map_or_else(String::new, |pair| match &pair.difference {
                    // A quantity that was set without a ± is not a measured difference.
                    difference
                        if chosen && difference.u == Some(0.0) && difference.value != 0.0 =>
                    {
                        "as set".to_owned()
                    }
                    difference => real(pair.real, difference, 1.0),
                }),
        ]);
    };
    for one in &answer.cylinders {
        let side = one.one_sided.get(key).cloned();
        row(one.cylinder.to_string(), get(one), side);
    }
    if name == "compression" {
        let over = part(answer).map_or(String::new(), |over| format!(" of {over}"));
        let (mean, spread) = (&answer.compression_mean, &answer.compression_spread);
        row(format!("mean{over}"), mean.clone(), None);
        row(format!("spread{over}"), spread.clone(), None);
    }
    table
}

/// Says whether a difference is real. Two sides that rest on the same readings are unchanged. If the
/// difference is more than the shown ±, but not more than the ± with what nobody stated, the wider ± is
/// said too. `scale` turns that ± into the shown unit.
fn real(real: Option<bool>, difference: &blueprint::Figure, scale: f64) -> String {
    if difference.value == 0.0 && difference.u == Some(0.0) {
        return "unchanged".to_owned();
    }
    let shown = half_width(difference);
    let beyond = shown.is_some_and(|width| difference.value.abs() > width);
    match (real, difference.assumed) {
        (Some(true), _) => "yes".to_owned(),
        (Some(false), Some(all)) if beyond => {
            let all = scale * all;
            let all = width_told(all, decimals_of(all));
            format!("too close to call (± {all} with the unstated)")
        }
        (Some(false), _) => "too close to call".to_owned(),
        (None, _) => "not judged".to_owned(),
    }
}

/// Ports against something, lift by lift, in percent.
pub(super) fn ports(ports: &[ComparedPort], against: &str) -> ToldText {
    let mut told = ToldText::titled(format!("Flow against {against}, in percent"));
    let unit = ports
        .iter()
        .find_map(|one| one.lifts.first())
        .map(|at| at.lift.unit.to_string())
        .unwrap_or_default();
    let lift = format!(">lift\n{unit}");
    let mut table = ToldTable::new(&[">cylinder", "port", &lift, ">difference\n%", "real"]);
    for one in ports {
        let port = named(one);
        for at in &one.lifts {
            table.row(vec![
                one.cylinder.to_string(),
                port.clone(),
                format!("{:.3}", at.lift.value),
                percent(&at.difference),
                real(at.real, &at.difference, 100.0),
            ]);
        }
    }
    told += table;
    for one in ports {
        let mean = one.mean.as_ref().map_or(String::new(), |mean| {
            format!(", mean over the listed lifts {} %", percent(mean))
        });
        let from = match &one.real_from {
            Some(lift) => format!("real from {:.3} {} up", lift.value, lift.unit),
            None => "no difference that is real up to the highest lift".to_owned(),
        };
        told.wrapped(
            "  ",
            &format!("cylinder {} {}: {from}{mean}", one.cylinder, named(one)),
        );
    }
    told
}

/// A share in percent: `+1.20 ± 0.80`.
fn percent(share: &blueprint::Figure) -> String {
    let width = half_width(share).map_or("?".to_owned(), |u| width_told(100.0 * u, 2));
    format!("{:+.2} ± {width}", 100.0 * share.value)
}

/// A port with its kind of runner.
fn named(port: &ComparedPort) -> String {
    match &port.runner {
        Some(runner) => format!("{} {runner}", port.port),
        None => port.port.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use benchhand_blueprint::{Figure, Unit};

    use super::real;

    #[test]
    fn what_rests_on_the_same_readings_is_unchanged_and_what_only_happens_to_agree_is_not() {
        let told = |value: f64, u: f64, is_real: bool| {
            let difference = Figure::new(value, Some(u), Unit::CubicCentimetre);
            real(Some(is_real), &difference, 1.0)
        };
        assert_eq!(told(0.0, 0.0, false), "unchanged");
        assert_eq!(told(0.0, 0.1, false), "too close to call");
        assert_eq!(told(0.1, 0.1, false), "too close to call");
        assert_eq!(told(0.5, 0.1, true), "yes");
    }
}
