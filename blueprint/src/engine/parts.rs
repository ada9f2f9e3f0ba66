//! What an engine file states about the parts, the liquid, the flow bench, targets and tolerances.
//!
//! Values only, in base units (mm, cc, Pa). Other modules read and check them.

use std::collections::BTreeMap;

use super::StatedValue;
use crate::formula::flow::AirBeforeOrifice;
use crate::units::Unit;

/// What the engine file states about every piston.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PistonEntry {
    /// Crown volume as the maker states it, cc, dome positive; used where none was measured.
    pub crown: Option<StatedValue>,
    /// Crown volume that it should have, for comparison only.
    pub nominal_crown: Option<StatedValue>,
    /// Compression height, mm.
    pub compression_height: Option<StatedValue>,
    /// Volume above the top ring, cc; `None`: not counted.
    pub crevice: Option<StatedValue>,
    /// Skirt diameter, mm.
    pub skirt: Option<StatedValue>,
    /// Pin offset, mm; positive to the side to which the crankpin moves after the throw points up.
    pub pin_offset: Option<StatedValue>,
}

/// What the engine file states about the gasket.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct GasketEntry {
    /// Diameter of the opening, mm.
    pub bore: Option<StatedValue>,
    /// Compressed thickness, mm.
    pub thickness: Option<StatedValue>,
}

/// What the engine file states about the heads.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct HeadEntry {
    /// The chamber volume that it should have, cc, for comparison only.
    pub nominal_chamber: Option<StatedValue>,
    /// Area of the chamber's opening at the deck, mm².
    pub opening_area: Option<StatedValue>,
    /// Deepest total cut that the head's maker allows, mm.
    pub most_mill: Option<StatedValue>,
    /// Linear expansion of its metal, per K.
    pub expansion: Option<f64>,
}

/// The liquid that volumes are measured with.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct LiquidEntry {
    /// Whether it is water, whose density follows from its temperature.
    pub water: bool,
    /// Density at its temperature, kg/m³, where it is not water.
    pub density: Option<StatedValue>,
    /// Cubic expansion, per K, where it is not water.
    pub expansion: Option<StatedValue>,
    /// Temperature in the burette or on the balance, °C.
    pub temperature: Option<StatedValue>,
    /// The temperature of the chambers, °C.
    pub chamber_temperature: Option<StatedValue>,
    /// Cubic expansion of the burette's glass, per K.
    pub glass: Option<f64>,
}

/// A metering orifice of the flow bench.
#[derive(Debug, Clone, PartialEq)]
pub struct OrificeEntry {
    /// How it is known.
    pub known: OrificeKnown,
    /// The check by a plate from which it is known; `None`: as the engine file states it.
    pub plate: Option<String>,
}

/// How a metering orifice is known.
#[derive(Debug, Clone, PartialEq)]
pub enum OrificeKnown {
    /// By its diameter (mm) and its discharge coefficient on this bench.
    Diameter {
        /// Diameter, mm.
        diameter: StatedValue,
        /// Discharge coefficient.
        cd: StatedValue,
    },
    /// By a calibration: the volume flow (L/min, at the orifice's own density) that it shows at a
    /// metering pressure (Pa).
    Calibrated {
        /// Flow, L/min.
        flow: StatedValue,
        /// Metering pressure, Pa.
        at: StatedValue,
        /// Density of the air at the calibration, kg/m³; without it only the square root of the
        /// pressures can be taken, as if all air were alike.
        air: Option<StatedValue>,
    },
}

/// The air in which a bench counts the flow that it shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ShownAir {
    /// The room's.
    Room,
    /// The air of the bench's plenum, at the test pressure.
    Plenum,
    /// Standard air: one density, whatever passes. kg/m³.
    Standard(StatedValue),
}

