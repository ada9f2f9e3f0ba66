//! How a gauge is, what it shows and how a check came out, in words.

use benchhand_wire::{Figure, GaugeState, LiveValue, PastCheck};
use benchhand_words::digits;

/// A live value with the digits that its gauge sends, and its unit; what the gauge says of itself
/// where it sent no number.
pub(crate) fn shows(live: &LiveValue) -> String {
    match live.value {
        Some(value) => format!("{value:.*} {}", usize::from(live.decimals), live.unit),
        None if live.status.is_empty() => "no value".to_owned(),
        None => live.status.clone(),
    }
}

/// How a gauge's line is, in words; `files/gauges.js` and the board say the same.
pub(crate) fn line_words(gauge: &GaugeState) -> String {
    let word = match gauge.link.as_str() {
        "off" => "switched off",
        "opening" => "being opened",
        "open" => "nothing heard yet",
        "silent" => "SILENT",
        "lost" => "LOST",
        "by eye" => "read by eye",
        other => other,
    };
    if gauge.todo.is_empty() {
        word.to_owned()
    } else {
        format!("{word}: {}", gauge.todo)
    }
}

fn figure(figure: &Figure) -> String {
    let decimals = digits::usual_decimals(&figure.unit);
    format!(
        "{} {}",
        digits::rounded(figure.value, decimals),
        figure.unit
    )
}

/// A check in words: when, against what, what came out.
pub(crate) fn check_in_words(check: &PastCheck) -> String {
    let when = benchhand_words::day_and_minute(&check.at);
    let passed = match check.passed {
        Some(true) => ", OK",
        Some(false) => ", NOT OK",
        None => "",
    };
    format!(
        "{when} against {}: off by {}{passed}",
        check.against,
        figure(&check.error)
    )
}
