//! Flow through openings, from manometers to figures at a reference (`docs/formulas.md`, section
//! 10). Pressures in Pa, areas in mm², densities in kg/m³, mass flow in kg/s.

mod engine;
mod flow_bench;
mod nozzle;
mod orifice;
mod paired;
mod valve;

pub use engine::{mach_index, mean_flow_coefficient, port_velocity};
pub use flow_bench::{
    AirBeforeOrifice, FlowBenchReading, FlowDirection, PortFlow, RoomAir, calibrated_area, chain,
    chain_of_mass, density_at, plenum_pressure, pressure_before,
};
pub use nozzle::{
    CRITICAL_RATIO, compressible_factor, incompressible_mass_flow, isentropic_mass_flow,
    pitot_velocity, pitot_velocity_compressible, reference_scale, reference_scale_by_root,
};
pub use orifice::{
    OrificePlate, PlateFlow, PressureTaps, discharge_coefficient, expansibility,
    expansibility_1991, expansibility_nozzle, leak_law, plate_mass_flow,
};
pub use paired::{error_of_part, flow_of_pair};
pub use valve::{
    ValveSeat, curtain_area, discharge_coefficient_by, effective_area, least_area,
    lift_where_curtain_equals_throat, throat_area,
};
