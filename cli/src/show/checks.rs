//! The results of checks of gauges and of a flow bench.

use benchhand_wire::{Compared, LeakChecked, PlateChecked};

use super::figure::{cell, plain, plain_apart, rounded_like_u, unit_after};
use super::table::Table;

/// A check by several comparisons.
pub(crate) fn compared(name: &str, answer: &Compared) -> String {
    let unit = &answer.unit;
    let mut headings = vec![">true", ">shown", ">off by", ">after correction"];
    // Only a live gauge shows what it wavers by.
    let live = answer.points.iter().any(|point| point.scatter.is_some());
    if live {
        headings.push(">scatter");
    }
    let mut table = Table::new(&headings);
    for point in &answer.points {
        let mut row = vec![
            plain(point.truth.value, unit),
            plain(point.shown.value, unit),
            plain(point.error, unit),
            plain(point.left, unit),
        ];
        if live {
            let said = |sd: f64| format!("{}{}", rounded_like_u(sd), unit_after(unit));
            row.push(point.scatter.map_or_else(String::new, said));
        }
        table.row(row);
    }
    let verdict = if answer.passed { "passed" } else { "FAILED" };
    let mut text = table.text();
    let [worst, allow] = plain_apart(answer.passed, answer.worst, answer.allow, unit);
    text += &format!(
        "{name} {verdict}: off by up to {worst}, allowed {allow} (entry {}).\n",
        answer.id
    );
    if let Some(repeat) = answer.repeat {
        let repeat = rounded_like_u(repeat);
        text += &format!(
            "It repeats within {repeat}{} (one standard deviation).\n",
            unit_after(unit)
        );
    }
    let correction = &answer.correction;
    let u = correction.u.map_or_else(
        || "u not known: nothing was said of the masters".to_owned(),
        |u| format!("u {}{}", rounded_like_u(u), unit_after(unit)),
    );
    let scale = match answer.scale.value {
        0.0 => String::new(),
        scale => format!(" and {:+.4} %", 100.0 * scale),
    };
    text += &if answer.taken_over {
        format!(
            "From now on {}{scale} is added to {}; {u}.\n",
            plain(correction.value, unit),
            answer.counted
        )
    } else {
        format!(
            "It stays off by up to {} however it is corrected: the register is as it was. Have it \
             mended, or allow more.\n",
            plain(answer.left, unit)
        )
    };
    text + &marked(&answer.marked_numbers)
}

fn marked(numbers: &[String]) -> String {
    if numbers.is_empty() {
        return String::new();
    }
    format!(
        "Readings since the last good check are marked: {}. Take them again, or void them with the \
         reason.\n",
        numbers.join(", ")
    )
}

/// A plate on the flow bench.
pub(crate) fn plate(answer: &PlateChecked) -> String {
    let verdict = match (answer.error, answer.passed) {
        (None, _) => "is calibrated".to_owned(),
        (Some(error), true) => format!("OK: off by {:+.2} %", 100.0 * error),
        (Some(error), false) => format!("NOT OK: off by {:+.2} %", 100.0 * error),
    };
    let allow = 100.0 * answer.allow;
    let mut text = format!(
        "Orifice {} {verdict}, allowed {allow} % (entry {}).\n",
        answer.orifice, answer.id
    );
    text += &format!(
        "From now on it passes {} {} at {} of metering pressure.\n",
        cell(&answer.flow),
        answer.flow.unit,
        plain(answer.at.value, &answer.at.unit)
    );
    text + &marked(&answer.marked_numbers)
}

/// A leak.
pub(crate) fn leak(answer: &LeakChecked) -> String {
    format!(
        "The bench leaks {} {} at {}; from now on that is taken off at the same depression \
         (entry {}).",
        cell(&answer.flow),
        answer.flow.unit,
        plain(answer.at.value, &answer.at.unit),
        answer.id
    )
}
