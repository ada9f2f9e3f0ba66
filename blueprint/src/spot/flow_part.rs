//! The parts of a flow reading, by the names that its rows and its errors carry.

use std::fmt;

use crate::units::QuantityKind;

/// A part of a flow reading, such as the `test` of `flow/2/intake/7.62mm/test`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum FlowPart {
    /// Test pressure.
    Test,
    /// Metering pressure.
    Metering,
    /// Flow, where the bench gives it by itself.
    Flow,
    /// Leak.
    Leak,
    /// Lift.
    Lift,
    /// Temperature at the metering orifice.
    Temperature,
    /// Temperature in the plenum.
    PlenumTemperature,
}

impl FlowPart {
    /// All of them.
    pub const ALL: [FlowPart; 7] = [
        FlowPart::Test,
        FlowPart::Metering,
        FlowPart::Flow,
        FlowPart::Leak,
        FlowPart::Lift,
        FlowPart::Temperature,
        FlowPart::PlenumTemperature,
    ];

    /// The last word of its row's spot.
    pub const fn name(self) -> &'static str {
        match self {
            FlowPart::Test => "test",
            FlowPart::Metering => "metering",
            FlowPart::Flow => "flow",
            FlowPart::Leak => "leak",
            FlowPart::Lift => "lift",
            FlowPart::Temperature => "temperature",
            FlowPart::PlenumTemperature => "plenum_temperature",
        }
    }

    /// The part of this name.
    pub fn named(name: &str) -> Option<FlowPart> {
        FlowPart::ALL.into_iter().find(|part| part.name() == name)
    }

    /// What kind of quantity it is.
    pub fn kind(self) -> QuantityKind {
        match self {
            FlowPart::Test | FlowPart::Metering => QuantityKind::Pressure,
            FlowPart::Flow | FlowPart::Leak => QuantityKind::Flow,
            FlowPart::Lift => QuantityKind::Length,
            FlowPart::Temperature | FlowPart::PlenumTemperature => QuantityKind::Temperature,
        }
    }
}

impl fmt::Display for FlowPart {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}
