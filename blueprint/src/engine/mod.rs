//! The engine as its owner states it: dimensions, parts, gauges, targets, tolerances.
//!
//! This module holds what a person wrote down. Measured values are in [`crate::readings`]. Values
//! are held in base units (mm, cc, Pa).

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

mod asked;
pub(crate) mod assumed;
mod card;
mod check;
mod cut;
pub(crate) mod doubts;
mod fault;
mod file;
mod flow;
mod free;
mod gauge;
mod layout;
mod likeness;
mod nominal;
mod parts;
mod sections;
mod stated;
mod table;
mod text;

use std::collections::BTreeMap;

pub use asked::{
    AskedField, AskedKind, AskedRefused, ENGINE_FIELDS, FieldGroup, NEW_FREE, free_fields,
    head_field, new_free_field,
};
pub use assumed::usual_width;
pub use card::JobCard;
pub use cut::{CutTooDeep, MOST_CUT};
pub use fault::{EngineFileFault, EngineFileFaults};
pub use free::FreeSpot;
pub use gauge::{GaugeEntry, GaugeKind};
pub use layout::{CylinderLayout, LAYOUTS, template};
pub use likeness::{EngineSizes, Likeness};
pub use nominal::{CylinderSection, NominalFigures};
pub use parts::{
    CylinderEntry, FlowBenchEntry, GasketEntry, HeadEntry, LiquidEntry, OrificeEntry, OrificeKnown,
    PistonEntry, PortEntry, ShownAir, Targets, Tolerances,
};
pub use stated::{StatedError, StatedValue};
pub use text::{EngineText, EngineValue, WrittenValue};

use crate::spot::{Spot, SpotError, SpotFamily, SpotName};
use crate::units::{QuantityKind, Unit};

/// The units in which an engine's lengths are given and reported.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub enum LengthUnits {
    /// Inches.
    Inch,
    /// Millimetres.
    Metric,
}

impl LengthUnits {
    /// The unit of lengths.
    pub fn length(self) -> Unit {
        match self {
            LengthUnits::Inch => Unit::Inch,
            LengthUnits::Metric => Unit::Millimetre,
        }
    }

    /// The unit of pressures under flow, where the engine file says none.
    pub fn pressure(self) -> Unit {
        match self {
            LengthUnits::Inch => Unit::InchWater,
            LengthUnits::Metric => Unit::MillimetreWater,
        }
    }

    /// The unit of volume flow, where the engine file says none.
    pub fn flow(self) -> Unit {
        match self {
            LengthUnits::Inch => Unit::CubicFootPerMinute,
            LengthUnits::Metric => Unit::LitrePerMinute,
        }
    }
}

impl Engine {
    /// The unit in which pressures under flow are told.
    #[must_use]
    pub fn pressure_unit(&self) -> Unit {
        self.flow.pressure_unit.unwrap_or(self.units.pressure())
    }

    /// The unit in which volume flow is told.
    #[must_use]
    pub fn flow_unit(&self) -> Unit {
        self.flow.flow_unit.unwrap_or(self.units.flow())
    }
}

/// A row of cylinders under one head.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Bank {
    /// Name; `1`, `2` … if the file gives none.
    pub name: String,
    /// Cylinders, front to rear as the file lists them.
    pub cylinders: Vec<u32>,
}

/// A state of the parts, and what the cut that opened it changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stage {
    /// Name.
    pub name: String,
    /// Families of spots that the cut changed; `None` if that is not known, so that everything may
    /// have changed.
    pub changed: Option<Vec<SpotFamily>>,
    /// The cylinders that the cut changed; `None`: all of them.
    pub cylinders: Option<Vec<u32>>,
}

impl Stage {
    /// A stage of which nothing is known but its name.
    pub fn named(name: &str) -> Stage {
        Stage {
            name: name.to_owned(),
            changed: None,
            cylinders: None,
        }
    }

    /// Whether the cut that opened this stage may have changed what a spot measures.
    pub fn changed(&self, spot: &Spot) -> bool {
        let family = self
            .changed
            .as_ref()
            .is_none_or(|families| families.contains(&spot.family()));
        let here = match (&self.cylinders, spot.cylinder()) {
            (Some(cylinders), Some(cylinder)) => cylinders.contains(&cylinder),
            _ => true,
        };
        family && here
    }
}

