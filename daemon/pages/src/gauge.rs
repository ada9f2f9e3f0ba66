//! One gauge: what it shows, what is known of it, what the jobs tell of it, and its direction.

use askama::Template;
use benchhand_blueprint::Quantity;
use benchhand_wire::{BuretteCounts, GaugeHistoryAnswer, GaugeSetup, GaugeState, LiveValue};
use benchhand_words::digits::rounded_like_u;

use crate::{Page, PageFrame, address};

#[derive(Template)]
#[template(path = "gauge.html")]
struct GaugePage<'a> {
    frame: &'a PageFrame,
    gauge: &'a GaugeState,
    history: Option<&'a GaugeHistoryAnswer>,
    /// The jobs that can be measured, newest change first.
    jobs: &'a [String],
    set_up: Vec<(&'static str, String)>,
}

/// One gauge. `jobs` are the jobs that there are, the one that changed last first; `history` is
/// absent where the jobs could not be read.
///
/// # Errors
/// A fault of the template.
pub fn gauge(
    frame: &PageFrame,
    gauge: &GaugeState,
    history: Option<&GaugeHistoryAnswer>,
    jobs: &[String],
) -> Page {
    GaugePage {
        frame,
        gauge,
        history,
        jobs,
        set_up: set_up(gauge),
    }
    .render()
}

impl GaugePage<'_> {
    fn setup(&self) -> &GaugeSetup {
        &self.gauge.setup
    }

    fn here(&self) -> String {
        address::gauge(&self.gauge.setup.name)
    }

    /// A form about this gauge, with the job filled in that changed last.
    fn form(&self, request: &str) -> String {
        let mut filled = vec![("name", self.gauge.setup.name.as_str())];
        filled.extend(self.jobs.first().map(|job| ("job", job.as_str())));
        address::form(request, &self.here(), &filled)
    }

    /// The form that changes the set-up, with all of it filled in.
    fn change(&self) -> String {
        let filled = filled(&self.gauge.setup);
        let filled: Vec<(&str, &str)> = filled.iter().map(|(n, v)| (*n, v.as_str())).collect();
        address::form("gauges/set", &self.here(), &filled)
    }

    fn by_eye(&self) -> bool {
        self.gauge.link == "by eye"
    }
}

/// The set-up as the fields of its form.
fn filled(setup: &GaugeSetup) -> Vec<(&'static str, String)> {
    let number = |value: Option<f64>| value.map(|v| v.to_string());
    let fields = [
        ("setup.name", Some(setup.name.clone())),
        ("setup.profile", Some(setup.profile.clone())),
        ("setup.port", setup.port.clone()),
        ("setup.adapter", setup.adapter.clone()),
        ("setup.sense", Some(setup.sense.to_string())),
        (
            "setup.counts",
            setup.counts.map(|counts| counts.to_string()),
        ),
        ("setup.capacity", setup.capacity.clone()),
        ("setup.resolution", setup.resolution.clone()),
        ("setup.u", setup.u.clone()),
        ("setup.scale_u", number(setup.scale_u)),
        ("setup.repeatability", setup.repeatability.clone()),
        ("setup.repeatability_dof", number(setup.repeatability_dof)),
        ("setup.calibrated", setup.calibrated.clone()),
    ];
    let filled = fields.into_iter();
    filled
        .filter_map(|(name, value)| Some((name, value?)))
        .collect()
}

/// A standard uncertainty with the digits that it is worth.
fn told(u: &str) -> String {
    match u.parse::<Quantity>() {
        Ok(known) if known.value > 0.0 => {
            format!("{} {}", rounded_like_u(known.value), known.unit)
        }
        _ => u.to_owned(),
    }
}

