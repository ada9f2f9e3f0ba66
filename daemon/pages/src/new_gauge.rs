//! A gauge that is new to the shop: what listening found, and the short form that takes it into
//! the register.

use askama::Template;
use benchhand_wire::{Finding, FoundGauge, Refusal};

use crate::{Page, PageFrame, address};

/// What stands in the short form.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct NewGauge {
    /// Whether nobody hears it: a person reads it by eye.
    pub by_eye: bool,
    /// What was heard, in one sentence.
    pub heard: String,
    /// What the gauge showed last, with its unit where it sends one.
    pub shown: String,
    /// What speaks for and against what was found.
    pub reasons: Vec<String>,
    /// Where it is plugged in.
    pub port: String,
    /// Its adapter's identity, where it has one.
    pub adapter: String,
    /// The profile's text.
    pub profile_text: String,
    /// Whether the gauge sends its unit.
    pub unit_told: bool,
    /// What it measures, where that is known: `volume`, `length` …
    pub kind: String,
    /// The name for it in this shop.
    pub name: String,
    /// The unit, where the gauge sends none.
    pub unit: String,
    /// A burette's capacity.
    pub capacity: String,
    /// `up`, `down`, or empty where it is not known.
    pub counts: String,
    /// The smallest step, of a gauge that is read by eye.
    pub resolution: String,
    /// Standard uncertainty of its calibration.
    pub u: String,
    /// When and by what it was calibrated.
    pub calibrated: String,
}

/// The units that a gauge in a shop shows, by what they measure.
const UNITS: &[(&str, &[&str])] = &[
    ("volume", &["cc", "in3"]),
    ("length", &["in", "mm", "thou"]),
    ("mass", &["g", "oz", "kg"]),
    (
        "pressure",
        &["inH2O", "mmH2O", "hPa", "kPa", "Pa", "psi", "inHg"],
    ),
    ("flow", &["cfm", "L/min", "m3/h"]),
    ("temperature", &["degC", "degF"]),
    ("other", &["%RH", "deg", "rpm"]),
];

/// What a gauge that is read by eye may measure, with the profile that says so.
const BY_EYE: &[(&str, &str)] = &[
    ("ascii-volume", "volume: a burette"),
    ("ascii-length", "length: a dial, a caliper, a micrometer"),
    ("ascii-mass", "weight: a balance"),
    ("ascii-pressure", "pressure: a manometer"),
];

impl NewGauge {
    /// What listening at `port` found. `taken` are the names that are taken already.
    pub fn found(
        found: &FoundGauge,
        port: &str,
        adapter: Option<&str>,
        taken: &[String],
    ) -> NewGauge {
        let first = &found.found;
        let unit = first.unit.as_deref();
        let kind = unit.map_or("", kind_of);
        NewGauge {
            heard: heard(first),
            shown: shown(first),
            reasons: first.reasons.clone(),
            port: port.to_owned(),
            adapter: adapter.unwrap_or_default().to_owned(),
            profile_text: first.profile.clone(),
            unit_told: unit.is_some(),
            kind: kind.to_owned(),
            name: free_name(kind, taken),
            ..NewGauge::default()
        }
    }

    /// A gauge that is read by eye, with nothing said yet.
    pub fn by_eye(taken: &[String]) -> NewGauge {
        NewGauge {
            by_eye: true,
            unit_told: true,
            name: free_name("", taken),
            ..NewGauge::default()
        }
    }

    /// Whether it may be a gauge that delivers.
    fn may_pour(&self) -> bool {
        ["volume", "mass", ""].contains(&self.kind.as_str())
    }
}

/// What a unit measures, in one word; empty where it is no unit.
pub fn kind_of(unit: &str) -> &'static str {
    let unit: Result<benchhand_blueprint::Unit, _> = unit.parse();
    unit.map_or("", |unit| unit.kind().word())
}

/// A name that no gauge has: what it is, and the next number.
fn free_name(kind: &str, taken: &[String]) -> String {
    let what = match kind {
        "volume" => "burette",
        "length" => "dial",
        "mass" => "balance",
        "pressure" => "manometer",
        _ => "gauge",
    };
    let free = (1..).map(|n| format!("{what}-{n}"));
    let mut free = free.filter(|name| !taken.contains(name));
    free.next().unwrap_or_default()
}

fn heard(finding: &Finding) -> String {
    let how = if finding.mode == "poll" {
        "answers when it is asked"
    } else {
        "sends by itself"
    };
    let sure = (finding.confidence * 100.0).round();
    format!(
        "It {how}, at {} baud {}; {sure:.0} % sure.",
        finding.line.baud, finding.line.format
    )
}

fn shown(finding: &Finding) -> String {
    let unit = finding.unit.as_deref().unwrap_or_default();
    let value = finding.last_value.map(|value| format!("{value} {unit}"));
    value.unwrap_or_default().trim().to_owned()
}

#[derive(Template)]
#[template(path = "new_gauge.html")]
struct NewGaugePage<'a> {
    frame: &'a PageFrame,
    new: &'a NewGauge,
    others: Vec<String>,
    key: &'a str,
    refusal: Option<&'a Refusal>,
}

/// The short form of a new gauge; `others` is what it could also be.
///
/// # Errors
/// A fault of the template.
pub fn new_gauge(
    frame: &PageFrame,
    new: &NewGauge,
    others: &[Finding],
    key: &str,
    refusal: Option<&Refusal>,
) -> Page {
    let other = |finding: &Finding| format!("{} {}", shown(finding), heard(finding));
    NewGaugePage {
        frame,
        new,
        others: others.iter().map(other).collect(),
        key,
        refusal,
    }
    .render()
}

#[derive(Template)]
#[template(path = "nothing_found.html")]
struct NothingPage<'a> {
    frame: &'a PageFrame,
    port: &'a str,
    /// Whether harmless questions were sent already.
    asked: bool,
    refusal: &'a Refusal,
}

/// Nothing was found at a port, with the ways to try again.
///
/// # Errors
/// A fault of the template.
pub fn nothing_found(frame: &PageFrame, port: &str, asked: bool, refusal: &Refusal) -> Page {
    NothingPage {
        frame,
        port,
        asked,
        refusal,
    }
    .render()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_next_free_number_makes_the_name() {
        let taken = ["burette-1".to_owned(), "burette-3".to_owned()];
        assert_eq!(free_name("volume", &taken), "burette-2");
        assert_eq!(free_name("", &taken), "gauge-1");
    }

    #[test]
    fn every_unit_offered_is_one_of_its_kind() {
        for (kind, units) in UNITS {
            for unit in *units {
                let known = kind_of(unit);
                assert!(!known.is_empty(), "{unit}");
                assert!(*kind == "other" || known == *kind, "{unit} is no {kind}");
            }
        }
    }
}
