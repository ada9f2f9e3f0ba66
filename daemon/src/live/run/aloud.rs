//! When a person hears of a value that is still revised: not for every drop.

use benchhand_wire::SaidAs;

use super::{RouteRun, RunOutcome};
use crate::capture::CapturedValue;
use crate::known::words;

/// A told value that has grown by less than this, cc or g, is told again once it rests. Common
/// practice, no source: ten drops.
const DROPS_CC: f64 = 0.5;

/// What a person heard of a value that is still revised.
pub(super) struct ToldValue {
    pour: u32,
    value: f64,
    unsaid: Option<String>,
}

impl RouteRun {
    /// A value came after the last stop of its gauge. It is told in the unit of those stops.
    pub(super) fn came_beyond(&self, active: usize, taken: &CapturedValue, out: &mut RunOutcome) {
        let gauge = &self.actives[active].gauge;
        let stop = self.stops.iter().find(|stop| stop.gauge == *gauge);
        let told = stop.and_then(|stop| stop.told);
        out.say(SaidAs::Note, words::beyond_the_route(taken, told));
    }

    /// How a value is told: one that has grown by a few drops waits for the rest after them.
    pub(super) fn aloud(
        &mut self,
        active: usize,
        pour: u32,
        taken: &CapturedValue,
        (tone, held): (SaidAs, bool),
        shown: &str,
    ) -> SaidAs {
        let told = &mut self.actives[active].told;
        let drops = |told: &ToldValue| {
            told.pour == pour
                && taken
                    .unit
                    .difference_to_base(taken.value - told.value)
                    .abs()
                    < DROPS_CC
        };
        match told.as_mut().filter(|told| drops(told)) {
            Some(told) if tone == SaidAs::Revised && held => {
                told.unsaid = Some(shown.to_owned());
                SaidAs::Note
            }
            _ => {
                *told = Some(ToldValue {
                    pour,
                    value: taken.value,
                    unsaid: None,
                });
                tone
            }
        }
    }

    /// The drops have ended: what they added is told now.
    pub(super) fn settled(&mut self, active: usize, pour: u32, out: &mut RunOutcome) {
        let told = self.actives[active].told.as_mut();
        let told = told.filter(|told| told.pour == pour);
        if let Some(text) = told.and_then(|told| told.unsaid.take()) {
            out.say(SaidAs::Revised, text);
        }
        if let (Some(question), Some((_, _, said))) = (&self.question, &mut self.asked_aloud)
            && *said != question.text
        {
            said.clone_from(&question.text);
            out.say(SaidAs::Asked, question.text.clone());
        }
    }
}
