//! A flow bench: from two manometers to the port's mass flow, its effective area and its flow at the
//! reference (`docs/formulas.md`, section 10, items 3 to 8).
//!
//! The same air passes the metering orifice and the port, less the leak in between. The orifice
//! stands between plenum and blower, between blower and room, or before the port. The pressure
//! before it follows from its place and from the direction of the air:
//!
//! | way | air before the orifice comes from | pressure before the orifice |
//! |---|---|---|
//! | into the bench | the plenum | room − test |
//! | into the bench | the blower (it blows into the room) | room + metering |
//! | into the bench | the room (before the port) | room |
//! | out of the bench | the room (the blower draws it) | room |
//! | out of the bench | the blower (it blows into the plenum) | room + test + metering |
//!
//! A bench whose blower is turned round has its orifice between plenum and blower both ways. Air that
//! comes from the plenum one way comes from the blower the other way. The density at each place
//! follows from the pressure and temperature there. An orifice between plenums has its own calibrated
//! coefficient, and the expansibility for β → 0.

use std::fmt;

use super::nozzle::{
    compressible_factor, incompressible_mass_flow, reference_scale, reference_scale_by_root,
};
use super::orifice::expansibility;
use crate::figure::Scalar;
use crate::formula::air::{GAMMA, ZERO_CELSIUS, moist_air};

/// The air of the room.
#[derive(Debug, Clone, PartialEq)]
pub struct RoomAir<S> {
    /// Pressure, Pa.
    pub pressure: S,
    /// Temperature, °C.
    pub temperature: S,
    /// Relative humidity, 0 to 1.
    pub humidity: S,
}

impl<S: Scalar> RoomAir<S> {
    /// Density of the room's air, kg/m³.
    pub fn density(&self) -> S {
        moist_air(&self.pressure, &self.temperature, &self.humidity).density
    }
}

/// Which way the air goes through the port.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum FlowDirection {
    /// Into the cylinder: from the room through the port into the bench (a depression).
    In,
    /// Out of the cylinder: from the bench through the port into the room (a pressure).
    Out,
}

impl fmt::Display for FlowDirection {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            FlowDirection::In => "in",
            FlowDirection::Out => "out",
        })
    }
}

/// Where the air before the metering orifice comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AirBeforeOrifice {
    /// The side of the plenum: out of the bench the orifice then stands between blower and plenum,
    /// as [`AirBeforeOrifice::Blower`].
    Plenum,
    /// The room.
    Room,
    /// The blower: it blows through the orifice into the room, or into the plenum.
    Blower,
}

/// The pressures and temperatures that were read at one lift.
#[derive(Debug, Clone, PartialEq)]
pub struct FlowBenchReading<S> {
    /// Test pressure, Pa, positive.
    pub test: S,
    /// Drop over the metering orifice, Pa.
    pub metering: S,
    /// Temperature before the metering orifice, °C.
    pub orifice_temperature: S,
    /// Temperature in the bench's plenum, °C; it counts where the air goes out of the bench.
    pub plenum_temperature: S,
    /// Leakage of the bench at this test pressure, as a volume flow at the orifice, m³/s.
    pub leak: S,
}

/// Flow of the port.
#[derive(Debug, Clone, PartialEq)]
pub struct PortFlow<S> {
    /// Mass flow of the port, kg/s.
    pub mass: S,
    /// Volume flow of the port, of the air before it, m³/s.
    pub volume: S,
    /// Density of the air before the port, kg/m³.
    pub density: S,
    /// Pressure before the port, Pa.
    pub pressure: S,
    /// Effective area of the port, mm² (isentropic).
    pub area: S,
}

/// The effective area of an orifice, mm², from a calibration: the volume flow (m³/s) of air of a
/// density (kg/m³) at a drop (Pa), from about atmospheric pressure.
pub fn calibrated_area<S: Scalar>(flow: &S, density: &S, drop: &S) -> S {
    let factor = expansibility(0.0, &S::exact(101_325.0), drop, GAMMA);
    flow.clone() * (density.clone() / drop.scale(2.0)).sqrt() / factor * S::exact(1e6)
}

