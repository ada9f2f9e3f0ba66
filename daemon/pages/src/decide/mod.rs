//! Decisions: the questions, and one of them with its answer beside it.

mod alone;
mod questions;

use askama::Template;
use benchhand_blueprint::answers::AnswerDocument;
use benchhand_wire::Refusal;
use benchhand_words::decide::whole;
use benchhand_words::told::{ToldPart, ToldText};
use serde_json::{Value, json};

use crate::form::{FieldKind, FilledFields, FormField, NotUsable, RequestForm, request_of};
use crate::{Page, PageFrame, address};
pub use alone::{STUDY, TDC, tdc_asked};
pub use questions::{AGAINST_JOB, AGAINST_STAGE, QUESTIONS, THICKNESS};

/// The field that leaves the chambers as they are, on a work order.
pub const NO_OPENING: &str = "no_opening";
/// The field that leaves the faces as they are, on a work order.
pub const NO_CUT: &str = "no_cut";

/// The form of a question, by its name.
pub fn question_of(name: &str) -> Option<&'static RequestForm> {
    QUESTIONS.iter().find(|one| one.request == name)
}

/// The question that was filled in, as a request carries it.
///
/// # Errors
/// The first field that cannot be used.
pub fn asked(
    form: &RequestForm,
    filled: &FilledFields,
    slider: Option<&ThicknessSlider>,
) -> Result<Value, NotUsable> {
    let mut question = request_of(form, filled)?;
    question["ask"] = json!(form.request);
    if let Some(fields) = question.as_object_mut() {
        fields.remove(AGAINST_JOB);
        fields.remove(AGAINST_STAGE);
    }
    // Who says nothing on the page gets the least metal; a question of an older sheet says nothing too,
    // and means what it meant.
    if form.request == "chambers" && question.get("equal").is_none() {
        question["equal"] = json!("allowed");
    }
    if form.request == "what-if" {
        let lines = question["set"].as_str().unwrap_or_default();
        let mut set: Vec<String> = lines
            .lines()
            .map(str::trim)
            .filter(|line| !line.is_empty())
            .map(str::to_owned)
            .collect();
        if let Some(slider) = slider {
            set.insert(0, slider.change());
        }
        question["set"] = json!(set);
    }
    Ok(question)
}

/// The gasket's thickness on a slider.
#[derive(Debug, Clone, PartialEq)]
pub struct ThicknessSlider {
    /// As it stands.
    pub at: f64,
    /// Its least.
    pub least: f64,
    /// Its most.
    pub most: f64,
    /// One step.
    pub step: f64,
    /// The unit.
    pub unit: String,
}

impl ThicknessSlider {
    /// A slider about the present thickness, from half of it to twice it.
    pub fn about(thickness: f64, unit: &str) -> Self {
        let step = if unit == "in" { 0.001 } else { 0.01 };
        let whole = |value: f64| (value / step).round() * step;
        Self {
            at: thickness,
            least: whole(0.5 * thickness).max(step),
            most: whole(2.0 * thickness),
            step,
            unit: unit.to_owned(),
        }
    }

    fn digits(&self, value: &f64) -> String {
        let decimals = if self.step < 0.005 { 3 } else { 2 };
        format!("{value:.decimals$}")
    }

    fn change(&self) -> String {
        format!("gasket thickness = {:.5} {}", self.at, self.unit)
    }
}

#[derive(Template)]
#[template(path = "decisions.html")]
struct DecisionsPage<'a> {
    frame: &'a PageFrame,
    job: &'a str,
}

/// The questions that can be asked of a job.
///
/// # Errors
/// A fault of the template.
pub fn decisions(frame: &PageFrame) -> Page {
    DecisionsPage {
        frame,
        job: frame.job.as_deref().unwrap_or_default(),
    }
    .render()
}

/// What stands beside a question.
#[derive(Debug, Clone)]
pub enum BesideQuestion {
    /// Its answer.
    Answer(Box<AnswerDocument>),
    /// The answer to a question that needs no job.
    Told(ToldText),
    /// Why there is none.
    Refused(Refusal),
    /// What the job lacks for an answer, before anybody filled the form in.
    StillNeeds(Refusal),
    /// Something needed is not filled in yet.
    Waiting,
}

#[derive(Template)]
#[template(path = "decide.html")]
struct DecidePage<'a> {
    frame: &'a PageFrame,
    job: &'a str,
    form: &'a RequestForm,
    filled: &'a FilledFields,
    slider: Option<&'a ThicknessSlider>,
    stages: &'a [String],
    beside: &'a BesideQuestion,
    told: Option<ToldText>,
}

/// A question with what is filled in, and what stands beside it. `stages` are those of the job.
///
/// # Errors
/// A fault of the template.
pub fn decide(
    frame: &PageFrame,
    form: &RequestForm,
    (filled, slider): (&FilledFields, Option<&ThicknessSlider>),
    stages: &[String],
    beside: &BesideQuestion,
) -> Page {
    let beside = match beside {
        BesideQuestion::Refused(refusal) => {
            BesideQuestion::Refused(form.refusal_in_labels(refusal))
        }
        BesideQuestion::StillNeeds(refusal) => {
            BesideQuestion::StillNeeds(form.refusal_in_labels(refusal))
        }
        other => other.clone(),
    };
    // In the words of the command.
    let told = match &beside {
        BesideQuestion::Answer(answer) => Some(whole(answer)),
        BesideQuestion::Told(told) => Some(told.clone()),
        _ => None,
    };
    DecidePage {
        told,
        frame,
        job: frame.job.as_deref().unwrap_or_default(),
        form,
        filled,
        slider,
        stages,
        beside: &beside,
    }
    .render()
}

impl DecidePage<'_> {
    fn value(&self, field: &FormField) -> &str {
        let found = self.filled.iter().find(|(name, _)| name == field.name);
        found.map_or("", |(_, value)| value)
    }

    /// The sheet that tells this answer, with what its button says.
    fn sheet(&self) -> Option<(String, &'static str)> {
        let (sheet, less, words) = match self.form.request {
            "dome" => ("order", None, "Open it as a piston order"),
            "mill" => ("work", Some(NO_OPENING), "Open it as a work order"),
            "chambers" => ("work", Some(NO_CUT), "Open it as a work order"),
            _ => return None,
        };
        let filled = self.filled.iter().filter(|(_, value)| !value.is_empty());
        let mut fields: Vec<(&str, &str)> = filled
            .map(|(name, value)| (name.as_str(), value.as_str()))
            .collect();
        fields.extend(less.map(|name| (name, "yes")));
        let address = address::with(&address::sheet(self.job, sheet), &fields);
        Some((address, words))
    }

    /// Where the form leads: to the question of a job, or to that of the gauges.
    fn action(&self) -> String {
        match self.job {
            "" => address::STUDY.to_owned(),
            job => address::decision(job, self.form.request),
        }
    }

    /// A text of the answer, options named by their labels.
    fn worded(&self, text: &str) -> String {
        self.form.in_labels(text)
    }
}
