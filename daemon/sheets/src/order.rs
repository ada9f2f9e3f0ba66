//! The order for the piston maker: one figure to make, with its tolerance, that nobody can misread.

use askama::Template;
use benchhand_blueprint::Figure;
use benchhand_blueprint::answers::{Answer, AnswerDocument, DomeAnswer};
use benchhand_blueprint::report::{CylinderReport, Report};
use benchhand_wire::OrderShown;
use benchhand_words::ShortReport;
use benchhand_words::decide::dome_tolerance;
use benchhand_words::digits::rounded;
use benchhand_words::ordered::line;
use benchhand_words::short::middle;
use benchhand_words::stated::{both, half_width};

use crate::Sheet;
use crate::facts::SheetFacts;
use crate::frame::{STYLE, SheetFrame};
use crate::sizes::{TwoUnits, chosen_in_two, in_two, nominal, of_stated, shape, width_in};

#[derive(Template)]
#[template(path = "order.html")]
struct OrderSheet<'a> {
    frame: SheetFrame<'a>,
    shape: &'static str,
    volume: TwoUnits,
    tolerance: Option<TwoUnits>,
    /// What stands in place of a tolerance.
    no_tolerance: &'static str,
    tolerance_told: String,
    signed: [String; 2],
    known_to: String,
    target: String,
    pistons: usize,
    sizes: Vec<Size>,
    rests_on: Vec<Size>,
    rows: Vec<Row>,
    bore_unit: String,
    deck_unit: String,
    doubts: Vec<&'a str>,
    warnings: Vec<String>,
    entered: Vec<String>,
    cautions: &'a [String],
    remarks: &'a [String],
}

/// A size to make or to rest on; empty where nobody has stated it.
struct Size {
    name: &'static str,
    value: Option<TwoUnits>,
}

/// A cylinder, with what it would want for itself.
struct Row {
    cylinder: u32,
    bore: String,
    chamber: String,
    deck: String,
    wants: String,
    compression: String,
    off: String,
}

/// The order for a dome or dish, from the answer to a `dome` question; `None` where `answered` is the
/// answer to another one.
///
/// # Errors
/// A fault of the template.
pub fn order(facts: &SheetFacts<'_>, answered: &AnswerDocument) -> Option<Sheet> {
    let Answer::Dome(answer) = &answered.answer else {
        return None;
    };
    let report = facts.report;
    let short = ShortReport::new(report, &facts.note.job, facts.kept);
    let crown = &answer.crown;
    let magnitude = Figure::bare(crown.value.abs(), crown.unit);
    let doubts = short.checks.iter().filter(|check| check.marked);
    let sheet = OrderSheet {
        frame: SheetFrame::new("Piston order", facts),
        shape: shape(crown.value),
        volume: chosen_in_two(&magnitude),
        tolerance: answer.tolerance.as_ref().map(chosen_in_two),
        no_tolerance: match &answer.ratio_tolerance {
            Some(_) => "none is left",
            None => "none stated",
        },
        tolerance_told: format!("{}.", dome_tolerance(answer).trim_end_matches('.')),
        signed: [crown, &answer.crown_dish_positive].map(signed),
        known_to: half_width(crown).map_or("not known".to_owned(), |width| {
            format!("± {} {}", width_in(width, 2), crown.unit)
        }),
        target: answer.target.value.to_string(),
        pistons: report.cylinders.len(),
        sizes: sizes(facts),
        rests_on: rests_on(facts),
        rows: answer
            .cylinders
            .iter()
            .map(|one| row(report, one))
            .collect(),
        bore_unit: unit(report.bores.iter().map(|bore| &bore.diameter).next()),
        deck_unit: unit(report.cylinders.iter().find_map(|one| one.deck.as_ref())),
        doubts: doubts.map(|check| check.text.as_str()).collect(),
        warnings: warnings(answer, report),
        entered: entered(facts),
        cautions: &answered.cautions,
        remarks: &answered.remarks,
    };
    Some(sheet.render())
}

/// What the record has as ordered, the last entry first and no more than two, so that the page holds
/// them; what no longer holds is left out.
fn entered(facts: &SheetFacts<'_>) -> Vec<String> {
    let holds = |order: &&OrderShown| order.parts.iter().any(|part| !part.replaced);
    facts
        .orders
        .iter()
        .rev()
        .filter(holds)
        .take(2)
        .map(line)
        .collect()
}

fn unit(figure: Option<&Figure>) -> String {
    figure.map_or(String::new(), |figure| figure.unit.to_string())
}

fn signed(figure: &Figure) -> String {
    let sign = if figure.value > 0.0 { "+" } else { "" };
    format!("{sign}{} {}", rounded(figure.value, 2), figure.unit)
}