/// Where deck clearance is measured: on the pin axis, and at the thrust sides.
const DECK_POINTS: [&str; 4] = ["front", "rear", "thrust", "antithrust"];

/// An engine, as its file states it.
#[derive(Debug, Clone, PartialEq)]
pub struct Engine {
    /// Name.
    pub name: String,
    /// Whether it exists only on paper.
    pub invented: bool,
    /// A note of its owner.
    pub note: Option<String>,
    /// The job card.
    pub card: JobCard,
    /// The units of lengths.
    pub units: LengthUnits,
    /// How many cylinders it has; they are numbered from 1.
    pub cylinders: u32,
    /// The banks; one that holds all if the file gives none.
    pub banks: Vec<Bank>,
    /// The order in which the cylinders fire; empty if the file gives none.
    pub firing_order: Vec<u32>,
    /// Bore, mm. A job of heads alone has none.
    pub bore: Option<StatedValue>,
    /// Piston travel, mm. A job of heads alone has none.
    pub stroke: Option<StatedValue>,
    /// Rod length, mm.
    pub rod: Option<StatedValue>,
    /// Height of the block's deck above the crank's axis, mm.
    pub block_height: Option<StatedValue>,
    /// The speed of rotation for which port velocity and inlet Mach index are given, 1/min.
    pub speed: Option<StatedValue>,
    /// Whether a torque plate was fitted when the bores were measured; `None` if not said.
    pub torque_plate: Option<bool>,
    /// Deck points beside front, rear, thrust and antithrust that its owner measures.
    pub deck_points: Vec<String>,
    /// The pistons.
    pub piston: PistonEntry,
    /// The gasket.
    pub gasket: GasketEntry,
    /// The heads.
    pub head: HeadEntry,
    /// The liquid that volumes are measured with.
    pub liquid: LiquidEntry,
    /// The flow bench.
    pub flow: FlowBenchEntry,
    /// The ports, by the names that spots use.
    pub ports: BTreeMap<String, PortEntry>,
    /// The free spots, by name.
    pub free: BTreeMap<SpotName, FreeSpot>,
    /// What it should have.
    pub targets: Targets,
    /// The most that may differ.
    pub tolerances: Tolerances,
    /// What is different at single cylinders.
    pub overrides: BTreeMap<u32, CylinderEntry>,
    /// The gauges, by name.
    pub gauges: BTreeMap<String, GaugeEntry>,
    /// The stages in their order, where the file lists them.
    pub stages: Vec<Stage>,
    /// How deep the cut was that opened a stage, mm, by the stage's name, where it is stated.
    pub cuts: BTreeMap<String, StatedValue>,
}

impl Engine {
    /// Reads an engine file. Every fault is reported, with its line and column.
    pub fn from_toml(text: &str) -> Result<Engine, EngineFileFaults> {
        file::read(text)
    }

    /// Whether the engine has the cylinder and the deck point that a spot names, and states the free
    /// spot that it is.
    pub fn admit(&self, spot: &Spot) -> Result<(), SpotError> {
        if let Spot::Deck {
            point: Some(point), ..
        } = spot
        {
            let own = self.deck_points.iter().map(String::as_str);
            let known: Vec<&str> = DECK_POINTS.into_iter().chain(own).collect();
            if !known.contains(&point.as_str()) {
                return Err(SpotError::Point {
                    found: spot.to_string(),
                    known: known.join(", "),
                });
            }
        }
        match spot.cylinder() {
            Some(cylinder) if cylinder == 0 || cylinder > self.cylinders => {
                Err(SpotError::Cylinder {
                    found: spot.to_string(),
                    cylinder,
                    cylinders: self.cylinders,
                })
            }
            _ => self.admit_free(spot),
        }
    }

    /// Whether a reading of one kind serves where another is expected: the same kind, or a weight
    /// for a volume where the liquid's density is stated.
    pub fn takes(&self, expected: QuantityKind, found: QuantityKind) -> bool {
        let weighed = self.liquid.water || self.liquid.density.is_some();
        found == expected
            || (expected == QuantityKind::Volume && found == QuantityKind::Mass && weighed)
    }

    /// The bank of a cylinder.
    pub fn bank_of(&self, cylinder: u32) -> Option<&Bank> {
        self.banks
            .iter()
            .find(|bank| bank.cylinders.contains(&cylinder))
    }
}