/// Density of the room's air brought to another pressure (Pa) and temperature (°C), kg/m³.
pub fn density_at<S: Scalar>(room: &RoomAir<S>, pressure: &S, celsius: &S) -> S {
    let kelvin = |celsius: &S| celsius.offset(ZERO_CELSIUS);
    room.density() * pressure / &room.pressure * kelvin(&room.temperature) / kelvin(celsius)
}

/// Pressure in the bench's plenum, Pa.
pub fn plenum_pressure<S: Scalar>(room: &RoomAir<S>, test: &S, direction: FlowDirection) -> S {
    match direction {
        FlowDirection::In => room.pressure.clone() - test,
        FlowDirection::Out => room.pressure.clone() + test,
    }
}

/// Pressure before the metering orifice, Pa, by where the air there comes from.
pub fn pressure_before<S: Scalar>(
    room: &RoomAir<S>,
    read: &FlowBenchReading<S>,
    direction: FlowDirection,
    before: AirBeforeOrifice,
) -> S {
    let plenum = plenum_pressure(room, &read.test, direction);
    match (direction, before) {
        (FlowDirection::In, AirBeforeOrifice::Plenum) => plenum,
        (_, AirBeforeOrifice::Room) => room.pressure.clone(),
        // Behind the orifice stands the pressure of the room or of the plenum.
        (FlowDirection::In, AirBeforeOrifice::Blower) => room.pressure.clone() + &read.metering,
        (FlowDirection::Out, AirBeforeOrifice::Plenum | AirBeforeOrifice::Blower) => {
            plenum + &read.metering
        }
    }
}

/// The chain, with the effective area of the metering orifice in mm² (without expansibility).
pub fn chain<S: Scalar>(
    room: &RoomAir<S>,
    read: &FlowBenchReading<S>,
    orifice_area: &S,
    direction: FlowDirection,
    before: AirBeforeOrifice,
) -> PortFlow<S> {
    let at_orifice = pressure_before(room, read, direction, before);
    let density_at_orifice = density_at(room, &at_orifice, &read.orifice_temperature);
    let factor = expansibility(0.0, &at_orifice, &read.metering, GAMMA);
    let velocity = (density_at_orifice.clone() * &read.metering)
        .scale(2.0)
        .sqrt();
    let through = orifice_area.scale(1e-6) * factor * velocity;
    let mass = through - read.leak.clone() * density_at_orifice;
    chain_of_mass(room, &read.test, &read.plenum_temperature, mass, direction)
}

/// The chain from the mass flow of the port on (kg/s), however it was found: by an orifice, or by a
/// bench that shows its flow itself.
pub fn chain_of_mass<S: Scalar>(
    room: &RoomAir<S>,
    test: &S,
    plenum_temperature: &S,
    mass: S,
    direction: FlowDirection,
) -> PortFlow<S> {
    let (pressure, temperature) = match direction {
        FlowDirection::In => (room.pressure.clone(), &room.temperature),
        FlowDirection::Out => (plenum_pressure(room, test, direction), plenum_temperature),
    };
    let density = density_at(room, &pressure, temperature);
    // Isentropic, with the density of the air as it is: moist air is lighter than the dry air of
    // the ideal-gas form.
    let unit_flow = incompressible_mass_flow(&S::exact(1.0), &density, test)
        * compressible_factor(&pressure, test);
    let area = mass.clone() / unit_flow;
    PortFlow {
        volume: mass.clone() / &density,
        mass,
        density,
        pressure,
        area,
    }
}

impl<S: Scalar> PortFlow<S> {
    /// The volume flow at the reference depression, of the same air, by the square root alone.
    pub fn at_reference_by_root(&self, test: &S, reference: &S) -> S {
        self.volume.clone() * reference_scale_by_root(test, reference)
    }

    /// The same with compressibility.
    pub fn at_reference(&self, test: &S, reference: &S) -> S {
        self.volume.clone() * reference_scale(&self.pressure, test, reference)
    }

    /// What a volume flow becomes in air of another density at the same pressures: the denser air
    /// is slower.
    pub fn in_air(&self, volume: &S, density: &S) -> S {
        volume.clone() * (self.density.clone() / density).sqrt()
    }
}
