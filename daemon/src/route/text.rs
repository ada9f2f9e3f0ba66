//! The text form of a route, and its faults at their line.

use std::collections::BTreeMap;
use std::ops::Range;

use benchhand_toml_places::line_and_column;
use benchhand_wire::FigureRule;
use serde::Deserialize;

/// The version of the route format that this program reads.
const VERSION: i64 = 1;

/// A route as its text states it.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Route {
    /// Version of the format; 1.
    pub route: i64,
    /// Its name, as it is called for.
    pub name: String,
    /// What it measures, in one line.
    pub title: String,
    /// How often each spot is visited, with everything set up anew in between.
    #[serde(default = "once")]
    pub rounds: u32,
    /// What to watch out for before it begins.
    #[serde(default)]
    pub cautions: Vec<String>,
    /// What to set up anew before each further round, said before its first stop.
    #[serde(default)]
    pub next_round: Option<String>,
    /// Whether all steps of one cylinder come before the next cylinder; otherwise all cylinders
    /// of one step come before the next step.
    #[serde(default)]
    pub by_cylinder: bool,
    /// In which order the cylinders come, where the user names none.
    #[serde(default)]
    pub order: CylinderOrder,
    /// Whether every second round runs backwards, so that a slow drift falls on all stops alike.
    #[serde(default)]
    pub balance: bool,
    /// The conditions that its readings depend on, e.g. `liquid/temperature`.
    #[serde(default)]
    pub ask: Vec<String>,
    /// The values that placeholders other than `{cylinder}` run through.
    #[serde(default)]
    pub lists: BTreeMap<String, Vec<String>>,
    /// The steps, each of which is a family of spots.
    #[serde(rename = "step")]
    pub steps: Vec<RouteStep>,
}

/// The order of the cylinders.
#[derive(Debug, Clone, PartialEq, Eq, Default, Deserialize)]
#[serde(from = "OrderText")]
pub enum CylinderOrder {
    /// Bank by bank, as the engine file lists them.
    #[default]
    Bank,
    /// By number.
    Number,
    /// As written in the route; those that the engine does not have are refused.
    Written(Vec<u32>),
}

/// How an order is written: a word or a list.
#[derive(Deserialize)]
#[serde(untagged)]
enum OrderText {
    Word(OrderWord),
    List(Vec<u32>),
}

#[derive(Deserialize)]
#[serde(rename_all = "lowercase")]
enum OrderWord {
    Bank,
    Number,
}

impl From<OrderText> for CylinderOrder {
    fn from(text: OrderText) -> CylinderOrder {
        match text {
            OrderText::Word(OrderWord::Bank) => CylinderOrder::Bank,
            OrderText::Word(OrderWord::Number) => CylinderOrder::Number,
            OrderText::List(list) => CylinderOrder::Written(list),
        }
    }
}

/// One family of spots that are measured alike.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RouteStep {
    /// The spot, with placeholders, e.g. `deck/{cylinder}/{point}`.
    pub spot: String,
    /// The capture mode: `settle`, `pour`, `extreme`, `average` or `press`.
    pub mode: String,
    /// The kind of gauge: `length`, `volume`, `mass`, `pressure`.
    pub kind: String,
    /// What to do there, with placeholders, in one line.
    pub prompt: String,
    /// How the gauge's number becomes the reading.
    #[serde(default)]
    pub figure: FigureRule,
    /// Which way the turning point lies, in the sense of the figure; for `extreme` only.
    #[serde(default)]
    pub turn: Option<FigureTurn>,
    /// Further channels that belong to the same reading, by the channel's name.
    #[serde(default)]
    pub with: Vec<String>,
    /// Settings of the capture mode that differ from its documented start values.
    #[serde(default)]
    pub settings: toml::Table,
}

/// Which turning point of the figure is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum FigureTurn {
    /// The smallest figure, as the piston's clearance at top dead centre is.
    Least,
    /// The largest figure.
    Greatest,
}

fn once() -> u32 {
    1
}

