//! The page on which a route is begun: with which gauges, under which conditions, at which cylinders.

use askama::Template;
use benchhand_blueprint::units::listed;
use benchhand_wire::{Asked, GaugeState, Refusal, RouteInfo, RouteProgress};

use crate::form::FilledFields;
use crate::form::points;
use crate::{Page, PageFrame, address};

/// What stands before a condition's name in the name of its field.
const CONDITION: &str = "condition ";
/// What stands before a condition's name in the name of the field that takes earlier readings in.
const SINCE: &str = "since ";
/// What stands before the kind of a gauge.
const GAUGE: &str = "gauge ";
/// What stands before the name of a list of the route.
const LIST: &str = "list ";

/// What can be begun on a job, and with what.
#[derive(Debug, Clone, Copy)]
pub struct RouteToBegin<'a> {
    /// The job.
    pub job: &'a str,
    /// The route.
    pub route: &'a RouteInfo,
    /// The gauges of the shop.
    pub gauges: &'a [GaugeState],
    /// The job's route, where one runs or stands half-way.
    pub standing: Option<&'a RouteProgress>,
}

/// A route as a form asks for it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct RouteAsked {
    /// What is said anew of the conditions.
    pub conditions: Vec<ConditionAsked>,
    /// The gauge of each kind.
    pub gauges: Vec<(String, String)>,
    /// The cylinders; all where empty.
    pub cylinders: Vec<u32>,
    /// Values for the route's own lists.
    pub lists: Vec<(String, Vec<String>)>,
    /// How often each spot is visited.
    pub rounds: Option<u32>,
    /// Whether it begins again though it stands half-way.
    pub afresh: bool,
    /// Initials.
    pub by: Option<String>,
}

/// A condition that is said as a route begins.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ConditionAsked {
    /// Its name.
    pub name: String,
    /// What is said of it.
    pub value: String,
    /// The first reading for which it held already, by its number for people.
    pub since: Option<String>,
}

#[derive(Template)]
#[template(path = "begin.html")]
struct BeginPage<'a> {
    frame: &'a PageFrame,
    of: RouteToBegin<'a>,
    filled: &'a FilledFields,
    key: &'a str,
    refusal: Option<&'a Refusal>,
}

fn sent<'a>(filled: &'a FilledFields, name: &str) -> Option<&'a str> {
    let found = filled.iter().find(|(field, _)| field == name);
    found.map(|(_, value)| value.trim())
}

/// What was said of a condition itself; the engine file's own value is not said anew.
fn said(asked: &Asked) -> &str {
    let known = asked.known.as_deref().unwrap_or_default();
    if known.ends_with(BY_ENGINE) {
        ""
    } else {
        known
    }
}

/// How a known value ends that the engine file states.
const BY_ENGINE: &str = ", by the engine file";

