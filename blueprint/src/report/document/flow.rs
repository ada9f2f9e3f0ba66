//! Ports, lift by lift and in the running engine, as the report states them.

use serde::{Deserialize, Serialize};

use crate::engine_figures::PortArea;
use crate::figure::Figure;
use crate::readings::FlowDirection;
use crate::spot::{Spot, SpotName};

/// Flow at one lift of one port.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct FlowReport {
    /// The spot.
    pub spot: Spot,
    /// The cylinder.
    pub cylinder: u32,
    /// The port.
    pub port: SpotName,
    /// The kind of runner, where one is named.
    pub runner: Option<SpotName>,
    /// The lift that was asked for.
    pub lift: Figure,
    /// The lift as measured.
    pub lift_measured: Option<Figure>,
    /// Into the cylinder or out of it.
    pub direction: FlowDirection,
    /// Test pressure, mean of the repeats.
    pub test_pressure: Option<Figure>,
    /// Metering pressure, mean of the repeats.
    pub metering_pressure: Option<Figure>,
    /// Metering pressure that the same port would show at the reference depression.
    pub metering_at_reference: Option<Figure>,
    /// Flow at the test pressure, where the bench's orifice is known.
    pub flow: Option<Figure>,
    /// Flow at the reference depression, by the square root of the pressures alone.
    pub flow_at_reference: Option<Figure>,
    /// Effective area of the port over that of the metering orifice: √(metering/test).
    pub area_ratio: Option<Figure>,
    /// How `flow_at_reference` and `metering_at_reference` were corrected.
    pub correction: String,
    /// Mass flow of the port through the whole chain of densities and expansibility, where the
    /// room's air and the orifice are known.
    pub mass_flow: Option<Figure>,
    /// Density of the air before the port.
    pub air_density: Option<Figure>,
    /// Volume flow of the air before the port, through the whole chain.
    pub port_flow: Option<Figure>,
    /// The same at the reference depression with compressibility, of the same air.
    pub flow_at_reference_compressible: Option<Figure>,
    /// The same in the reference air.
    pub flow_in_reference_air: Option<Figure>,
    /// Density of the reference air.
    pub reference_air: Option<Figure>,
    /// Effective area of the port, isentropic.
    pub effective_area: Option<Figure>,
    /// Coefficients by each area that is known.
    pub coefficients: Vec<CoefficientReport>,
    /// How many readings it rests on.
    pub readings: usize,
}

/// A discharge or flow coefficient by a named area.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CoefficientReport {
    /// The area that it is by.
    pub by_area: PortArea,
    /// The area, mm².
    pub area: Figure,
    /// Effective area over that area.
    pub coefficient: Figure,
}

/// Ports of one kind at one lift, over the cylinders: flow at the reference depression by the
/// square root, or the area ratio where the orifice is not known.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct FlowAtLift {
    /// The port.
    pub port: SpotName,
    /// The kind of runner.
    pub runner: Option<SpotName>,
    /// The lift.
    pub lift: Figure,
    /// The cylinders.
    pub cylinders: Vec<u32>,
    /// Their mean.
    pub mean: Figure,
    /// Their spread.
    pub spread: Figure,
}

/// A port in the running engine; each kind of runner by itself.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RunningPort {
    /// The cylinder.
    pub cylinder: u32,
    /// The port.
    pub port: SpotName,
    /// The kind of runner.
    pub runner: Option<SpotName>,
    /// How many lifts the mean coefficient is over.
    pub lifts: usize,
    /// Flow coefficient by the area of the valve's head: the plain mean over these lifts.
    pub mean_coefficient: Option<Figure>,
    /// The engine's speed, as the engine file states it.
    pub speed: Option<Figure>,
    /// Velocity of air that keeps up with the piston.
    pub velocity: Option<RunningVelocity>,
    /// Inlet Mach index; only for ports through which air goes in.
    pub mach_index: Option<Figure>,
    /// Temperature of the air for the speed of sound.
    pub air_temperature: Option<Figure>,
}

/// A port's velocity by a named area.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RunningVelocity {
    /// The area that it is by.
    pub by_area: PortArea,
    /// At the mean piston speed.
    pub mean: Figure,
    /// At the largest piston speed, where the rod is known.
    pub largest: Option<Figure>,
}
