//! The engine as its owner states it: dimensions, parts, gauges, targets, tolerances.
//!
//! Everything here is what a person wrote down; what was measured is in [`crate::readings`].
//! Values are held in base units (mm, cc, Pa).

mod check;
mod fault;
mod file;
mod flow;
mod gauge;
mod sections;
mod stated;
mod table;

use std::collections::BTreeMap;

pub use fault::{EngineFaults, Fault, line_and_column};
pub use gauge::{Gauge, GaugeKind};
pub use stated::{Stated, StatedError};

use crate::formula::flow::Before;
use crate::spot::{Spot, SpotError};
use crate::units::Unit;

/// The units in which an engine's lengths are given and reported.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
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

    /// The unit of pressures under flow.
    pub fn pressure(self) -> Unit {
        match self {
            LengthUnits::Inch => Unit::InchWater,
            LengthUnits::Metric => Unit::MillimetreWater,
        }
    }

    /// The unit of volume flow.
    pub fn flow(self) -> Unit {
        match self {
            LengthUnits::Inch => Unit::CubicFootPerMinute,
            LengthUnits::Metric => Unit::LitrePerMinute,
        }
    }
}

/// A row of cylinders under one head.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Bank {
    /// Its name; `1`, `2` … if the file gives none.
    pub name: String,
    /// Its cylinders, front to rear as the file lists them.
    pub cylinders: Vec<u32>,
}

/// What the engine file states about every piston.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Piston {
    /// Crown volume as the maker states it, cc, dome positive; used where none was measured.
    pub crown: Option<Stated>,
    /// Crown volume that it should have, for comparison only.
    pub nominal_crown: Option<Stated>,
    /// Compression height, mm.
    pub compression_height: Option<Stated>,
    /// Volume above the top ring, cc; `None`: not counted.
    pub crevice: Option<Stated>,
    /// Skirt diameter, mm.
    pub skirt: Option<Stated>,
    /// Pin offset, mm; positive to the side to which the crankpin moves after the throw points up.
    pub pin_offset: Option<Stated>,
}

/// What the engine file states about the gasket.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Gasket {
    /// Diameter of the opening, mm.
    pub bore: Option<Stated>,
    /// Compressed thickness, mm.
    pub thickness: Option<Stated>,
}

/// What the engine file states about the heads.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Head {
    /// The chamber volume that it should have, cc, for comparison only.
    pub nominal_chamber: Option<Stated>,
    /// Area of the chamber's opening at the deck, mm².
    pub opening_area: Option<Stated>,
    /// Deepest total cut that the head's maker allows, mm.
    pub most_mill: Option<Stated>,
}

/// A metering orifice of the flow bench.
#[derive(Debug, Clone, PartialEq)]
pub struct Orifice {
    /// How it is known.
    pub known: OrificeKnown,
}

/// How a metering orifice is known.
#[derive(Debug, Clone, PartialEq)]
pub enum OrificeKnown {
    /// By its diameter (mm) and its discharge coefficient on this bench.
    Diameter {
        /// Diameter, mm.
        diameter: Stated,
        /// Discharge coefficient.
        cd: Stated,
    },
    /// By a calibration: the volume flow (L/min, at the orifice's own density) that it shows at a
    /// metering pressure (Pa).
    Calibrated {
        /// Flow, L/min.
        flow: Stated,
        /// Metering pressure, Pa.
        at: Stated,
        /// Density of the air at the calibration, kg/m³; without it only the square root of the
        /// pressures can be taken, as if all air were alike.
        air: Option<Stated>,
    },
}

/// What the engine file states about the flow bench.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Flow {
    /// Depression to which flow is corrected, Pa.
    pub reference: Option<Stated>,
    /// The orifice of readings that name none.
    pub orifice: Option<String>,
    /// The orifices, by name.
    pub orifices: BTreeMap<String, Orifice>,
    /// Pressure of the room's air, Pa.
    pub air_pressure: Option<Stated>,
    /// Temperature of the room's air, °C.
    pub air_temperature: Option<Stated>,
    /// Relative humidity of the room's air, %.
    pub humidity: Option<Stated>,
    /// Where the air before the metering orifice comes from; without it the density there is not
    /// known.
    pub orifice_before: Option<Before>,
    /// Density of the air that flow is referred to, kg/m³.
    pub reference_air: Option<Stated>,
}

/// What the engine file states about a kind of port: its valve, throat and seat. Lengths in mm.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Port {
    /// Diameter of the valve's head.
    pub valve: Option<Stated>,
    /// How many valves it feeds.
    pub valves: u32,
    /// Diameter of the throat.
    pub throat: Option<Stated>,
    /// Diameter of the stem.
    pub stem: Option<Stated>,
    /// Angle of the seat from the head's plane, degrees.
    pub seat_angle: Option<Stated>,
    /// Radial width of the seat.
    pub seat_width: Option<Stated>,
    /// Inclination of the valve from the bore's axis, degrees.
    pub inclination: Option<Stated>,
}

