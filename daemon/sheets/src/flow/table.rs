//! A table over the lifts: the ports of one kind, with one kind of runner.

use benchhand_blueprint::answers::ComparedFlowAtLift;
use benchhand_blueprint::report::{FlowAtLift, FlowReport, Report};
use benchhand_blueprint::{Figure, Unit};
use benchhand_words::digits::{decimals_of, rounded, usual_decimals};
use benchhand_words::over_lift::{kind_of_port, told_flow};
use benchhand_words::short::middle;
use benchhand_words::stated::{half_width, width_told};

use super::change::{self, FlowBefore};

/// Lifts in the engine's unit that differ by less are one lift: the same number was converted twice.
const LIFT_APART: f64 = 1e-6;

/// A table of more rows than this is set closer, and stands on one page as a whole.
const FEW_ROWS: usize = 8;

/// The ports of one kind, with one kind of runner.
pub(crate) struct Kind {
    pub(crate) name: String,
    pub(crate) unit: String,
    pub(crate) lift_unit: String,
    pub(crate) lifts: Vec<String>,
    pub(crate) rows: Vec<Row>,
    /// Mean, spread, ±, and the stage before.
    pub(crate) below: Vec<Row>,
    pub(crate) coefficients: Vec<Coefficients>,
    /// Why it has no coefficients; empty where it has some.
    pub(crate) no_coefficients: &'static str,
    /// Whether a change from the stage before stands in it.
    pub(crate) has_changes: bool,
    /// Whether it has many rows.
    pub(crate) many: bool,
}

/// Coefficients by one area.
pub(crate) struct Coefficients {
    pub(crate) area: String,
    pub(crate) rows: Vec<Row>,
    /// The ± of each.
    pub(crate) width: Row,
}

/// A row of a table over the lifts.
pub(crate) struct Row {
    /// The row's heading, e.g. a cylinder's number.
    pub(crate) name: String,
    /// The cells, each with its name and its text.
    pub(crate) cells: Vec<(String, String)>,
}

/// Which flow of its ports a table tells.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Told {
    /// That at the reference depression, or the ratio of the areas: ports stand beside each other.
    Compared,
    /// That at its own test pressure, of ports that have no other flow.
    Measured,
}

impl Told {
    pub(super) fn of(self, one: &FlowReport) -> Option<&Figure> {
        match self {
            Told::Compared => told_flow(one),
            Told::Measured => one
                .flow
                .as_ref()
                .filter(|_| one.flow_at_reference.is_none()),
        }
    }
}

/// The decimals in which figures of about this ± are told, as the report tells each of them.
fn digits_of<'a>(figures: impl Iterator<Item = &'a Figure>) -> i32 {
    let all: Vec<&Figure> = figures.collect();
    let usual = all
        .first()
        .map_or(0, |one| usual_decimals(one.unit.symbol()));
    let widths = all.iter().filter_map(|one| half_width(one));
    let width = middle(widths.filter(|width| *width > 0.0).collect());
    width.map_or(usual, |width| decimals_of(width).min(usual + 1))
}

/// "27.8 to 28.2", of those that have the first one's unit.
pub(super) fn between(figures: &[&Figure]) -> String {
    let unit = figures.first().map(|one| one.unit);
    let alike = || figures.iter().filter(|one| Some(one.unit) == unit).copied();
    let usual = unit.map_or(0, |unit| usual_decimals(unit.symbol()));
    let digits = digits_of(alike()).min(usual);
    let low = alike().map(|one| one.value).fold(f64::INFINITY, f64::min);
    let high = alike()
        .map(|one| one.value)
        .fold(f64::NEG_INFINITY, f64::max);
    let (low, high) = (rounded(low, digits), rounded(high, digits));
    match low == high {
        true => low,
        false => format!("{low} to {high}"),
    }
}

/// What one table is about.
pub(super) struct Table<'a> {
    report: &'a Report,
    told: Told,
    name: String,
    unit: Unit,
    own: Vec<&'a FlowReport>,
    lifts: Vec<f64>,
    /// The lifts as they are told.
    heads: Vec<String>,
    cylinders: Vec<u32>,
}