impl BeginPage<'_> {
    fn condition(&self, asked: &Asked) -> String {
        let typed = sent(self.filled, &format!("{CONDITION}{}", asked.name));
        typed.unwrap_or(said(asked)).to_owned()
    }

    /// What is known of a condition beside what stands in its field.
    fn beside(&self, asked: &Asked) -> String {
        match (&asked.known, &asked.before) {
            (Some(known), _) if known.ends_with(BY_ENGINE) => {
                format!("{known}, unless it is said here.")
            }
            (Some(_), _) => String::new(),
            (None, Some(before)) => format!("It was {before} in an earlier session: say it anew."),
            (None, None) => String::new(),
        }
    }

    /// Whether there are readings of which a condition says nothing.
    fn leaves_out(&self) -> bool {
        let mut asked = self.of.route.asked.iter();
        asked.any(|one| one.first_left_out.is_some())
    }

    /// Which readings have nothing said of a condition; empty where there is none.
    fn left_out(&self, asked: &Asked) -> String {
        let Some(first) = &asked.first_left_out else {
            return String::new();
        };
        match asked.left_out {
            1 => format!("Also for reading {first}, of which nothing is said"),
            many => format!(
                "Also for the {many} readings kept before, from reading {first} on, of which nothing is said"
            ),
        }
    }

    fn is_since(&self, asked: &Asked) -> bool {
        sent(self.filled, &format!("{SINCE}{}", asked.name)).is_some()
    }

    /// The gauges that measure a kind.
    fn fitting(&self, kind: &str) -> Vec<&str> {
        let all = self.of.gauges.iter().filter(|one| one.kind == kind);
        all.map(|one| one.setup.name.as_str()).collect()
    }

    fn is_chosen(&self, kind: &str, gauge: &str) -> bool {
        sent(self.filled, &format!("{GAUGE}{kind}")) == Some(gauge)
    }

    fn list(&self, name: &str, usual: &[String]) -> String {
        let typed = sent(self.filled, &format!("{LIST}{name}"));
        typed.map_or_else(|| usual.join(" "), str::to_owned)
    }

    /// Whether the values of a list are sizes, which have a unit.
    fn has_units(&self, usual: &[String]) -> bool {
        let size = |text: &String| text.parse::<benchhand_blueprint::Quantity>().is_ok();
        usual.iter().any(size)
    }

    /// What a list of a route is called.
    fn list_label(&self, name: &str) -> String {
        match name {
            "lift" => "Lifts".to_owned(),
            other => benchhand_words::conditions::condition(other).label,
        }
    }

    fn is_choice(&self, asked: &Asked, value: &str) -> bool {
        asked.choices.iter().any(|choice| choice.value == value)
    }

    fn field(&self, name: &str) -> &str {
        sent(self.filled, name).unwrap_or_default()
    }

    fn rounds(&self) -> String {
        let typed = sent(self.filled, "rounds").filter(|typed| !typed.is_empty());
        typed.map_or_else(|| self.of.route.rounds.to_string(), str::to_owned)
    }

    /// Whether this very route stands half-way: it goes on there, unless it is to begin again.
    fn stands(&self) -> Option<&RouteProgress> {
        let standing = self.of.standing?;
        (standing.route == self.of.route.name && !standing.done).then_some(standing)
    }

    fn here(&self) -> String {
        address::begin(self.of.job, &self.of.route.name, &[])
    }

    /// Where a gauge is zeroed that has no zero yet, with both names filled in.
    fn zero_form(&self) -> Option<String> {
        match &**self.refusal?.next_step.as_ref()? {
            benchhand_wire::MendingStep::Zero { gauge, job } => Some(address::form(
                "gauges/zero",
                &self.here(),
                &[("name", gauge), ("job", job)],
            )),
        }
    }
}

/// The page. `key` makes a repeated sending count once.
///
/// # Errors
/// A fault of the template.
pub fn begin(
    frame: &PageFrame,
    of: RouteToBegin<'_>,
    filled: &FilledFields,
    key: &str,
    refusal: Option<&Refusal>,
) -> Page {
    BeginPage {
        frame,
        of,
        filled,
        key,
        refusal,
    }
    .render()
}

/// What was filled in, as a route to begin. What stands as it was offered is not said anew.
///
/// # Errors
/// What cannot be used, and what is expected.
pub fn route_asked(
    route: &RouteInfo,
    filled: &FilledFields,
) -> Result<RouteAsked, (String, &'static str)> {
    let typed = |name: &str| sent(filled, name).filter(|text| !text.is_empty());
    let conditions = route.asked.iter().filter_map(|one| {
        let value = typed(&format!("{CONDITION}{}", one.name))?;
        let since = typed(&format!("{SINCE}{}", one.name)).map(str::to_owned);
        (value != said(one) || since.is_some()).then(|| ConditionAsked {
            name: one.name.clone(),
            value: points(value),
            since,
        })
    });
    let gauges = route.needs.iter().filter_map(|kind| {
        let gauge = typed(&format!("{GAUGE}{kind}"))?;
        Some((kind.clone(), gauge.to_owned()))
    });
    let lists = route.lists.iter().filter_map(|(name, usual)| {
        let all = typed(&format!("{LIST}{name}"))?;
        let all = listed(all).map_err(|doubt| {
            let found = format!("{name}: {doubt}");
            (found, "values with a blank between two, such as 0.1 0.2")
        });
        match all {
            Ok(all) => (all != *usual).then(|| Ok((name.clone(), all))),
            Err(refused) => Some(Err(refused)),
        }
    });
    let lists = lists.collect::<Result<_, _>>()?;
    let cylinders = typed("cylinders").unwrap_or_default();
    let cylinders = cylinders
        .split([',', ' '])
        .filter(|word| !word.is_empty())
        .map(|word| word.parse::<u32>())
        .collect::<Result<_, _>>()
        .map_err(|_| {
            (
                format!("cylinders: {cylinders:?}"),
                "cylinders, such as 1 3 5",
            )
        })?;
    let rounds = match typed("rounds") {
        None => None,
        Some(text) => Some(
            text.parse()
                .map_err(|_| (format!("rounds: {text:?}"), "a whole number"))?,
        ),
    };
    Ok(RouteAsked {
        conditions: conditions.collect(),
        gauges: gauges.collect(),
        cylinders,
        lists,
        rounds: rounds.filter(|rounds| *rounds != route.rounds),
        afresh: typed("afresh") == Some("yes"),
        by: typed("by").map(str::to_owned),
    })
}