/// What the piston is made to, besides its crown: nominal sizes. What is known of a size here is no
/// tolerance, and a ± beside it would be read as one.
fn sizes(facts: &SheetFacts<'_>) -> Vec<Size> {
    let piston = &facts.engine.piston;
    let stated = |name, value: &Option<_>| Size {
        name,
        value: value.as_ref().map(|value| nominal(&of_stated(value))),
    };
    vec![
        Size {
            name: "Bore",
            value: facts.report.inputs.bore.as_ref().map(nominal),
        },
        stated("Compression height", &piston.compression_height),
        stated("Skirt diameter", &piston.skirt),
        stated("Pin offset", &piston.pin_offset),
        Size {
            name: "Pin diameter",
            value: None,
        },
        Size {
            name: "Valve pocket, intake: diameter, depth",
            value: None,
        },
        Size {
            name: "Valve pocket, exhaust: diameter, depth",
            value: None,
        },
    ]
}

/// What the figure rests on.
fn rests_on(facts: &SheetFacts<'_>) -> Vec<Size> {
    let (used, engine) = (&facts.report.inputs, facts.engine);
    let summary = &facts.report.summary;
    let known = |name, figure: &Option<Figure>| Size {
        name,
        value: figure.as_ref().map(in_two),
    };
    let stated = |name, value: &Option<_>| Size {
        name,
        value: value.as_ref().map(|value| in_two(&of_stated(value))),
    };
    let all = vec![
        known("Stroke", &used.stroke),
        stated("Rod, centre to centre", &engine.rod),
        stated("Block height", &engine.block_height),
        known("Deck, average", &summary.deck_mean),
        known("Chamber, average", &summary.chamber_mean),
        known("Gasket opening", &used.gasket_bore),
        known("Gasket, compressed", &used.gasket_thickness),
        known("Volume above the top ring", &used.crevice),
    ];
    all.into_iter()
        .filter(|size| size.value.is_some())
        .collect()
}

fn row(report: &Report, one: &benchhand_blueprint::answers::CrownAt) -> Row {
    let cylinder = report.cylinder(one.cylinder);
    let of = |get: fn(&CylinderReport) -> Option<&Figure>| {
        let figure = cylinder.and_then(get);
        figure.map_or("–".to_owned(), both)
    };
    let bore = report
        .bores
        .iter()
        .find(|bore| bore.cylinder == one.cylinder);
    Row {
        cylinder: one.cylinder,
        bore: bore.map_or("–".to_owned(), |bore| both(&bore.diameter)),
        chamber: of(|one| one.chamber.as_ref()),
        deck: of(|one| one.deck.as_ref()),
        wants: format!(
            "{} {}",
            shape(one.crown.value),
            both(&Figure {
                value: one.crown.value.abs(),
                ..one.crown.clone()
            })
        ),
        compression: both(&one.compression),
        off: off(&one.off_target),
    }
}

/// How far off the target, with no digit that its ± swallows.
fn off(figure: &Figure) -> String {
    let told = both(figure);
    let value = told.split(" ±").next().unwrap_or_default();
    match figure.value > 0.0 && !value.starts_with('-') {
        true => format!("+{value}"),
        false => value.to_owned(),
    }
}

/// What stands against the order.
fn warnings(answer: &DomeAnswer, report: &Report) -> Vec<String> {
    let beyond = answer.beyond.iter().map(|cylinder| {
        format!(
            "cylinder {cylinder} is off the target by more than is allowed even with a perfect piston: it wants one of its own, or its chamber brought to the others' first"
        )
    });
    let none_left = answer.ratio_tolerance.is_some() && answer.tolerance.is_none();
    beyond
        .chain(answer.warnings.iter().cloned())
        .chain(none_left.then(|| dome_tolerance(answer)))
        .chain(not_to_be_checked(answer, report))
        .collect()
}

/// A tolerance that is narrower than what volumes are known to here: whether the pistons keep to it could
/// not be told when they come.
fn not_to_be_checked(answer: &DomeAnswer, report: &Report) -> Option<String> {
    let tolerance = answer.tolerance.as_ref()?;
    let chambers = report
        .cylinders
        .iter()
        .filter_map(|one| one.chamber.as_ref());
    let known_to = middle(chambers.filter_map(half_width).collect())?;
    (tolerance.value < known_to).then(|| {
        format!(
            "The tolerance is narrower than what a volume is known to here (± {} cc): whether a piston keeps to it cannot be told by this burette",
            width_in(known_to, 2)
        )
    })
}

impl OrderSheet<'_> {
    fn has_bores(&self) -> bool {
        self.rows.iter().any(|row| row.bore != "–")
    }
}
