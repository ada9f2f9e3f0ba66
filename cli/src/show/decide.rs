//! Decisions as text: the answer first, then its basis, cautions last. For a cut the cautions come
//! before any figure.

mod compared;
mod dome;
mod known;
mod mill;
mod parts;
mod studies;

use benchhand_blueprint as blueprint;
use blueprint::Figure;
use blueprint::answers::{Answer, AnswerDocument};

use super::figure::{cell, sentence};
use super::wrapped;

pub(crate) use studies::{study, tdc};

/// A whole answer.
pub(crate) fn whole(answered: &AnswerDocument) -> String {
    let mut text = answered.engine.clone();
    if answered.invented {
        text += " (INVENTED engine, invented readings)";
    }
    text += &format!("\nstage: {}\n\n", answered.stage);
    let cautions = listed("Cautions", "  ! ", &answered.cautions);
    let first = matches!(answered.answer, Answer::Mill(_));
    if first {
        text += &format!("{}\n", cautions.trim_start());
    }
    text += &of(&answered.answer);
    text += &listed("To be known", "  ", &answered.remarks);
    if !first {
        text += &cautions;
    }
    text
}

/// An answer without what the report before it has already said.
pub(crate) fn answer_alone(answered: &AnswerDocument) -> String {
    of(&answered.answer) + &listed("To be known", "  ", &answered.remarks)
}

fn of(answer: &Answer) -> String {
    match answer {
        Answer::Mill(answer) => mill::text(answer),
        Answer::Chambers(answer) => parts::chambers(answer),
        Answer::Dome(answer) => dome::text(answer),
        Answer::Gasket(answer) => parts::gasket(answer),
        Answer::Fit(answer) => parts::fit(answer),
        Answer::Next(answer) => known::next(answer),
        Answer::WhatIf(answer) | Answer::Compare(answer) => compared::text(answer),
        Answer::Ports(answer) => compared::ports(&answer.ports, "the others of its kind"),
        Answer::Sensitivities(answer) => known::sensitivities(answer),
        Answer::Effective(answer) => known::effective(answer),
        Answer::Target(answer) => known::target(answer),
        Answer::Simulate(answer) => known::simulated(answer),
    }
}

fn listed(title: &str, mark: &str, lines: &[String]) -> String {
    if lines.is_empty() {
        return String::new();
    }
    let lines: String = lines.iter().map(|line| wrapped(mark, line)).collect();
    format!("\n{title}\n{lines}")
}

fn wire(figure: Figure) -> benchhand_wire::Figure {
    benchhand_wire::Figure {
        value: figure.value,
        u: figure.u.or(figure.u_known),
        unit: figure.unit.to_string(),
    }
}

/// A figure with its unit, for a sentence.
fn said(figure: Figure) -> String {
    sentence(&wire(figure))
}

/// A figure for a table whose heading has the unit.
fn shown(figure: Figure) -> String {
    cell(&wire(figure))
}

/// The same for a figure that may be missing.
fn shown_or(figure: Option<Figure>) -> String {
    figure.map_or_else(|| "missing".to_owned(), shown)
}

/// A chosen value, with its unit and without an uncertainty.
fn bare(figure: Figure) -> String {
    super::figure::plain(figure.value, &figure.unit.to_string())
}
