//! The findings about an unknown gauge, and the result of a profile check.

use benchhand_wire::{Finding, FoundGauge, ProfileChecked};

/// The surest candidate, the other candidates, and what to do next.
pub(crate) fn found(answer: &FoundGauge, next: &str, saved: Option<&str>) -> String {
    let first = &answer.found;
    let mut text = format!("{}\n", one(first));
    for reason in &first.reasons {
        text += &format!("  {reason}\n");
    }
    for other in &answer.others {
        text += &format!("It could also be: {}\n", one(other));
    }
    text += &match saved {
        Some(file) => format!("\nThe profile is in {file}. Use it:\n  "),
        None => format!("\n{}\nKeep it:\n  ", first.profile.trim_end()),
    };
    text += next;
    text += "\n";
    if first.unit.is_none() {
        text += "The gauge does not send its unit. Say it with --unit: it is never guessed.\n";
    }
    text
}

fn one(finding: &Finding) -> String {
    let unit = finding.unit.as_deref().unwrap_or("unit not told");
    let value = match finding.last_value {
        Some(value) => format!("last value {value} {unit}"),
        None => unit.to_owned(),
    };
    let how = match finding.mode.as_str() {
        "poll" => "answers when it is asked",
        _ => "sends by itself",
    };
    let percent = (finding.confidence * 100.0).round();
    format!(
        "{} baud {}, {how}, {value}; {percent:.0} % sure",
        finding.line.baud, finding.line.format
    )
}

/// The result for a valid profile.
pub(crate) fn checked(answer: &ProfileChecked) -> String {
    let captures = match answer.captures {
        0 => "the profile carries no capture: add one, so that a change is noticed".to_owned(),
        1 => "its capture gives the expected samples".to_owned(),
        n => format!("its {n} captures give the expected samples"),
    };
    format!(
        "{}: {}\n  {}\n  {captures}\n",
        answer.name,
        answer.title,
        answer.channels.join("\n  ")
    )
}
