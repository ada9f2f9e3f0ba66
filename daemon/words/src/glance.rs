//! The answer to a question at a glance: what it comes to, and a row for each that it is about.

use benchhand_blueprint::answers::{
    Answer, AnswerDocument, BeforeAfter, ComparedAnswer, ComparedPort, MillAnswer,
};
use benchhand_blueprint::decide::ChamberWork;
use benchhand_blueprint::{Figure, Unit};

use crate::digits::{rounded, rounded_like_u};
use crate::stated::both;

/// An answer at a glance.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Glance {
    /// What it comes to: a name and a value with its ±.
    pub rows: Vec<(String, String)>,
    /// The headings of the table; empty where there is none.
    pub headings: Vec<&'static str>,
    /// The table's rows, each with a cell for every heading.
    pub table: Vec<Vec<String>>,
    /// What to look at first.
    pub warnings: Vec<String>,
}

/// An answer at a glance.
pub fn glance(answered: &AnswerDocument) -> Glance {
    match &answered.answer {
        Answer::Mill(answer) => mill(answer),
        Answer::Chambers(answer) => chambers(answer),
        Answer::WhatIf(answer) | Answer::Compare(answer) => compared(answer),
        Answer::Ports(answer) => of_table(&PORTS, ports(&answer.ports)),
        Answer::Dome(answer) => Glance {
            rows: vec![
                ("Aimed at".to_owned(), with_unit(&answer.target)),
                (
                    "Dome (+) or dish (-) to order".to_owned(),
                    with_unit(&answer.crown),
                ),
            ],
            warnings: answer.warnings.clone(),
            ..of_table(
                &["Cyl", "Dome or dish, cc", "Compression", "Off target"],
                answer.cylinders.iter().map(|one| {
                    vec![
                        one.cylinder.to_string(),
                        both(&one.crown),
                        both(&one.compression),
                        both(&one.off_target),
                    ]
                }),
            )
        },
        Answer::Gasket(answer) => Glance {
            rows: [
                Some(("Aimed at".to_owned(), with_unit(&answer.target))),
                answer
                    .thickness_wanted
                    .as_ref()
                    .map(|one| ("Thickness that reaches it".to_owned(), with_unit(one))),
            ]
            .into_iter()
            .flatten()
            .collect(),
            ..of_table(
                &["Gasket", "Compression", "Off target", "Least quench", ""],
                answer.gaskets.iter().map(|one| {
                    vec![
                        one.gasket.clone(),
                        or_none(one.compression_mean.as_ref()),
                        or_none(one.off_target.as_ref()),
                        or_none(one.least_quench.as_ref()),
                        one.refused.clone().unwrap_or_default(),
                    ]
                }),
            )
        },
        Answer::Fit(answer) => Glance {
            rows: vec![
                (
                    "Compression, average".to_owned(),
                    both(&answer.assignment.mean),
                ),
                (
                    "Compression, spread".to_owned(),
                    both(&answer.assignment.spread),
                ),
            ],
            ..of_table(
                &["Cyl", "Piston", "Rod", "Deck", "Compression"],
                answer.assignment.placed.iter().map(|one| {
                    vec![
                        one.cylinder.to_string(),
                        one.piston.clone(),
                        one.rod.clone(),
                        with_unit(&one.deck),
                        both(&one.compression),
                    ]
                }),
            )
        },
        Answer::Next(answer) => {
            let rows = answer.goals.iter().flat_map(|goal| {
                let of = goal.goal.to_string().replace('_', " ");
                goal.readings.iter().map(move |one| {
                    let now = one.u_now.value;
                    let less = 100.0 * (1.0 - one.u_after.value / now);
                    vec![
                        of.clone(),
                        crate::short::spot_said(&one.spot.to_string()),
                        format!("{} %", rounded(less, 1)),
                        one.readings.to_string(),
                    ]
                })
            });
            Glance {
                warnings: answer
                    .goals
                    .iter()
                    .filter_map(|one| one.none.clone())
                    .collect(),
                ..of_table(
                    &["Of", "Measure once more", "± falls by", "Readings now"],
                    rows,
                )
            }
        }
        Answer::Sensitivities(answer) => Glance {
            rows: vec![(
                format!("Compression of cylinder {}", answer.cylinder),
                both(&answer.compression),
            )],
            ..of_table(
                &["Input", "A step of", "Changes it by", "Its own ± makes"],
                answer.inputs.iter().map(|one| {
                    let own = one.contribution.as_ref().map(|one| 2.0 * one.value);
                    vec![
                        one.input.to_string(),
                        format!("{} {}", one.step.value, one.step.unit),
                        rounded(one.change.value, 4),
                        match own {
                            Some(width) if width > 0.0 => rounded_like_u(width),
                            Some(_) => "0".to_owned(),
                            None => "?".to_owned(),
                        },
                    ]
                }),
            )
        },
        Answer::Effective(answer) => Glance {
            rows: vec![
                (
                    "Intake closes after bottom dead centre".to_owned(),
                    plain(&answer.closing),
                ),
                ("Told at a lift of".to_owned(), plain(&answer.at_lift)),
            ],
            ..of_table(
                &["Cyl", "Compression", "Effective"],
                answer.cylinders.iter().map(|one| {
                    vec![
                        one.cylinder.to_string(),
                        both(&one.compression),
                        both(&one.effective),
                    ]
                }),
            )
        },
        Answer::Target(answer) => Glance {
            rows: vec![("Aimed at".to_owned(), with_unit(&answer.target))],
            ..of_table(
                &[
                    "Cyl",
                    "Compression",
                    "Total at TDC wanted, cc",
                    "To take away, cc",
                ],
                answer.cylinders.iter().map(|one| {
                    vec![
                        one.cylinder.to_string(),
                        both(&one.compression),
                        both(&one.clearance_wanted),
                        both(&one.remove),
                    ]
                }),
            )
        },
        Answer::Simulate(answer) => Glance {
            rows: vec![("Draws".to_owned(), answer.trials.to_string())],
            ..of_table(
                &["Figure", "By first order", "By simulation"],
                answer.figures.iter().map(|one| {
                    vec![
                        one.about.replace('_', " "),
                        with_unit(&one.first_order),
                        or_none(one.simulated.as_ref()),
                    ]
                }),
            )
        },
    }
}