/// What the engine file states about the flow bench.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FlowBenchEntry {
    /// Depression to which flow is corrected, Pa.
    pub reference: Option<StatedValue>,
    /// The orifice of readings that name none.
    pub orifice: Option<String>,
    /// The orifices, by name.
    pub orifices: BTreeMap<String, OrificeEntry>,
    /// Pressure of the room's air, Pa.
    pub air_pressure: Option<StatedValue>,
    /// Temperature of the room's air, °C.
    pub air_temperature: Option<StatedValue>,
    /// Relative humidity of the room's air, %.
    pub humidity: Option<StatedValue>,
    /// Where the air before the metering orifice comes from; without it the density there is not
    /// known.
    pub orifice_before: Option<AirBeforeOrifice>,
    /// The same where the air goes out through the port and comes from elsewhere; `None`: as
    /// `orifice_before` says.
    pub orifice_before_out: Option<AirBeforeOrifice>,
    /// The air in which the bench counts a flow that it shows itself.
    pub flow_air: Option<ShownAir>,
    /// Density of the air that flow is referred to, kg/m³.
    pub reference_air: Option<StatedValue>,
    /// The unit in which pressures are told; `None`: as the engine's lengths are.
    pub pressure_unit: Option<Unit>,
    /// The unit in which flow is told; `None`: as the engine's lengths are.
    pub flow_unit: Option<Unit>,
}

/// What the engine file states about a kind of port: its valve, throat and seat. Lengths in mm.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PortEntry {
    /// Diameter of the valve's head.
    pub valve: Option<StatedValue>,
    /// How many valves it feeds.
    pub valves: u32,
    /// Diameter of the throat.
    pub throat: Option<StatedValue>,
    /// Diameter of the stem.
    pub stem: Option<StatedValue>,
    /// Angle of the seat from the head's plane, degrees.
    pub seat_angle: Option<StatedValue>,
    /// Radial width of the seat.
    pub seat_width: Option<StatedValue>,
    /// Inclination of the valve from the bore's axis, degrees.
    pub inclination: Option<StatedValue>,
}

/// What the engine should have.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Targets {
    /// Compression ratio.
    pub compression: Option<StatedValue>,
    /// Chamber volume, cc.
    pub chamber: Option<StatedValue>,
    /// Deck clearance, mm.
    pub deck: Option<StatedValue>,
}

/// The most that may differ, and the least and the most that each may be.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Tolerances {
    /// Spread (largest − smallest) of the chambers, cc.
    pub chamber_spread: Option<StatedValue>,
    /// Spread of the deck clearances, mm.
    pub deck_spread: Option<StatedValue>,
    /// Spread of the crowns, cc.
    pub crown_spread: Option<StatedValue>,
    /// Spread of the compression ratios.
    pub compression_spread: Option<StatedValue>,
    /// Least volume of each chamber, cc.
    pub least_chamber: Option<StatedValue>,
    /// Largest volume of each chamber, cc.
    pub most_chamber: Option<StatedValue>,
    /// Least deck clearance of each cylinder, mm; below the deck is positive.
    pub least_deck: Option<StatedValue>,
    /// Largest deck clearance of each cylinder, mm.
    pub most_deck: Option<StatedValue>,
    /// Least compression ratio of each cylinder.
    pub least_compression: Option<StatedValue>,
    /// Highest compression ratio of each cylinder.
    pub most_compression: Option<StatedValue>,
    /// Least quench distance, mm.
    pub least_quench: Option<StatedValue>,
    /// Largest quench distance, mm.
    pub most_quench: Option<StatedValue>,
}

/// What is different at one cylinder.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CylinderEntry {
    /// Bore, mm.
    pub bore: Option<StatedValue>,
    /// Piston travel, mm.
    pub stroke: Option<StatedValue>,
    /// Rod length, mm.
    pub rod: Option<StatedValue>,
    /// Crown volume as the maker states it, cc.
    pub crown: Option<StatedValue>,
    /// Volume above the top ring, cc.
    pub crevice: Option<StatedValue>,
    /// The name of the piston at this position.
    pub piston_part: Option<String>,
    /// The name of the rod at this position.
    pub rod_part: Option<String>,
}
