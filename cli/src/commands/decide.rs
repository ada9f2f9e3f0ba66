//! `decide …`: about a job, or about an engine file and a CSV file alone. Both ask the same
//! question.

pub(super) mod asked;

use std::path::PathBuf;

use benchhand_blueprint::answers::{self, AnswerDocument, AskError, AskTrouble, Question, answer};
use benchhand_wire::{DecideJob, OtherSide, Reason, Refusal};
use benchhand_words::decide::whole;
use serde_json::Value;

use crate::args::{DecideCommand, JobOrFiles};
use crate::client::ask_waiting;
use crate::context::Context;
use crate::data::shown;
use crate::errors::{Exit, Failure};
use crate::files::Files;
use crate::show;

/// The other side of a comparison, as typed.
#[derive(Debug, Default)]
struct Other {
    stage: Option<String>,
    job: Option<String>,
    engine: Option<PathBuf>,
    readings: Option<PathBuf>,
}

/// Answers a question that is a decision.
///
/// # Errors
/// Why there is no answer.
pub(super) fn run(context: &mut Context, args: DecideCommand) -> Result<Exit, Failure> {
    let (of, question, other) = asked::of(args)?;
    let document = document(context, &of, &question, other)?;
    if context.json {
        context.out.document(&document)?;
    } else {
        context
            .out
            .text(&show::told(&whole(&understood(document)?)))?;
    }
    Ok(Exit::Done)
}

/// The simulated figures of a report, as a separate document.
///
/// # Errors
/// Why there are no figures.
pub(super) fn simulated(
    context: &Context,
    of: &JobOrFiles,
    trials: usize,
    seed: Option<u64>,
) -> Result<Value, Refusal> {
    let question = Question::Simulate(answers::SimulateAsked {
        trials: Some(trials),
        seed,
    });
    document(context, of, &question, None)
}

/// Parses an answer so that it can be shown to a person.
///
/// # Errors
/// A daemon of another version gave the answer.
pub(super) fn understood(document: Value) -> Result<AnswerDocument, Refusal> {
    serde_json::from_value(document).map_err(|error| not_understood(&error))
}

/// The answer as the document that `--json` prints. It is passed on unchanged, because a newer
/// daemon may say more than this version knows.
fn document(
    context: &Context,
    of: &JobOrFiles,
    question: &Question,
    other: Option<Other>,
) -> Result<Value, Refusal> {
    if let (Some(engine), Some(readings)) = (&of.engine, &of.readings) {
        let files = Files::read(engine, readings, of.stage.clone())?;
        let named = |other: &Other| other.stage.is_some() || other.readings.is_some();
        let other = match other.filter(named) {
            None => None,
            Some(other) => {
                let name = other.readings.as_deref().map(shown);
                let from = other.engine.as_deref().unwrap_or(engine);
                let csv = other.readings.as_deref().unwrap_or(readings);
                Some((name, Files::read(from, csv, other.stage)?))
            }
        };
        let against = other.as_ref().map(|(name, files)| answers::ComparedWith {
            inputs: files.inputs(),
            job: name.as_deref(),
        });
        let answered =
            answer(&files.inputs(), against.as_ref(), question).map_err(|error| refused(&error))?;
        return serde_json::to_value(answered).map_err(|error| not_understood(&error));
    }
    let against = other
        .filter(|other| other.stage.is_some() || other.job.is_some())
        .map(|other| OtherSide {
            job: other.job,
            stage: other.stage,
        });
    let request = DecideJob {
        job: of.job.clone().unwrap_or_default(),
        stage: of.stage.clone(),
        question: serde_json::to_value(question).map_err(|error| not_understood(&error))?,
        against,
    };
    Ok(ask_waiting(&*context.client()?, &request, "working it out")?.document)
}

/// Turns the blueprint's error into a refusal.
pub(super) fn refused(error: &AskError) -> Refusal {
    let reason = match error.trouble {
        AskTrouble::Bad => Reason::BadInput,
        AskTrouble::Missing => Reason::NotFound,
    };
    Refusal::new(reason, error.found.clone())
        .expected(error.expected.clone())
        .todo(error.todo.clone())
}

fn not_understood(error: &serde_json::Error) -> Refusal {
    Refusal::new(
        Reason::Unavailable,
        format!("the answer is not understood: {error}"),
    )
    .todo("end the daemon with `benchhand stop` and try again; it may be of another version")
}