const PORTS: [&str; 5] = ["Cyl", "Port", "Lift", "Difference, %", "Real"];
const COMPARED: [&str; 5] = ["Cyl", "Compression", "becomes", "by", "Chamber, cc"];

fn of_table(headings: &[&'static str], rows: impl IntoIterator<Item = Vec<String>>) -> Glance {
    Glance {
        headings: headings.to_vec(),
        table: rows.into_iter().collect(),
        ..Glance::default()
    }
}

fn with_unit(figure: &Figure) -> String {
    match figure.unit {
        Unit::One => both(figure),
        unit => format!("{} {unit}", both(figure)),
    }
}

/// A number that was chosen, with its unit.
fn plain(figure: &Figure) -> String {
    format!("{} {}", crate::stated::plain(figure), figure.unit)
}

fn or_none(figure: Option<&Figure>) -> String {
    figure.map_or("-".to_owned(), with_unit)
}

/// `10.48 → 10.61`.
fn becomes(pair: &BeforeAfter) -> String {
    format!("{} → {}", with_unit(&pair.before), with_unit(&pair.after))
}

fn means(mean: Option<&BeforeAfter>, spread: Option<&BeforeAfter>) -> Vec<(String, String)> {
    let named = [
        ("Compression, average", mean),
        ("Compression, spread", spread),
    ];
    let known = named
        .into_iter()
        .filter_map(|(name, pair)| Some((name.to_owned(), becomes(pair?))));
    known.collect()
}

fn mill(answer: &MillAnswer) -> Glance {
    let heads = answer.heads.iter().map(|head| {
        let told = match &head.why_not {
            Some(why) => why.clone(),
            None => with_unit(&head.depth),
        };
        (format!("Mill head {} by", head.head), told)
    });
    let mut rows: Vec<(String, String)> = heads.collect();
    rows.extend(means(
        answer.compression_mean.as_ref(),
        answer.compression_spread.as_ref(),
    ));
    let cylinders = answer.heads.iter().flat_map(|head| &head.cylinders);
    // What is true of both heads is said once.
    let mut warnings: Vec<String> = Vec::new();
    for warning in answer.heads.iter().flat_map(|head| &head.warnings) {
        if !warnings.contains(warning) {
            warnings.push(warning.clone());
        }
    }
    Glance {
        rows,
        warnings,
        ..of_table(
            &["Cyl", "Chamber", "Compression"],
            cylinders.map(|one| {
                let told =
                    |pair: &Option<BeforeAfter>| pair.as_ref().map_or("-".to_owned(), becomes);
                vec![
                    one.cylinder.to_string(),
                    told(&one.chamber),
                    told(&one.compression),
                ]
            }),
        )
    }
}

fn chambers(answer: &ChamberWork) -> Glance {
    let mut rows = vec![(
        "Sets the size".to_owned(),
        format!("cylinder {}", answer.reference),
    )];
    if let (Some(before), Some(after)) = (&answer.compression_before, &answer.compression_after) {
        let told = format!("{} → {}", both(before), both(after));
        rows.push(("Compression, average".to_owned(), told));
    }
    Glance {
        rows,
        ..of_table(
            &["Cyl", "Take out, cc", "Worth it"],
            answer.work.iter().map(|one| {
                let worth = match one.worth_it {
                    _ if one.cylinder == answer.reference => "leave it",
                    Some(true) => "yes",
                    Some(false) => "may be nothing",
                    None => "not judged",
                };
                vec![
                    one.cylinder.to_string(),
                    both(&one.remove),
                    worth.to_owned(),
                ]
            }),
        )
    }
}

fn compared(answer: &ComparedAnswer) -> Glance {
    let mut rows = means(
        answer.compression_mean.as_ref(),
        answer.compression_spread.as_ref(),
    );
    if answer.changes.is_empty() {
        let sides = format!("{} → {}", answer.before, answer.after);
        rows.insert(0, ("Beside each other".to_owned(), sides));
    }
    // A column of chambers that stay as they are says nothing.
    let moved = |pair: &BeforeAfter| pair.difference.value != 0.0;
    let mut chambers = answer.cylinders.iter();
    let chambers = chambers.any(|one| one.chamber.as_ref().is_some_and(moved));
    let shown = if chambers {
        COMPARED.len()
    } else {
        COMPARED.len() - 1
    };
    let cylinders = answer.cylinders.iter().map(|one| {
        let of = |get: fn(&BeforeAfter) -> &Figure| {
            one.compression
                .as_ref()
                .map_or("-".to_owned(), |pair| both(get(pair)))
        };
        let mut row = vec![
            one.cylinder.to_string(),
            of(|pair| &pair.before),
            of(|pair| &pair.after),
            of(|pair| &pair.difference),
            one.chamber.as_ref().map_or("-".to_owned(), becomes),
        ];
        row.truncate(shown);
        row
    });
    let mut warnings = answer.warnings.clone();
    warnings.extend(ports(&answer.flow).into_iter().map(|row| {
        let [cylinder, port, lift, by, real] = &row[..] else {
            return row.join(" ");
        };
        format!("Cylinder {cylinder} {port} at {lift}: flow {by} %, {real}")
    }));
    Glance {
        rows,
        warnings,
        ..of_table(&COMPARED[..shown], cylinders)
    }
}

fn ports(ports: &[ComparedPort]) -> Vec<Vec<String>> {
    let rows = ports.iter().flat_map(|one| {
        one.lifts.iter().map(|at| {
            let port = match &one.runner {
                Some(runner) => format!("{} {runner}", one.port),
                None => one.port.to_string(),
            };
            let real = match at.real {
                Some(true) => "real",
                Some(false) => "too close to call",
                None => "not judged",
            };
            vec![
                one.cylinder.to_string(),
                port,
                plain(&at.lift),
                percent(&at.difference),
                real.to_owned(),
            ]
        })
    });
    rows.collect()
}

/// A share as percent with its ±.
fn percent(share: &Figure) -> String {
    let width = share.expanded_known().map(|width| 100.0 * width);
    match width.filter(|width| *width > 0.0) {
        Some(width) => format!(
            "{} ± {}",
            rounded(100.0 * share.value, 1),
            rounded(width, 1)
        ),
        None => rounded(100.0 * share.value, 1),
    }
}
