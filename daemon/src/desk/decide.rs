//! Questions whose answer is a decision. The blueprint answers them; nothing is decided here.

use std::collections::BTreeSet;

use benchhand_blueprint::Spot;
use benchhand_blueprint::answers::{AskError, AskTrouble, ComparedWith, Question, answer};
use benchhand_blueprint::spot::SpotFamily;
use benchhand_wire::{DecideAnswer, DecideJob, Reason, Refusal};

use super::{Answers, Desk};
use crate::known::{told, zero_checks};

impl Answers<DecideJob> for Desk {
    fn answer(&self, ask: DecideJob, _: Option<&str>) -> Result<DecideAnswer, Refusal> {
        let question: Question = serde_json::from_value(ask.question).map_err(|error| {
            Refusal::new(
                Reason::BadInput,
                format!("the question is not understood: {error}"),
            )
            .todo("docs/commands.md lists the questions with their fields")
        })?;
        let (view, _) = self.keeper.view(&ask.job)?;
        let asked = told::asked(&self.keeper, &view, ask.stage.as_deref())?;
        let other = match &ask.against {
            None => None,
            Some(against) => {
                let job = against.job.as_deref().filter(|job| *job != ask.job);
                let (view, _) = self.keeper.view(job.unwrap_or(&ask.job))?;
                Some((
                    job,
                    told::asked(&self.keeper, &view, against.stage.as_deref())?,
                ))
            }
        };
        let against = other.as_ref().map(|(job, asked)| ComparedWith {
            inputs: asked.inputs(),
            job: *job,
        });
        let mut answered = answer(&asked.inputs(), against.as_ref(), &question)
            .map_err(|error| refused(&error))?;
        // Nobody cuts metal by readings in doubt without having been told: it stands before all else.
        let mut doubts = zero_checks::in_doubt(&view, &asked.holding());
        for spots in doubts.values_mut() {
            spots.retain(|spot| rests_on(&question, spot));
        }
        doubts.retain(|_, spots| !spots.is_empty());
        let doubts = doubts.iter().map(|(why, spots)| doubt(why, spots));
        answered.cautions.splice(0..0, doubts);
        let document = serde_json::to_value(answered)
            .map_err(|e| Refusal::new(Reason::Unavailable, format!("the answer: {e}")))?;
        Ok(DecideAnswer { document })
    }
}

/// Whether an answer can rest on the readings of a spot: what the flow bench measured is in no volume,
/// and no volume in what ports are compared by.
fn rests_on(question: &Question, spot: &str) -> bool {
    let flow = spot
        .parse::<Spot>()
        .is_ok_and(|spot| spot.family() == SpotFamily::Flow);
    match question {
        Question::Compare(_) => true,
        Question::Ports(_) => flow,
        _ => !flow,
    }
}

/// Readings that an answer rests on and that are in doubt, in a sentence.
fn doubt(why: &str, spots: &BTreeSet<String>) -> String {
    let named = benchhand_words::not_measured(spots.iter().map(String::as_str));
    format!(
        "This rests on readings in doubt ({}): {why}. Measure them again first.",
        named.join(", ")
    )
}

fn refused(error: &AskError) -> Refusal {
    let reason = match error.trouble {
        AskTrouble::Bad => Reason::BadInput,
        AskTrouble::Missing => Reason::NotFound,
    };
    Refusal::new(reason, error.found.clone())
        .expected(error.expected.clone())
        .todo(error.todo.clone())
}
