//! The register of gauges, their state, zeroes and checks.

use benchhand_wire::{Checked, GaugeAnswer, GaugeList, GaugeSetup, GaugeState, LiveValue, Zeroed};

use super::figure::{plain, plain_apart, rounded, unit_after};
use super::table::Table;
use super::{history, wrapped};

/// The register, and the profiles that a gauge may be given.
pub(crate) fn list(answer: &GaugeList) -> String {
    let mut text = String::new();
    if answer.gauges.is_empty() {
        text +=
            "No gauge is in the register yet: benchhand gauge set NAME --profile P --port PATH\n";
    } else {
        let mut table = Table::new(&[
            "gauge",
            "measures",
            "profile",
            "where",
            "line",
            "shows",
            "u",
            "correction",
            "calibrated",
        ]);
        for gauge in &answer.gauges {
            let setup = &gauge.setup;
            table.row(vec![
                setup.name.clone(),
                gauge.kind.clone(),
                setup.profile.clone(),
                place(setup),
                gauge.link.clone(),
                gauge.live.iter().map(shows).collect::<Vec<_>>().join(", "),
                setup.u.clone().unwrap_or_else(|| "not known".to_owned()),
                correction(gauge),
                setup
                    .calibrated
                    .clone()
                    .unwrap_or_else(|| "not known".to_owned()),
            ]);
        }
        text += &table.text();
        for gauge in answer.gauges.iter().filter(|gauge| !gauge.todo.is_empty()) {
            text += &format!("{}: {}\n", gauge.setup.name, gauge.todo);
        }
        for gauge in &answer.gauges {
            let name = &gauge.setup.name;
            if let Some(short) = answer.history.get(name) {
                text += &wrapped(&format!("{name}: "), &history::in_short(short));
            }
        }
        for gauge in &answer.gauges {
            if let Some(how) = no_direction(gauge) {
                text += &format!("{}: {how}\n", gauge.setup.name);
            }
        }
    }
    text += "\nProfiles\n";
    let width = answer.profiles.iter().map(|name| name.chars().count());
    let width = width.max().unwrap_or(0);
    for (at, name) in answer.profiles.iter().enumerate() {
        let title = answer.profile_titles.get(at).map_or("", String::as_str);
        text += format!("  {name:<width$}  {title}").trim_end();
        text += "\n";
    }
    text
}

/// The present state of one gauge.
pub(crate) fn one(answer: &GaugeAnswer) -> String {
    let GaugeState {
        setup,
        kind,
        link,
        todo,
        zero,
        ..
    } = &answer.gauge;
    let mut lines = vec![
        format!(
            "{}: measures {kind}, profile {}, {}",
            setup.name,
            setup.profile,
            place(setup)
        ),
        match kind.as_str() {
            "length" => format!("sense {:+}, line {link}", setup.sense),
            _ => format!("line {link}"),
        },
    ];
    let known = |name: &str, value: &Option<String>| match value {
        Some(value) => format!("{name} {value}"),
        None => format!("{name} not known"),
    };
    lines.push(
        [
            known("u of calibration", &setup.u),
            known("u of scale", &setup.scale_u.map(|u| u.to_string())),
            known(
                "repeatability",
                &setup
                    .repeatability
                    .as_ref()
                    .map(|s| match setup.repeatability_dof {
                        Some(dof) => format!("{s} ({dof} degrees of freedom)"),
                        None => s.clone(),
                    }),
            ),
        ]
        .join(", "),
    );
    if let Some(calibrated) = &setup.calibrated {
        lines.push(format!("calibrated: {calibrated}"));
    }
    let corrected = correction(&answer.gauge);
    if !corrected.is_empty() {
        lines.push(format!("added to what it shows: {corrected}"));
    }
    if let Some(counts) = &setup.counts {
        lines.push(format!("counts {counts} while it delivers"));
    }
    lines.extend(no_direction(&answer.gauge));
    if let Some(zero) = zero {
        lines.push(format!("zeroed at {zero}"));
    }
    if !todo.is_empty() {
        lines.push(format!("what to do: {todo}"));
    }
    lines.join("\n")
}

/// How to learn the direction of a burette, if nobody knows it and it can be watched.
fn no_direction(gauge: &GaugeState) -> Option<String> {
    let setup = &gauge.setup;
    let sends = setup.port.is_some() || setup.adapter.is_some();
    let unknown = gauge.kind == "volume" && sends && setup.counts.is_none();
    unknown.then(|| {
        format!(
            "which way it counts is not known: benchhand gauge direction {}",
            setup.name
        )
    })
}