impl<'a> Table<'a> {
    pub(super) fn of(report: &'a Report, kind: &str, told: Told) -> Option<Table<'a>> {
        let own = report.flow.iter();
        let own = own.filter(|one| kind_of_port(one) == kind && told.of(one).is_some());
        let own: Vec<&FlowReport> = own.collect();
        let first = own.first()?;
        let mut lifts: Vec<f64> = own.iter().map(|one| one.lift.value).collect();
        lifts.sort_by(f64::total_cmp);
        lifts.dedup();
        let mut cylinders: Vec<u32> = own.iter().map(|one| one.cylinder).collect();
        cylinders.sort_unstable();
        cylinders.dedup();
        let decimals = usual_decimals(first.lift.unit.symbol()) - 1;
        Some(Table {
            report,
            told,
            name: match told {
                Told::Compared => kind.to_owned(),
                Told::Measured => format!("{kind} as measured"),
            },
            unit: told.of(first)?.unit,
            heads: lifts.iter().map(|lift| rounded(*lift, decimals)).collect(),
            lifts,
            cylinders,
            own,
        })
    }

    fn at(&self, cylinder: u32, lift: f64) -> Option<&'a FlowReport> {
        let mut all = self.own.iter();
        all.find(|one| one.cylinder == cylinder && one.lift.value == lift)
            .copied()
    }

    /// The ports at a lift whose flow has the table's unit, each with that flow.
    fn flows(&self, lift: f64) -> impl Iterator<Item = (&'a FlowReport, &'a Figure)> {
        let own = self.own.iter().filter(move |one| one.lift.value == lift);
        let flows = own.filter_map(|one| Some((*one, self.told.of(one)?)));
        flows.filter(|(_, figure)| figure.unit == self.unit)
    }

    fn digits(&self, lift: f64) -> i32 {
        digits_of(self.flows(lift).map(|(_, figure)| figure))
    }

    fn row(&self, name: &str, text: impl Fn(f64) -> Option<String>) -> Row {
        self.row_of("", name, text)
    }

    /// A row over the lifts; `about` stands before the names of its cells.
    fn row_of(&self, about: &str, name: &str, text: impl Fn(f64) -> Option<String>) -> Row {
        let cells = self.lifts.iter().zip(&self.heads).map(|(lift, head)| {
            let cell = text(*lift).unwrap_or_else(|| "–".to_owned());
            (format!("{about}{} {name} at {head}", self.name), cell)
        });
        Row {
            name: name.to_owned(),
            cells: cells.collect(),
        }
    }

