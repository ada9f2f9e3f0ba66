//! What every answer begins with: the cylinders' figures, and each value as the question gives it,
//! or, where the question gives none, as the engine file states it.

use super::error::AskError;
use crate::decide::{Contact, contact_caution};
use crate::engine::{Engine, StatedValue};
use crate::engine_figures::EngineFigures;
use crate::figure::{Estimate, Figure};
use crate::report::{ReportInputs, engine_figures, lacking};
use crate::units::{QuantityKind, Unit};

/// The state that a question is about, and what the answer says beside its figures.
pub(super) struct Context<'a> {
    pub(super) inputs: ReportInputs<'a>,
    pub(super) engine: &'a Engine,
    pub(super) state: EngineFigures,
    pub(super) remarks: Vec<String>,
    pub(super) cautions: Vec<String>,
}

impl<'a> Context<'a> {
    pub(super) fn new(inputs: &ReportInputs<'a>) -> Result<Context<'a>, AskError> {
        let mut remarks = Vec::new();
        if inputs.engine.invented {
            remarks.push("This engine is invented.".to_owned());
        }
        Ok(Context {
            inputs: *inputs,
            engine: inputs.engine,
            state: engine_figures(inputs)?,
            remarks,
            cautions: Vec::new(),
        })
    }

    pub(super) fn remark(&mut self, words: impl Into<String>) {
        self.remarks.push(words.into());
    }

    pub(super) fn caution(&mut self, words: &str) {
        self.cautions.push(words.to_owned());
    }

    /// Says first what would meet.
    pub(super) fn contacts(&mut self, contacts: &[Contact]) {
        if let Some(words) = contact_caution(contacts, true) {
            self.cautions.insert(0, words);
        }
    }

    /// The target ratio: the one that was asked for, or that of the engine file.
    pub(super) fn ratio(&mut self, asked: Option<f64>) -> Result<f64, AskError> {
        let ratio = match (asked, self.engine.targets.compression) {
            (Some(ratio), _) => ratio,
            (None, Some(stated)) => {
                self.remark(format!(
                    "The target ratio of {} is that of the engine file.",
                    stated.value
                ));
                stated.value
            }
            (None, None) => {
                return Err(AskError::missing(
                    "no target ratio is given",
                    "a compression ratio above 1, such as 10.5",
                    "give one with --ratio, or state `compression` under [targets] in the engine file",
                ));
            }
        };
        if !(ratio > 1.0 && ratio <= 100.0) {
            return Err(AskError::bad(
                format!("the target ratio is {ratio}"),
                "a compression ratio above 1 and not above 100",
                "correct --ratio",
            ));
        }
        self.caution(
            "What compression an engine stands depends on its fuel and its tune; the ratio alone does not tell.",
        );
        Ok(ratio)
    }

    /// Says what the ± leaves out, where something is lacking.
    pub(super) fn say_unknown<'e>(
        &mut self,
        of: &str,
        figures: impl IntoIterator<Item = &'e Estimate>,
    ) {
        if let Some(sentence) = lacking::sentence(of, figures) {
            self.remark(sentence);
        }
    }

    /// The error that says which cylinder lacks what, where an answer needs whole cylinders.
    pub(super) fn nothing_known(&self, wanted: &str, without_crown: bool) -> AskError {
        let lacks: Vec<String> = self
            .state
            .cylinders
            .iter()
            .filter_map(|one| {
                let parts = [
                    ("chamber", one.chamber.is_none()),
                    ("deck", one.deck.is_none()),
                    ("crown", one.crown.is_none() && !without_crown),
                    ("gasket bore", one.gasket_bore.is_none()),
                    ("gasket thickness", one.gasket_thickness.is_none()),
                ];
                let names: Vec<&str> = parts
                    .iter()
                    .filter_map(|(name, lacking)| lacking.then_some(*name))
                    .collect();
                (!names.is_empty())
                    .then(|| format!("cylinder {} has no {}", one.number, names.join(", no ")))
            })
            .take(3)
            .collect();
        AskError::missing(
            format!(
                "no cylinder has all that {wanted} needs: {}",
                lacks.join("; ")
            ),
            "a chamber, a deck clearance and a gasket of at least one cylinder, and its dome or dish unless that is what is asked for",
            "measure or import them, or state the gasket and the dome or dish in the engine file",
        )
    }

    /// A cylinder that was named must be one of the engine's.
    pub(super) fn cylinder(&self, number: u32) -> Result<(), AskError> {
        let count = self.engine.cylinders;
        if number == 0 || number > count {
            return Err(AskError::bad(
                format!("cylinder {number} is not one of the engine's"),
                format!("1 to {count}"),
                "correct the number",
            ));
        }
        Ok(())
    }

    /// The unit of lengths.
    pub(super) fn length(&self) -> Unit {
        self.state.units.length()
    }
}

/// A value that was chosen and not measured: it has no uncertainty to speak of.
pub(super) fn chosen(value: f64, unit: Unit) -> Figure {
    Figure::bare(value, unit)
}

/// A value as it was typed, such as `0.040 in` or `0.040 in +- 0.001 in`.
pub(super) fn typed(
    text: &str,
    kind: QuantityKind,
    what: &str,
    option: &str,
) -> Result<StatedValue, AskError> {
    StatedValue::parse(text, kind).map_err(|error| {
        AskError::bad(
            format!("{what} is {text:?}: {error}"),
            format!("{kind} with its unit"),
            format!("correct {option}"),
        )
    })
}
