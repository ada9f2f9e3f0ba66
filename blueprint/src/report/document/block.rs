//! Bores, valve gaps and whatever else was measured, as the report states them.

use serde::{Deserialize, Serialize};

use crate::figure::Figure;
use crate::spot::{Spot, SpotName};

/// Valve-to-piston distance over the crank angle near top dead centre.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct GapReport {
    /// The cylinder.
    pub cylinder: u32,
    /// The port.
    pub port: SpotName,
    /// The distances by crank angle after top dead centre.
    pub points: Vec<(Figure, Figure)>,
    /// The least that was measured.
    pub least: Figure,
    /// Crank angle.
    pub least_at: Figure,
    /// The least of the parabola through it and its two neighbours, with its angle; `None` if the
    /// least lies at an end: then it was not enclosed, and angles beyond it must be measured.
    pub enclosed: Option<(Figure, Figure)>,
}

/// Any other spot that was measured.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct MeasuredReport {
    /// The spot.
    pub spot: Spot,
    /// The mean of its readings.
    pub figure: Figure,
    /// How many they are.
    pub readings: usize,
}

/// The form of one bore. Out-of-round and taper are differences of diameters, as the trade states
/// them; roundness is the standard's, half of the first for a pure oval. What was not measured is
/// `None`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BoreReport {
    /// The cylinder.
    pub cylinder: u32,
    /// Diameter with the bore's mean area, of all that was measured.
    pub diameter: Figure,
    /// Largest difference of the two diameters at one height; `None` if no height was measured in
    /// both directions.
    pub out_of_round: Option<Figure>,
    /// The standard's roundness deviation if the bore is a pure oval.
    pub roundness_if_oval: Option<Figure>,
    /// Largest difference of the mean diameters of two heights; `None` with fewer than two heights,
    /// or if one of them lacks a direction.
    pub taper: Option<Figure>,
    /// Largest difference of two heights in one direction, of the directions that were measured at
    /// two heights.
    pub taper_worst: Option<Figure>,
    /// Piston-to-bore clearance on the diameter where it is least in the thrust direction, where the
    /// skirt runs; `None` if the skirt is not known or the bore was not measured so.
    pub piston_clearance: Option<Figure>,
    /// The spot where that clearance is.
    #[serde(default)]
    pub piston_clearance_at: Option<Spot>,
    /// How many heights were measured in both directions.
    pub heights: usize,
    /// Every diameter that was measured.
    #[serde(default)]
    pub diameters: Vec<MeasuredReport>,
    /// Whether a torque plate was fitted; `None` if the engine file does not say.
    pub torque_plate: Option<bool>,
}
