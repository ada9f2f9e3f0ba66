//! Readings: values that belong to one spot and one stage.
//!
//! A reading says what was measured and with what. It does not know the figures that follow from
//! it.

// What comes from outside must not end the program: nothing here may panic.
#![cfg_attr(
    not(test),
    deny(
        clippy::arithmetic_side_effects,
        clippy::expect_used,
        clippy::indexing_slicing,
        clippy::panic,
        clippy::string_slice,
        clippy::unreachable,
        clippy::unwrap_used
    )
)]

mod conditions;
mod csv_file;

pub use conditions::{ConditionValue, ReadingConditions};
pub use csv_file::{CsvFault, CsvFaults, from_csv};

use serde::{Deserialize, Serialize};

pub use crate::formula::flow::FlowDirection;
use crate::spot::{FlowPart, Spot, SpotName};
use crate::units::{Quantity, Unit};

/// The stage of readings that name none.
pub const FIRST_STAGE: &str = "as received";

/// One reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// Identifier, unique among all readings. Whoever keeps the reading chooses it.
    pub id: String,
    /// What was measured where.
    pub spot: Spot,
    /// The value, or for flow the values.
    pub value: ReadingValue,
    /// Standard uncertainty of the whole reading, in the value's unit, if it is known by itself. It
    /// then replaces all errors of the gauge's entry.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u: Option<f64>,
    /// Degrees of freedom of `u`; `None`: taken as known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dof: Option<f64>,
    /// The gauge, by its name in the engine file.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge: Option<String>,
    /// The step of the display or of the figures as written, in the value's unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub step: Option<f64>,
    /// The zeroing of the gauge that the reading rests on, where it is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zero: Option<String>,
    /// The state of the parts.
    pub stage: String,
    /// A note.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// The surroundings that were said of this reading. Where they are `None`, those of the engine
    /// file hold.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub conditions: Option<Box<ReadingConditions>>,
}

/// The value of a reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum ReadingValue {
    /// One value.
    One(Quantity),
    /// The parts of a flow reading.
    Flow(Box<FlowParts>),
}

/// One part of a reading that has several, with its own gauge.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MeasuredValue {
    /// The value, in `unit`.
    pub value: f64,
    /// The unit.
    pub unit: Unit,
    /// Standard uncertainty of the whole value, in `unit`, where it is known by itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u: Option<f64>,
    /// Degrees of freedom of `u`; `None`: taken as known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dof: Option<f64>,
    /// The gauge, by its name in the engine file.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge: Option<String>,
    /// The step of the display or of the figures as written, in `unit`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub step: Option<f64>,
    /// Standard error, in `unit`, that the window of a mean shows: how far another window of the same
    /// set-up would have come out otherwise. `None` where the value is no mean, or nothing is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub window_u: Option<f64>,
    /// The check of the bench's leak that it comes from, where other values share its error in
    /// proportion; else the error is the value's own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shared: Option<String>,
}

impl From<Quantity> for MeasuredValue {
    fn from(Quantity { value, unit }: Quantity) -> MeasuredValue {
        MeasuredValue {
            value,
            unit,
            u: None,
            dof: None,
            gauge: None,
            step: None,
            window_u: None,
            shared: None,
        }
    }
}

impl MeasuredValue {
    /// The value in the base unit of its kind.
    pub fn base(&self) -> f64 {
        self.unit.to_base(self.value)
    }
}

/// The parts of one flow reading.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FlowParts {
    /// Test pressure: the magnitude of the depression (intake) or pressure (exhaust).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub test: Option<MeasuredValue>,
    /// Metering pressure: the drop over the bench's orifice.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub metering: Option<MeasuredValue>,
    /// Flow, where the bench gives it by itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub flow: Option<MeasuredValue>,
    /// Leakage of the bench at this test pressure, as a flow.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub leak: Option<MeasuredValue>,
    /// The lift as measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lift: Option<MeasuredValue>,
    /// Temperature of the air at the metering orifice.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub temperature: Option<MeasuredValue>,
    /// Temperature of the air in the bench's plenum, where it goes out through the port.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plenum_temperature: Option<MeasuredValue>,
    /// The metering orifice, by its name in the engine file.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub orifice: Option<String>,
    /// Whether air went into the cylinder or out of it; `None`: as the port's name says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub direction: Option<FlowDirection>,
}

impl FlowDirection {
    /// The way of the air where nobody said it: out of a port whose name begins with `exhaust`,
    /// else in.
    pub fn of_port(port: &SpotName) -> FlowDirection {
        match port.as_str().starts_with("exhaust") {
            true => FlowDirection::Out,
            false => FlowDirection::In,
        }
    }
}

impl FlowParts {
    /// One of the parts; `None` where it was not measured.
    pub fn part(&self, part: FlowPart) -> Option<&MeasuredValue> {
        match part {
            FlowPart::Test => self.test.as_ref(),
            FlowPart::Metering => self.metering.as_ref(),
            FlowPart::Flow => self.flow.as_ref(),
            FlowPart::Leak => self.leak.as_ref(),
            FlowPart::Lift => self.lift.as_ref(),
            FlowPart::Temperature => self.temperature.as_ref(),
            FlowPart::PlenumTemperature => self.plenum_temperature.as_ref(),
        }
    }

    /// The place of one of the parts.
    pub fn part_mut(&mut self, part: FlowPart) -> &mut Option<MeasuredValue> {
        match part {
            FlowPart::Test => &mut self.test,
            FlowPart::Metering => &mut self.metering,
            FlowPart::Flow => &mut self.flow,
            FlowPart::Leak => &mut self.leak,
            FlowPart::Lift => &mut self.lift,
            FlowPart::Temperature => &mut self.temperature,
            FlowPart::PlenumTemperature => &mut self.plenum_temperature,
        }
    }
}

impl Reading {
    /// The single value with what is known of its error; `None` for flow.
    pub fn measured(&self) -> Option<MeasuredValue> {
        match &self.value {
            ReadingValue::One(quantity) => Some(MeasuredValue {
                u: self.u,
                dof: self.dof,
                gauge: self.gauge.clone(),
                step: self.step,
                ..MeasuredValue::from(*quantity)
            }),
            ReadingValue::Flow(_) => None,
        }
    }

    /// The value in its base unit, if it is a single one.
    pub fn base(&self) -> Option<f64> {
        match &self.value {
            ReadingValue::One(quantity) => Some(quantity.base()),
            ReadingValue::Flow(_) => None,
        }
    }
}
