//! Routes: starting one, steering it, and where it stands.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::condition::Asked;
use crate::reading::Levels;
use crate::taken_up::TakenUp;
use crate::{Ask, Carry};

/// Asks which routes there are: those of the shop, and with a job those of its free spots too.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Routes {
    /// The job's name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub job: Option<String>,
}

/// The routes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RouteList {
    /// Shipped ones first, then the shop's own.
    pub routes: Vec<RouteInfo>,
}

/// One route.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RouteInfo {
    /// Its name.
    pub name: String,
    /// What it measures, in one line.
    pub title: String,
    /// The kinds of gauge it needs.
    pub needs: Vec<String>,
    /// The cautions to read before it begins.
    pub cautions: Vec<String>,
    /// The conditions that its readings depend on, e.g. `liquid/temperature`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub asks: Vec<String>,
    /// The same with what a person reads beside each, and with what is known of it on the job, where
    /// one was named.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub asked: Vec<Asked>,
    /// How often each spot is visited where nobody says.
    #[serde(default = "once")]
    pub rounds: u32,
    /// The values of its own lists where nobody says, e.g. the lifts.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub lists: BTreeMap<String, Vec<String>>,
}

fn once() -> u32 {
    1
}

impl Ask for Routes {
    const PATH: &'static str = "routes";
    const CARRY: Carry = Carry::Question;
    type Answer = RouteList;
}

/// Starts a route, or takes up the one that stood half-way.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct StartRoute {
    /// The job's name.
    pub job: String,
    /// The route's name.
    pub route: String,
    /// Which gauge does each step's measuring, by kind (`volume`, `length` …); where a kind is
    /// absent, the only gauge of that kind is used.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub gauges: BTreeMap<String, String>,
    /// Only these cylinders, in this order; all of them where empty.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cylinders: Vec<u32>,
    /// Values for the route's own lists, e.g. `lift` → `0.100in`, `0.200in`.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub lists: BTreeMap<String, Vec<String>>,
    /// How often each spot is visited; the route's own number where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rounds: Option<u32>,
    /// Over how many seconds a mean is taken, 5 to 60; as the route says where absent. What a shorter
    /// one costs stands among the cautions of the route.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mean_s: Option<f64>,
    /// The text of a route of the user's own, kept in the shop's routes under `route`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub text: Option<String>,
    /// Begin again although a route stands half-way.
    #[serde(default)]
    pub afresh: bool,
    /// Initials of who measures, at most 8 letters or digits.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

/// Where a route stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RouteProgress {
    /// The job.
    pub job: String,
    /// The route.
    pub route: String,
    /// What it measures.
    pub title: String,
    /// Whether it runs now; a route that does not stands half-way or is done.
    pub running: bool,
    /// Whether every stop was visited or skipped.
    pub done: bool,
    /// The stop to be visited next, as an index into `stops`; absent once done.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<usize>,
    /// What to do now, in one line.
    pub prompt: String,
    /// The stops in order.
    pub stops: Vec<StopDone>,
    /// What the person at the bench is asked; nothing is kept and the route does not move on
    /// before it is answered.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub asked: Option<OpenQuestion>,
    /// How many values wait behind the question, in their order.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub waiting: u32,
    /// What went into the present chamber so far, where that is far from all of it, e.g. `20.00 cc`.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub so_far: String,
    /// Cautions for this route.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cautions: Vec<String>,
    /// The conditions that its readings depend on, and what is known of each.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub asks: Vec<Asked>,
    /// What is to be checked that no signal shows, in words: a second point at zero, the closing
    /// zero, the plate first and last.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub checks: Vec<String>,
    /// Where it stood and what changed since, where it was taken up after more than a day.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub taken_up: Option<TakenUp>,
}

fn is_zero(count: &u32) -> bool {
    *count == 0
}

/// A question about a value, and how it may be answered.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct OpenQuestion {
    /// What it is about.
    pub about: QuestionAbout,
    /// The spot of the stop that it concerns.
    pub spot: String,
    /// The value in doubt as shown, e.g. `60.00 cc`; empty where there is none.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub shown: String,
    /// The question in words.
    pub text: String,
    /// The answers, by the names of their controls.
    pub answers: Vec<AnswerWord>,
}

/// What a question is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum QuestionAbout {
    /// A value lies far from what was expected.
    FarOff,
    /// A typed value looks like a slip.
    Slip,
    /// One pour with a rest in it, or two.
    OneOrTwo,
    /// What was done at the gauge puts the value in doubt.
    Handling,
    /// The gauge was zeroed hours ago, or was off since.
    OldZero,
    /// A pour was lost sight of.
    LostPour,
    /// Which way the burette's scale runs.
    WhichWay,
    /// A value came while another was asked about.
    Meanwhile,
    /// Which reading `again` means.
    WhichAgain,
    /// A reading that was still open when the work was broken off.
    BrokenOff,
    /// An earlier reading that later ones disagree with.
    Earlier,
}