/// The result of the last check, for one cell.
fn correction(gauge: &GaugeState) -> String {
    let Some(check) = &gauge.check else {
        return String::new();
    };
    let scale = check.scale.map(|scale| format!("{:+.4} %", 100.0 * scale));
    let parts = [check.correction.as_deref().map(short), scale];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// A stored quantity, to four significant digits.
fn short(quantity: &str) -> String {
    let parsed = quantity
        .split_once(' ')
        .and_then(|(number, unit)| Some((number.parse::<f64>().ok()?, unit)));
    match parsed {
        Some((value, unit)) if value != 0.0 => {
            let place = 3 - value.abs().log10().floor() as i32;
            format!("{} {unit}", rounded(value, place))
        }
        _ => quantity.to_owned(),
    }
}

fn place(setup: &GaugeSetup) -> String {
    match (&setup.adapter, &setup.port) {
        (Some(adapter), _) => format!("adapter {adapter}"),
        (None, Some(port)) => port.clone(),
        (None, None) => "read by eye".to_owned(),
    }
}

/// The value of a channel: its zeroed figure if it was zeroed, else the raw number, else its
/// status in words.
pub(crate) fn shows(value: &LiveValue) -> String {
    let decimals = i32::from(value.decimals);
    let number = value.zeroed.or(value.value);
    let mut text = match number {
        Some(number) => format!("{}{}", rounded(number, decimals), unit_after(&value.unit)),
        None if value.status.is_empty() => return String::new(),
        None => return value.status.clone(),
    };
    if let (Some(_), Some(raw)) = (value.zeroed, value.value) {
        text += &format!(" (raw {})", rounded(raw, decimals));
    }
    if !value.status.is_empty() {
        text += &format!(" [{}]", value.status);
    }
    text
}

/// The result of a zeroing.
pub(crate) fn zeroed(name: &str, hanging: bool, answer: &Zeroed) -> String {
    let shown = plain(answer.raw, &answer.unit);
    if hanging {
        format!(
            "{name} hangs free at {shown}; that is never a reading (entry {}).",
            answer.id
        )
    } else {
        format!(
            "{name} counts {shown} as zero from now on (entry {}).",
            answer.id
        )
    }
}

/// That a gauge is out of the register.
pub(crate) fn dropped(name: &str) -> String {
    format!(
        "{name} is dropped from the register; its readings and checks stay in their jobs. \
         `benchhand gauge list` shows the others.\n"
    )
}

/// The result of a check.
pub(crate) fn checked(name: &str, answer: &Checked) -> String {
    let verdict = if answer.passed { "OK" } else { "NOT OK" };
    let unit = &answer.unit;
    let [error, allow] = plain_apart(answer.passed, answer.error, answer.allow, unit);
    let mut text = format!(
        "{name} {verdict}: off by {error}, allowed {allow} (entry {}).\n",
        answer.id
    );
    if !answer.marked_numbers.is_empty() {
        text += &format!(
            "Readings since the last good check are marked: {}. Zero the gauge and take them \
             again, or void them with the reason.\n",
            answer.marked_numbers.join(", ")
        );
    } else if !answer.passed {
        text +=
            "No reading was taken since the last good check. Zero the gauge before you go on.\n";
    }
    text
}

#[cfg(test)]
mod tests {
    use benchhand_wire::CapturePhase;

    use super::*;

    fn live(value: Option<f64>, zeroed: Option<f64>, status: &str) -> LiveValue {
        LiveValue {
            channel: "length".into(),
            value,
            unit: "in".into(),
            decimals: 4,
            zeroed,
            poured: None,
            phase: CapturePhase::Still,
            stillness: 1.0,
            status: status.into(),
        }
    }

    #[test]
    fn a_zeroed_gauge_shows_both_numbers_and_a_status_is_no_number() {
        assert_eq!(
            shows(&live(Some(0.5), Some(-0.01), "")),
            "-0.0100 in (raw 0.5000)"
        );
        assert_eq!(
            shows(&live(Some(0.5), None, "low battery")),
            "0.5000 in [low battery]"
        );
        assert_eq!(shows(&live(None, None, "overrange")), "overrange");
        assert_eq!(shows(&live(None, None, "")), "", "nothing was sent yet");
    }

    #[test]
    fn a_failed_check_names_the_readings_that_are_marked() {
        let text = checked(
            "depth-2",
            &Checked {
                id: 41,
                error: 0.0012,
                allow: 0.0005,
                unit: "in".into(),
                passed: false,
                marked: vec![71, 72],
                marked_numbers: vec!["33".to_owned(), "34".to_owned()],
            },
        );
        assert!(
            text.contains("NOT OK: off by 0.0012 in, allowed 0.0005 in"),
            "{text}"
        );
        assert!(text.contains("33, 34"), "{text}");
    }
}
