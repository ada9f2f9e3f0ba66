//! The invented job: what is true of it, and how long everything takes.
//!
//! Everything here is made up. One chamber is too large, one piston's two deck points disagree
//! because a foot of the bridge stood on grit, and one pour pauses half-way; the report is told
//! none of this.

/// The engine file.
pub(super) const ENGINE: &str = include_str!("../../../examples/invented-v8.toml");
/// The job's name.
pub(super) const JOB: &str = "invented-v8";

/// What the builder says before he begins: name, value, standard uncertainty.
pub(super) const CONDITIONS: [(&str, &str, Option<&str>); 5] = [
    ("liquid", "water", None),
    ("liquid/temperature", "21 degC", Some("0.3 degC")),
    ("chamber/temperature", "21 degC", Some("0.3 degC")),
    ("valves-and-plugs", "running", None),
    ("fill-hole/volume", "0 cc", Some("0.01 cc")),
];

/// The cylinders in the order in which routes visit them: bank by bank.
pub(super) const ORDER: [u32; 8] = [1, 3, 5, 7, 2, 4, 6, 8];

/// True chamber volumes of cylinders 1 to 8, cc. Cylinder 6 is 0.9 cc large.
pub(super) const CHAMBERS: [f64; 8] = [64.03, 64.10, 63.96, 64.06, 63.99, 64.93, 64.01, 64.08];
/// What setting up anew changes, cc, one standard deviation.
pub(super) const SET_UP_CC: f64 = 0.03;
/// The pour (counted from 0 over both rounds) that pauses half-way.
pub(super) const PAUSED_POUR: usize = 4;
/// The pause, s.
pub(super) const PAUSE_S: f64 = 5.0;

/// True deck clearances of cylinders 1 to 8, in.
pub(super) const DECKS: [f64; 8] = [
    0.0082, 0.0088, 0.0080, 0.0090, 0.0086, 0.0081, 0.0089, 0.0084,
];
/// The cylinder at which a foot of the bridge stood on grit.
pub(super) const GRIT_CYLINDER: u32 = 3;
/// How far the grit moved the front reading up and the rear reading down, in.
pub(super) const GRIT_IN: f64 = 0.003;

/// True crown volumes of cylinders 1 to 8, cc; a dish is negative.
pub(super) const CROWNS: [f64; 8] = [-3.20, -3.15, -3.22, -3.28, -3.18, -3.12, -3.24, -3.19];
/// Depth of the pistons while their crowns are measured, in.
pub(super) const CROWN_DEPTH_IN: f64 = 0.4;

/// True thickness of the gasket, in.
pub(super) const GASKET_IN: f64 = 0.0402;

/// The ports whose flow is measured.
pub(super) const FLOW_CYLINDERS: [u32; 2] = [1, 2];
/// The lifts, as the route is told them.
pub(super) const LIFTS: [&str; 4] = ["0.100in", "0.200in", "0.300in", "0.400in"];
/// Metering pressure at 28 inH2O of test pressure for each port and lift, inH2O.
pub(super) const METERING: [[f64; 4]; 2] = [[0.58, 2.22, 4.35, 5.92], [0.57, 2.15, 4.21, 5.70]];
/// Test pressure, inH2O.
pub(super) const TEST_IN_H2O: f64 = 28.0;

/// Bore, crank radius and rod of the engine file: the signals must fit it.
pub(super) const BORE_IN: f64 = 4.047;
pub(super) const CRANK_RADIUS_IN: f64 = 1.811;
pub(super) const ROD_IN: f64 = 6.0;

/// How long the dial rests on its zero face, s.
pub(super) const ZERO_S: f64 = 4.0;
/// How long the piston's depth takes for each crown, s.
pub(super) const DEPTH_S: f64 = 9.0;