/// A control that answers a question.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum AnswerWord {
    /// The value is right: keep it here.
    Keep,
    /// Drop it; this stop is measured again.
    Again,
    /// The value was typed: give the right one.
    Type,
    /// It was two pours.
    Split,
    /// It was a refill, or no pour of a chamber at all.
    Refill,
    /// It was poured out.
    Delivered,
    /// It belongs to the next stop.
    Skip,
}

/// One stop and what became of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct StopDone {
    /// The spot.
    pub spot: String,
    /// The round, from 1.
    pub round: u32,
    /// What became of it.
    pub state: StopState,
    /// The gauge that measures it.
    pub gauge: String,
    /// What its gauge measures: `length`, `volume`, `mass`, `pressure`; empty where not known.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub kind: String,
    /// The unit in which a value would be typed for it; empty where not known.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub unit: String,
    /// How the gauge's number becomes the reading: `as_captured`, `below_zero` or `above_zero`.
    #[serde(default)]
    pub counts: FigureRule,
    /// The reading that was taken, if any.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reading: Option<u64>,
    /// Its value as shown, e.g. `64.21 cc`.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub shown: String,
    /// What the route's newest reading is beside the other cylinders, e.g. `0.9 over the others`;
    /// empty at every other stop, and where too few were read.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub means: String,
}

/// How the gauge's number becomes the reading. A route's text writes the words with a hyphen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum FigureRule {
    /// As captured: a pour's difference, a pressure, a typed value.
    #[default]
    #[serde(alias = "as-captured")]
    AsCaptured,
    /// sense × (zero − raw): positive below the zero, as a deck clearance is.
    #[serde(alias = "below-zero")]
    BelowZero,
    /// sense × (raw − zero): positive above the zero, as a gasket's thickness on a plate is.
    #[serde(alias = "above-zero")]
    AboveZero,
}

/// What became of a stop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum StopState {
    /// Not visited yet.
    Left,
    /// A provisional reading is kept.
    Held,
    /// Its reading is final.
    Taken,
    /// The user passed it over.
    Skipped,
}

impl Ask for StartRoute {
    const PATH: &'static str = "routes/start";
    const CARRY: Carry = Carry::Change;
    type Answer = RouteProgress;
}

/// Steers the route that runs on a job.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ControlRoute {
    /// The job's name.
    pub job: String,
    /// What to do.
    #[serde(flatten)]
    pub control: Control,
}

/// The controls, the same from pedal, page and command line. `take` is refused while something is
/// asked.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "control", rename_all = "snake_case")]
pub enum Control {
    /// Take the reading now, if the gauge allows it.
    Take,
    /// Throw away the last reading of this stop (it is voided) and take it again.
    Again,
    /// Go back one stop.
    Back,
    /// Pass this stop over.
    Skip,
    /// Sum another pour into the last reading.
    Add,
    /// Stop taking until `resume`.
    Hold,
    /// Go on after `hold`.
    Resume,
    /// Answers a question: the value is right.
    Keep,
    /// Answers a question: that movement was a refill, or no pour of a chamber.
    Refill,
    /// Answers a question: that movement was a delivery.
    Delivered,
    /// What was taken for one pour was two: a rest between ends the first.
    Split,
    /// Drops every value that waits behind the question. The question stays.
    Drop,
    /// Takes back the last control.
    Undo,
    /// Go to the stop of this spot.
    Go {
        /// The spot.
        spot: String,
    },
    /// A reading that a person read off and typed for this stop.
    Type(Typed),
    /// End the route; what is left stays left and can be taken up again.
    End,
}

/// What a person read off: a value, the levels of a burette, or the turns and hand of a dial;
/// exactly one of the three.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Typed {
    /// The value with its unit, e.g. `64.2 cc`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub value: Option<String>,
    /// A burette's levels; several pairs are summed (a refill half-way).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub levels: Vec<Levels>,
    /// A dial's turns and hand.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dial: Option<DialHand>,
    /// Keep it although it looks like a slip beside its brothers.
    #[serde(default)]
    pub sure: bool,
}

impl Typed {
    /// A value with its unit.
    pub fn value(text: impl Into<String>) -> Typed {
        Typed {
            value: Some(text.into()),
            ..Typed::default()
        }
    }
}

/// A dial read as whole turns of its hand and where the hand stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct DialHand {
    /// Whole turns; negative where the reading is on the other side of zero.
    pub turns: i32,
    /// What one turn is, with its unit, e.g. `0.100 in`.
    pub turn: String,
    /// Where the hand stands within its turn, with its unit. It goes the way of the turns; where
    /// there are none its own sign counts.
    pub hand: String,
}

impl Ask for ControlRoute {
    const PATH: &'static str = "routes/control";
    const CARRY: Carry = Carry::Change;
    type Answer = RouteProgress;
}
