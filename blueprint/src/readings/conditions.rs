//! The surroundings of a reading, as they were said at the bench.
//!
//! It stands above what the engine file states, which holds for a whole job: a second round on
//! another day is poured at another temperature. Two readings under the same saying share its
//! error.

use serde::{Deserialize, Serialize};

use crate::figure::{ErrorSource, Estimate, SourceId};
use crate::units::written_step;

/// The surroundings of one reading, as far as they were said.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct ReadingConditions {
    /// The liquid's name, in small letters; `water` is known by its temperature.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub liquid: Option<String>,
    /// Temperature of the liquid in the burette or on the balance, °C.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub liquid_temperature: Option<ConditionValue>,
    /// Temperature of the part that it was poured into, °C.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chamber_temperature: Option<ConditionValue>,
    /// Temperature of the room's air, °C.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub air_temperature: Option<ConditionValue>,
    /// Pressure of the room's air, Pa.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub air_pressure: Option<ConditionValue>,
    /// Relative humidity of the room's air, %.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub humidity: Option<ConditionValue>,
    /// The valves and plugs that a chamber was poured with, in small letters: `running`, or which
    /// others.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub valves_and_plugs: Option<String>,
    /// What stands in the plate's fill hole at the end of a pour, cc.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fill_hole: Option<ConditionValue>,
    /// Whether somebody was there to be asked: what he did not say then widens the uncertainty.
    /// A file of readings was asked nothing.
    #[serde(default)]
    pub asked: bool,
    /// Whether the job asks what the chamber was poured with: the valves and plugs, and what stands
    /// in the fill hole. Unsaid, they are lacking, however the reading came into the job.
    #[serde(default)]
    pub set_up_asked: bool,
}

/// A number that was said, in the base unit of its kind.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ConditionValue {
    /// The value.
    pub name: String,
    /// By which saying: what two readings share comes from one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fact: Option<String>,
    /// The number.
    pub value: f64,
    /// Standard uncertainty; `None` if it was said without one: then it is known to half of its
    /// last digit.
    pub u: Option<f64>,
    /// The step of its last digit as it was said, in the base unit; without it that of the shortest
    /// way to write the number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub step: Option<f64>,
}

impl ConditionValue {
    /// As an estimate that shares its error with all that rests on the same saying.
    #[must_use]
    pub fn estimate(&self) -> Estimate {
        let id = SourceId::condition(&self.name);
        let id = match &self.fact {
            Some(fact) => id.from_fact(fact),
            None => id,
        };
        if self.u.is_some() {
            return Estimate::input(id, self.value, self.u, f64::INFINITY);
        }
        let shortest = || written_step(&self.value.to_string());
        let step = self.step.or_else(shortest).unwrap_or(1.0);
        Estimate::new(self.value, ErrorSource::resolution(id, step))
    }
}
