//! Decisions in words: the answer first, then its basis, cautions last. For a cut the cautions come
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

pub use dome::tolerance as dome_tolerance;
pub use studies::{study, tdc};

use crate::stated::{both, plain};
use crate::told::ToldText;

/// The name of the engine as the first title of a document.
pub(crate) fn title(engine: &str, invented: bool) -> ToldText {
    ToldText::titled(match invented {
        true => format!("{engine} (INVENTED engine, invented readings)"),
        false => engine.to_owned(),
    })
}

/// A whole answer.
pub fn whole(answered: &AnswerDocument) -> ToldText {
    let mut told = title(&answered.engine, answered.invented);
    told += format!("stage: {}\n\n", answered.stage);
    let mut cautions = ToldText::default();
    listed(&mut cautions, "Cautions", "  ! ", &answered.cautions);
    let first = matches!(answered.answer, Answer::Mill(_));
    if first && !cautions.is_empty() {
        told += cautions.clone();
        told += "\n";
    }
    told += of(&answered.answer);
    notes(&mut told, &answered.remarks);
    if !first && !cautions.is_empty() {
        told += "\n";
        told += cautions;
    }
    told
}

/// An answer without what the report before it has already said.
pub fn answer_alone(answered: &AnswerDocument) -> ToldText {
    let mut told = of(&answered.answer);
    notes(&mut told, &answered.remarks);
    told
}

fn of(answer: &Answer) -> ToldText {
    match answer {
        Answer::Mill(answer) => mill::told(answer),
        Answer::Chambers(answer) => parts::chambers(answer),
        Answer::Dome(answer) => dome::told(answer),
        Answer::Gasket(answer) => parts::gasket(answer),
        Answer::Fit(answer) => parts::fit(answer),
        Answer::Next(answer) => known::next(answer),
        Answer::WhatIf(answer) | Answer::Compare(answer) => compared::told(answer),
        Answer::Ports(answer) => compared::ports(&answer.ports, "the others of its kind"),
        Answer::Sensitivities(answer) => known::sensitivities(answer),
        Answer::Effective(answer) => known::effective(answer),
        Answer::Target(answer) => known::target(answer),
        Answer::Simulate(answer) => known::simulated(answer),
    }
}

/// The notes below an answer.
fn notes(told: &mut ToldText, remarks: &[String]) {
    if !remarks.is_empty() {
        *told += "\n";
        listed(told, "Notes", "  ", remarks);
    }
}

/// A title with its lines; nothing where there are none.
fn listed(told: &mut ToldText, title: &str, mark: &str, lines: &[String]) {
    if lines.is_empty() {
        return;
    }
    told.title(title);
    for line in lines {
        told.wrapped(mark, line);
    }
}

/// `1 reading`, `2 readings`.
fn count(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

/// A figure for a table that may be missing.
fn both_or(figure: Option<&Figure>) -> String {
    figure.map_or_else(|| "missing".to_owned(), both)
}

/// A number that was chosen, of a table whose heading has the unit.
fn number(figure: &Figure) -> String {
    plain(figure)
}