/// What the register knows, a line each.
fn set_up(gauge: &GaugeState) -> Vec<(&'static str, String)> {
    let setup = &gauge.setup;
    let mut lines = vec![("Talks as", setup.profile.clone())];
    lines.extend(setup.adapter.clone().map(|adapter| ("Adapter", adapter)));
    if setup.adapter.is_none() {
        lines.extend(setup.port.clone().map(|port| ("Port", port)));
    }
    match gauge.kind.as_str() {
        "volume" | "mass" => {
            lines.push((
                "While it delivers",
                match setup.counts {
                    Some(BuretteCounts::Up) => "its number grows".to_owned(),
                    Some(BuretteCounts::Down) => "its number shrinks".to_owned(),
                    None => "not known: asked at the first pour, or learned here".to_owned(),
                },
            ));
            lines.extend(setup.capacity.clone().map(|holds| ("Holds", holds)));
        }
        "length" => lines.push((
            "Pushed in",
            if setup.sense < 0 {
                "its number shrinks".to_owned()
            } else {
                "its number grows".to_owned()
            },
        )),
        _ => {}
    }
    lines.extend(gauge.zero.clone().map(|zero| ("Zero at", zero)));
    lines.extend(setup.resolution.clone().map(|step| ("Smallest step", step)));
    lines.push((
        "Calibration",
        match &setup.u {
            Some(u) => format!("standard uncertainty {}", told(u)),
            None => "not known: its figures leave that out and say so; a spread that this gauge \
                     alone measured hardly needs it"
                .to_owned(),
        },
    ));
    lines.extend(
        setup
            .calibrated
            .clone()
            .map(|when| ("Last calibrated", when)),
    );
    lines.extend(setup.scale_u.map(|u| ("Scale known to", format!("{u}"))));
    lines.extend(setup.repeatability.clone().map(|r| ("Repeats to", r)));
    if let Some(check) = &gauge.check {
        let added = check.correction.clone().unwrap_or_else(|| "0".to_owned());
        let when = check.date.clone().unwrap_or_default();
        lines.push(("Correction", format!("{added} {when}")));
    }
    lines
}

/// What is known while the direction of a gauge is learned.
#[derive(Debug, Clone, PartialEq)]
pub struct LearningDirection {
    /// What the gauge showed before the movement, as a browser hands it back.
    pub from: Option<f64>,
    /// What makes a repeated sending count once.
    pub key: String,
}

/// Movements of fewer steps than this are only noise. Common practice, no source.
const STEPS: f64 = 10.0;

#[derive(Template)]
#[template(path = "direction.html")]
struct DirectionPage<'a> {
    frame: &'a PageFrame,
    gauge: &'a GaugeState,
    live: Option<&'a LiveValue>,
    learning: &'a LearningDirection,
}

/// Learns which way a gauge's number runs: what it shows before and after a movement that a
/// person makes.
///
/// # Errors
/// A fault of the template.
pub fn direction(frame: &PageFrame, gauge: &GaugeState, learning: &LearningDirection) -> Page {
    DirectionPage {
        frame,
        gauge,
        live: gauge.live.first().filter(|_| gauge.link == "live"),
        learning,
    }
    .render()
}

impl DirectionPage<'_> {
    /// The value now.
    fn now(&self) -> Option<f64> {
        self.live?.value
    }

    /// The values before and after, where the number has moved by more than noise.
    fn moved(&self) -> Option<(f64, f64)> {
        let (from, to) = (self.learning.from?, self.now()?);
        let step = 10f64.powi(-i32::from(self.live?.decimals));
        ((to - from).abs() > STEPS * step).then_some((from, to))
    }

    fn digits(&self, value: &f64) -> String {
        let decimals = self.live.map_or(2, |live| usize::from(live.decimals));
        let unit = self.live.map_or("", |live| live.unit.as_str());
        format!("{value:.decimals$} {unit}")
    }

    /// The value to compare with: what it showed before the movement, else what it shows now.
    fn before(&self) -> Option<f64> {
        self.learning.from.or(self.now())
    }

    /// Whether the gauge is a length gauge, of which the plunger is moved.
    fn plunger(&self) -> bool {
        self.gauge.kind == "length"
    }

    /// The set-up's fields but the direction's, to be sent back as they are.
    fn kept(&self) -> Vec<(&'static str, String)> {
        let learned = if self.plunger() {
            "setup.sense"
        } else {
            "setup.counts"
        };
        let fields = filled(&self.gauge.setup).into_iter();
        fields.filter(|(name, _)| *name != learned).collect()
    }

    /// The answers: what was done, the field, and what follows for it.
    fn answers(&self, from: &f64, to: &f64) -> Vec<(&'static str, &'static str, &'static str)> {
        let grew = to > from;
        if self.plunger() {
            let (pushed, pulled) = if grew { ("1", "-1") } else { ("-1", "1") };
            vec![
                ("It was pushed in", "setup.sense", pushed),
                ("It was let out", "setup.sense", pulled),
            ]
        } else {
            let (out, filled) = if grew { ("up", "down") } else { ("down", "up") };
            vec![
                ("It was let out", "setup.counts", out),
                ("It was filled", "setup.counts", filled),
            ]
        }
    }
}
