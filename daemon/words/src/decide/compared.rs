//! Two states beside each other, and ports against ports.

use blueprint::answers::{BeforeAfter, ComparedAnswer, ComparedCylinder, ComparedPort};

use super::{blueprint, number};
use crate::stated::{LEGEND, both, half_width};

use crate::told::{ToldTable, ToldText};

type Column = (&'static str, fn(&ComparedCylinder) -> Option<BeforeAfter>);

const COLUMNS: [Column; 6] = [
    ("compression", |one| one.compression.clone()),
    ("chamber", |one| one.chamber.clone()),
    ("deck clearance", |one| one.deck.clone()),
    ("dome/dish", |one| one.crown.clone()),
    ("total at TDC", |one| one.clearance.clone()),
    ("quench", |one| one.quench.clone()),
];

/// The changed quantities before and after. Unchanged quantities are named.
pub(super) fn told(answer: &ComparedAnswer) -> ToldText {
    let mut told = ToldText::titled(format!("{} beside {}", answer.before, answer.after));
    for change in &answer.changes {
        told += format!("  {change}\n");
    }
    let (mut same, mut unknown) = (Vec::new(), Vec::new());
    for (name, get) in COLUMNS {
        let pairs: Vec<BeforeAfter> = answer.cylinders.iter().filter_map(get).collect();
        if pairs.is_empty() {
            unknown.push(name);
        } else if pairs.iter().all(|pair| pair.difference.value == 0.0) {
            same.push(name);
        } else {
            told += "\n";
            told += quantity(answer, name, get);
        }
    }
    told += "\n";
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

fn quantity(
    answer: &ComparedAnswer,
    name: &str,
    get: fn(&ComparedCylinder) -> Option<BeforeAfter>,
) -> ToldTable {
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
    let mut row = |about: String, pair: Option<BeforeAfter>| {
        let missing = || "missing".to_owned();
        let of = |get: fn(BeforeAfter) -> blueprint::Figure| {
            pair.clone().map_or_else(missing, |pair| both(&get(pair)))
        };
        table.row(vec![
            about,
            of(|pair| pair.before),
            of(|pair| pair.after),
            pair.as_ref()
                .map_or_else(missing, |pair| match pair.difference.u {
                    Some(0.0) if chosen => number(&pair.difference),
                    _ => both(&pair.difference),
                }),
            pair.as_ref()
                .map_or("", |pair| match &pair.difference {
                    // A quantity that was set without a ± is not a measured difference.
                    difference
                        if chosen && difference.u == Some(0.0) && difference.value != 0.0 =>
                    {
                        "as set"
                    }
                    _ => real(pair.real),
                })
                .to_owned(),
        ]);
    };
    for one in &answer.cylinders {
        row(one.cylinder.to_string(), get(one));
    }
    if name == "compression" {
        row("mean".to_owned(), answer.compression_mean.clone());
        row("spread".to_owned(), answer.compression_spread.clone());
    }
    table
}

fn real(real: Option<bool>) -> &'static str {
    match real {
        Some(true) => "yes",
        Some(false) => "too close to call",
        None => "not judged",
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
                real(at.real).to_owned(),
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
    let width = half_width(share).map_or_else(|| "?".to_owned(), |u| format!("{:.2}", 100.0 * u));
    format!("{:+.2} ± {width}", 100.0 * share.value)
}

/// A port with its kind of runner.
fn named(port: &ComparedPort) -> String {
    match &port.runner {
        Some(runner) => format!("{} {runner}", port.port),
        None => port.port.to_string(),
    }
}