/// A fault in a route's text.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{file}:{line}:{column}: {text}")]
pub struct RouteError {
    /// The file as the user named it.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// What was found and what was expected.
    pub text: String,
}

impl Route {
    /// Reads a route from its text; `file` is named in faults.
    ///
    /// # Errors
    /// The first fault, with its line and column: unknown keys, a version this program does not
    /// read, no steps, a mode or kind that does not exist, a placeholder without a list.
    pub fn parse(text: &str, file: &str) -> Result<Route, RouteError> {
        let route: Route = toml::from_str(text).map_err(|e| {
            let start = e.span().map_or(0, |s: Range<usize>| s.start);
            fault(text, file, start, e.message())
        })?;
        route.check(text, file)?;
        Ok(route)
    }

    fn check(&self, text: &str, file: &str) -> Result<(), RouteError> {
        let at = |needle: &str, message: String| {
            Err(fault(text, file, text.find(needle).unwrap_or(0), &message))
        };
        if self.route != VERSION {
            return at(
                "route",
                format!(
                    "route format {} found; this program reads {VERSION}",
                    self.route
                ),
            );
        }
        if self.steps.is_empty() {
            return at(
                "route",
                "no [[step]] found; a route needs at least one".to_owned(),
            );
        }
        if self.rounds == 0 || self.rounds > 99 {
            return at(
                "rounds",
                format!("rounds = {} found; 1 to 99 expected", self.rounds),
            );
        }
        for step in &self.steps {
            self.check_step(step, &at)?;
        }
        Ok(())
    }

    fn check_step(
        &self,
        step: &RouteStep,
        at: &dyn Fn(&str, String) -> Result<(), RouteError>,
    ) -> Result<(), RouteError> {
        const MODES: [&str; 5] = ["settle", "pour", "extreme", "average", "press"];
        const KINDS: [&str; 4] = ["length", "volume", "mass", "pressure"];
        if !MODES.contains(&step.mode.as_str()) {
            let found = format!("mode {:?} found; one of {MODES:?} expected", step.mode);
            return at(&format!("\"{}\"", step.mode), found);
        }
        if !KINDS.contains(&step.kind.as_str()) {
            let found = format!("kind {:?} found; one of {KINDS:?} expected", step.kind);
            return at(&format!("\"{}\"", step.kind), found);
        }
        if step.turn.is_some() != (step.mode == "extreme") {
            let found = "`turn` belongs to mode \"extreme\", and that mode needs it".to_owned();
            return at(&step.spot, found);
        }
        if step.mode == "pour" && step.figure != FigureRule::AsCaptured {
            let found = "a pour is a difference and has no zero: leave `figure` out".to_owned();
            return at(&step.spot, found);
        }
        for name in placeholders(&step.spot) {
            if name != "cylinder" && !self.lists.contains_key(name) {
                let found = format!(
                    "placeholder {{{name}}} has no list; add `{name} = [\"…\"]` under [lists]"
                );
                return at(&step.spot, found);
            }
        }
        for name in placeholders(&step.prompt) {
            if !placeholders(&step.spot).any(|n| n == name) {
                let found = format!("the prompt's {{{name}}} does not occur in the spot");
                return at(&step.prompt, found);
            }
        }
        Ok(())
    }

    /// The kinds of gauge that the steps need, each once.
    pub fn needs(&self) -> Vec<String> {
        let mut kinds: Vec<String> = self.steps.iter().map(|s| s.kind.clone()).collect();
        kinds.sort();
        kinds.dedup();
        kinds
    }
}

/// The names between braces, in order.
pub(super) fn placeholders(template: &str) -> impl Iterator<Item = &str> {
    template
        .split('{')
        .skip(1)
        .filter_map(|rest| rest.split_once('}').map(|(name, _)| name))
}

fn fault(text: &str, file: &str, offset: usize, message: &str) -> RouteError {
    let (line, column) = line_and_column(text, offset);
    RouteError {
        file: file.to_owned(),
        line,
        column,
        text: message.trim_end().to_owned(),
    }
}