    /// The mean of the ports at a lift.
    fn mean(&self, lift: f64) -> Option<&'a FlowAtLift> {
        let first = self.own.first()?;
        self.report.flow_by_lift.iter().find(|one| {
            let kind = (&one.port, &one.runner) == (&first.port, &first.runner);
            kind && one.lift.value == lift && one.mean.unit == self.unit
        })
    }

    pub(super) fn kind(&self, before: Option<&FlowBefore<'_>>) -> Option<Kind> {
        let rows = self.cylinders.iter().map(|cylinder| {
            self.row(&cylinder.to_string(), |lift| {
                let figure = self.told.of(self.at(*cylinder, lift)?)?;
                (figure.unit == self.unit).then(|| rounded(figure.value, self.digits(lift)))
            })
        });
        let rows: Vec<Row> = rows.collect();
        let coefficients = match self.told {
            Told::Compared => self.coefficients(),
            Told::Measured => Vec::new(),
        };
        let changes = before.filter(|_| self.told == Told::Compared);
        let changes = changes.map_or(Vec::new(), |before| self.changes(before));
        let areas = self.own.iter().any(|one| one.effective_area.is_some());
        Some(Kind {
            unit: match self.unit.symbol() {
                "1" => "ratio of areas".to_owned(),
                symbol => symbol.to_owned(),
            },
            lift_unit: self.own.first()?.lift.unit.symbol().to_owned(),
            many: rows.len() > FEW_ROWS,
            rows,
            has_changes: !changes.is_empty(),
            below: self.below().into_iter().chain(changes).collect(),
            no_coefficients: match (coefficients.is_empty(), areas) {
                (true, true) => "the port's valve, throat and stem are not known",
                (true, false) => {
                    "the port's effective area is not known: it takes the orifice of the bench, or how \
                     the bench counts its flow, and the air in the room"
                }
                (false, _) => "",
            },
            coefficients,
            lifts: self.heads.clone(),
            name: self.name.clone(),
        })
    }

    /// Average, spread and ±, and the test pressures where each flow is at its own.
    fn below(&self) -> Vec<Row> {
        let mut below = Vec::new();
        let compared = self.told == Told::Compared;
        if compared && self.cylinders.len() > 1 {
            let told = |lift: f64, get: fn(&FlowAtLift) -> &Figure| {
                let mean = self.mean(lift)?;
                Some(rounded(get(mean).value, self.digits(lift)))
            };
            below.push(self.row("average", |lift| told(lift, |one| &one.mean)));
            below.push(self.row("spread", |lift| told(lift, |one| &one.spread)));
        }
        below.push(self.row("±, each", |lift| {
            let widths = self
                .flows(lift)
                .filter_map(|(_, figure)| half_width(figure));
            let usual = middle(widths.collect());
            let told = usual.map(|usual| width_told(usual, self.digits(lift)));
            Some(told.unwrap_or("?".to_owned()))
        }));
        if !compared {
            let tests = |lift: f64| -> Vec<&Figure> {
                let tests = self.flows(lift);
                tests
                    .filter_map(|(one, _)| one.test_pressure.as_ref())
                    .collect()
            };
            let unit = self.own.iter().find_map(|one| one.test_pressure.as_ref());
            let unit = unit.map_or(String::new(), |one| format!(", {}", one.unit));
            below.push(self.row(&format!("tested at{unit}"), |lift| {
                let tests = tests(lift);
                tests.first()?;
                Some(between(&tests))
            }));
        }
        below
    }

    /// What the stage before had, and how far it is to this one; nothing where it has none of these
    /// ports.
    fn changes(&self, before: &FlowBefore<'_>) -> Vec<Row> {
        let alone = self.cylinders.len() == 1;
        let change = |lift: f64| {
            let first = self.own.first()?;
            before.changes.iter().find(|one| {
                let kind = (&one.port, &one.runner) == (&first.port, &first.runner);
                kind && (one.lift.value - lift).abs() < LIFT_APART
            })
        };
        // Of the cylinders that both stages have, or one port would stand beside all.
        let was = |lift: f64| -> Option<f64> {
            let cylinders = &change(lift)?.cylinders;
            let own = self.flows(lift).map(|(one, _)| one);
            let both = own.filter(|one| cylinders.contains(&one.cylinder));
            let known: Option<Vec<f64>> = both
                .map(|one| {
                    let was = before.report.flow.iter().find(|was| was.spot == one.spot)?;
                    let flow = told_flow(was).filter(|figure| figure.unit == self.unit)?;
                    Some(flow.value)
                })
                .collect();
            let known = known.filter(|known| known.len() == cylinders.len())?;
            Some(known.iter().sum::<f64>() / known.len() as f64)
        };
        if !self.lifts.iter().any(|lift| was(*lift).is_some()) {
            return Vec::new();
        }
        let told = |lift: f64, text: fn(&ComparedFlowAtLift) -> String| {
            was(lift)?;
            Some(text(change(lift)?))
        };
        let name = if alone { "before" } else { "average before" };
        vec![
            self.row(name, |lift| Some(rounded(was(lift)?, self.digits(lift)))),
            self.row("change, %", |lift| told(lift, change::told)),
            self.row("± of it", |lift| told(lift, change::width)),
            self.row("real", |lift| {
                told(lift, |one| change::judged(one).to_owned())
            }),
        ]
    }

    fn coefficients(&self) -> Vec<Coefficients> {
        let mut areas: Vec<String> = Vec::new();
        for area in self.own.iter().flat_map(|one| &one.coefficients) {
            let named = area.by_area.to_string();
            if !areas.contains(&named) {
                areas.push(named);
            }
        }
        areas.into_iter().map(|area| self.by_area(area)).collect()
    }

    fn by_area(&self, area: String) -> Coefficients {
        let of = |one: &'a FlowReport| {
            let mut all = one.coefficients.iter();
            let found = all.find(|one| one.by_area.to_string() == area)?;
            Some(&found.coefficient)
        };
        let at_lift = |lift: f64| self.flows(lift).filter_map(move |(one, _)| of(one));
        let about = format!("coefficient by {area}, ");
        let rows = self.cylinders.iter().map(|cylinder| {
            self.row_of(&about, &cylinder.to_string(), |lift| {
                let figure = of(self.at(*cylinder, lift)?)?;
                Some(rounded(figure.value, digits_of(at_lift(lift))))
            })
        });
        let rows: Vec<Row> = rows.collect();
        let width = self.row_of(&about, "±, each", |lift| {
            at_lift(lift).next()?;
            let usual = middle(at_lift(lift).filter_map(half_width).collect());
            let told = usual.map(|usual| width_told(usual, digits_of(at_lift(lift))));
            Some(told.unwrap_or("?".to_owned()))
        });
        Coefficients {
            rows,
            width,
            area: match area.ends_with("area") {
                true => area,
                false => format!("{area} area"),
            },
        }
    }
}