/// What the engine should have.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Targets {
    /// Compression ratio.
    pub compression: Option<Stated>,
    /// Chamber volume, cc.
    pub chamber: Option<Stated>,
    /// Deck clearance, mm.
    pub deck: Option<Stated>,
}

/// The most that may differ.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Tolerances {
    /// Spread (largest − smallest) of the chambers, cc.
    pub chamber_spread: Option<Stated>,
    /// Spread of the deck clearances, mm.
    pub deck_spread: Option<Stated>,
    /// Spread of the crowns, cc.
    pub crown_spread: Option<Stated>,
    /// Spread of the compression ratios.
    pub compression_spread: Option<Stated>,
    /// Least quench distance, mm.
    pub least_quench: Option<Stated>,
    /// Largest quench distance, mm.
    pub most_quench: Option<Stated>,
}

/// What is different at one cylinder.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Overrides {
    /// Bore, mm.
    pub bore: Option<Stated>,
    /// Piston travel, mm.
    pub stroke: Option<Stated>,
    /// Rod length, mm.
    pub rod: Option<Stated>,
    /// Crown volume as the maker states it, cc.
    pub crown: Option<Stated>,
    /// Volume above the top ring, cc.
    pub crevice: Option<Stated>,
    /// The name of the piston at this position.
    pub piston_part: Option<String>,
    /// The name of the rod at this position.
    pub rod_part: Option<String>,
}

/// A state of the parts, and what the cut that opened it changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stage {
    /// Its name.
    pub name: String,
    /// Families of spots that the cut changed (`chamber`, `deck` …); `None` if that is not known,
    /// so that everything may have changed.
    pub changed: Option<Vec<String>>,
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
            .is_none_or(|families| families.iter().any(|family| family == spot.family()));
        let here = match (&self.cylinders, spot.cylinder()) {
            (Some(cylinders), Some(cylinder)) => cylinders.contains(&cylinder),
            _ => true,
        };
        family && here
    }
}

/// An engine, as its file states it.
#[derive(Debug, Clone, PartialEq)]
pub struct Engine {
    /// Its name.
    pub name: String,
    /// Whether it exists only on paper.
    pub invented: bool,
    /// A note of its owner.
    pub note: Option<String>,
    /// The units of lengths.
    pub units: LengthUnits,
    /// How many cylinders it has; they are numbered from 1.
    pub cylinders: u32,
    /// The banks; one that holds all if the file gives none.
    pub banks: Vec<Bank>,
    /// The order in which the cylinders fire; empty if the file gives none.
    pub firing_order: Vec<u32>,
    /// Bore, mm.
    pub bore: Stated,
    /// Piston travel, mm.
    pub stroke: Stated,
    /// Rod length, mm.
    pub rod: Option<Stated>,
    /// Height of the block's deck above the crank's axis, mm.
    pub block_height: Option<Stated>,
    /// Whether a torque plate was fitted when the bores were measured; `None` if not said.
    pub torque_plate: Option<bool>,
    /// The pistons.
    pub piston: Piston,
    /// The gasket.
    pub gasket: Gasket,
    /// The heads.
    pub head: Head,
    /// The flow bench.
    pub flow: Flow,
    /// The ports, by the names that spots use.
    pub ports: BTreeMap<String, Port>,
    /// What it should have.
    pub targets: Targets,
    /// The most that may differ.
    pub tolerances: Tolerances,
    /// What is different at single cylinders.
    pub overrides: BTreeMap<u32, Overrides>,
    /// The gauges, by name.
    pub gauges: BTreeMap<String, Gauge>,
    /// The stages in their order, where the file lists them.
    pub stages: Vec<Stage>,
}

impl Engine {
    /// Reads an engine file. Every fault is reported, with its line and column.
    pub fn from_toml(text: &str) -> Result<Engine, EngineFaults> {
        file::read(text)
    }

    /// Whether the engine has the cylinder that a spot names.
    pub fn admit(&self, spot: &Spot) -> Result<(), SpotError> {
        match spot.cylinder() {
            Some(cylinder) if cylinder == 0 || cylinder > self.cylinders => {
                Err(SpotError::Cylinder {
                    found: spot.to_string(),
                    cylinder,
                    cylinders: self.cylinders,
                })
            }
            _ => Ok(()),
        }
    }

    /// The bank of a cylinder.
    pub fn bank_of(&self, cylinder: u32) -> Option<&Bank> {
        self.banks
            .iter()
            .find(|bank| bank.cylinders.contains(&cylinder))
    }
}
