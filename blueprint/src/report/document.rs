//! The report as a document: `--json` prints it and tables are made from it.
//!
//! A figure that cannot be calculated is `null`, and a finding says what is missing.

mod block;
mod flow;
mod free;
mod judged;
mod limits;
mod ordered;

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::decide::ChamberWork;
use crate::engine::{JobCard, LengthUnits};
use crate::figure::Figure;
use crate::named::named_enum;
use crate::units::Unit;
pub use block::{BoreReport, GapReport, MeasuredReport};
pub use flow::{CoefficientReport, FlowAtLift, FlowReport, RunningPort, RunningVelocity};
pub use free::FreeReport;
pub use judged::{SpreadsOfEquals, ToleranceName, ToleranceVerdict};
pub use limits::StatedLimits;
pub use ordered::{OrderedReport, OrderedSize};

/// A report on one stage of one engine.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Report {
    /// The engine's name.
    pub engine: String,
    /// Whether the engine and its readings are invented.
    pub invented: bool,
    /// The note of the engine file.
    pub note: Option<String>,
    /// The job card; absent where nothing is said in it.
    #[serde(default, skip_serializing_if = "JobCard::is_empty")]
    pub card: JobCard,
    /// The units of lengths.
    pub units: LengthUnits,
    /// The stage that is reported.
    pub stage: String,
    /// All stages in their order.
    pub stages: Vec<String>,
    /// How often the spots of each family were measured, in the families' order.
    #[serde(default)]
    pub measured_times: Vec<MeasuredTimes>,
    /// One entry for each cylinder, in their order.
    pub cylinders: Vec<CylinderReport>,
    /// Means and spreads.
    pub summary: ReportSummary,
    /// Findings: missing, unrepeated or out of line with the rest.
    pub findings: Vec<Finding>,
    /// Verdicts on the tolerances of the engine file.
    pub verdicts: Vec<ToleranceVerdict>,
    /// Targets and tolerances of the engine file.
    #[serde(default)]
    pub limits: StatedLimits,
    /// Metal to take out of each chamber so that all are as large as the largest; `None` with fewer
    /// than two chambers.
    #[serde(default)]
    pub equal_chambers: Option<ChamberWork>,
    /// The least metal by which the chambers come within the spread that the engine file allows;
    /// `None` where it allows none, or with fewer than two chambers.
    #[serde(default)]
    pub least_chambers: Option<ChamberWork>,
    /// The other dimensions that the compression rests on.
    pub inputs: InputsUsed,
    /// Flow, by cylinder, port and lift.
    pub flow: Vec<FlowReport>,
    /// Means and spreads of flow over the cylinders, by port, kind of runner and lift.
    pub flow_by_lift: Vec<FlowAtLift>,
    /// What each port meets in the running engine.
    pub running_ports: Vec<RunningPort>,
    /// The form of the bores that were measured.
    pub bores: Vec<BoreReport>,
    /// Piston-to-valve clearances.
    pub valve_gaps: Vec<GapReport>,
    /// The free spots of the engine file, each name and place by itself; absent where it states none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub free: Vec<FreeReport>,
    /// Everything else that was measured.
    pub measured: Vec<MeasuredReport>,
    /// What was ordered, beside what was measured since; absent where nothing was ordered.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub ordered: Vec<OrderedReport>,
    /// What a positive sign means, where it could be taken the other way.
    pub signs: Vec<String>,
    /// What the ± of the cylinders' and the ports' figures leaves out, in a sentence each.
    #[serde(default)]
    pub lacking: Vec<String>,
    /// What the ± of the cylinders' figures leaves out, in a few words each.
    #[serde(default)]
    pub left_out: Vec<String>,
    /// What was chosen or could not be known, in a sentence each.
    pub remarks: Vec<String>,
    /// Cautions.
    pub cautions: Vec<String>,
}

/// How often the spots of one family were measured at the stage.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct MeasuredTimes {
    /// The family, e.g. `chamber`; of a free spot, its name.
    pub family: String,
    /// How many spots of it were measured.
    pub spots: usize,
    /// The fewest readings that one of them rests on, at least 1.
    pub least: usize,
    /// The most.
    pub most: usize,
}

/// What is known of one cylinder.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CylinderReport {
    /// Number.
    pub cylinder: u32,
    /// Bank.
    pub bank: String,
    /// Chamber volume, cc.
    pub chamber: Option<Figure>,
    /// Deck clearance, mean of its points, positive below the deck.
    pub deck: Option<Figure>,
    /// Crown volume, cc, dome positive.
    pub crown: Option<Figure>,
    /// Clearance volume, cc.
    pub clearance: Option<Figure>,
    /// Compression ratio.
    pub compression: Option<Figure>,
    /// Distance between piston and head at top dead centre: gasket and deck.
    pub quench: Option<Figure>,
    /// The same at the nearest point of the piston, rock included. The least quench distance is
    /// judged by it.
    #[serde(default)]
    pub quench_nearest: Option<Figure>,
    /// Swept volume, cc.
    pub swept: Option<Figure>,
    /// The dimensions that this cylinder was calculated with.
    #[serde(default)]
    pub dimensions: CylinderDimensions,
    /// Half the difference of the thrust and anti-thrust points.
    pub rock: Option<Figure>,
    /// Deck clearance from the block's height, the throw, the rod and the compression height, apart
    /// from the mock-up; `None` unless all are known.
    pub deck_from_parts: Option<Figure>,
    /// The piston at this position, as the engine file names it.
    pub piston_part: Option<String>,
    /// The rod at this position, as the engine file names it.
    pub rod_part: Option<String>,
    /// Deck clearance at each point.
    pub deck_points: BTreeMap<String, Figure>,
    /// Expanded uncertainty of the compression for 95 %.
    pub compression_expanded: Option<ExpandedUncertainty>,
    /// What the uncertainty of the compression is made of, the largest first.
    pub compression_budget: Vec<BudgetShare>,
}

/// The dimensions that one cylinder was calculated with; `None` where one is not known.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CylinderDimensions {
    /// Bore.
    pub bore: Option<Figure>,
    /// Stroke.
    pub stroke: Option<Figure>,
    /// Diameter of the gasket's opening.
    pub gasket_bore: Option<Figure>,
    /// Compressed thickness of the gasket.
    pub gasket_thickness: Option<Figure>,
    /// Volume above the top ring, cc; `None`: not counted.
    pub crevice: Option<Figure>,
}

/// An expanded uncertainty.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ExpandedUncertainty {
    /// k·u.
    pub value: f64,
    /// Always `None`: `dof` tells how well the uncertainty itself is known.
    pub u: Option<f64>,
    /// Unit of the figure that it belongs to.
    pub unit: Unit,
    /// Coverage factor.
    pub k: f64,
    /// Effective degrees of freedom; `None`: infinite.
    pub dof: Option<f64>,
}

/// What one source of error contributes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BudgetShare {
    /// The source.
    pub source: String,
    /// Contribution to the standard uncertainty; `None` if it is unknown.
    pub contribution: Option<Figure>,
}

/// Means and spreads over the cylinders that have a figure. A spread is the largest minus the
/// smallest; the mean of the compression is the mean of the cylinders' ratios.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ReportSummary {
    /// Mean chamber volume, cc.
    pub chamber_mean: Option<Figure>,
    /// Spread of the chamber volumes, cc.
    pub chamber_spread: Option<Figure>,
    /// Mean deck clearance.
    pub deck_mean: Option<Figure>,
    /// Spread of the deck clearances.
    pub deck_spread: Option<Figure>,
    /// Mean crown volume, cc.
    pub crown_mean: Option<Figure>,
    /// Spread of the crown volumes, cc.
    pub crown_spread: Option<Figure>,
    /// Mean compression ratio.
    pub compression_mean: Option<Figure>,
    /// Spread of the compression ratios.
    pub compression_spread: Option<Figure>,
    /// Expanded uncertainties of these means and spreads for 95 %, by their names here.
    #[serde(default)]
    pub expanded: BTreeMap<String, ExpandedUncertainty>,
    /// Expanded uncertainties for 95 % of the difference between two cylinders, of what is known of
    /// them, by the names of the cylinders' figures. Of neighbours in the cylinders' order, the middle
    /// one.
    #[serde(default)]
    pub between_cylinders: BTreeMap<String, ExpandedUncertainty>,
    /// The spreads that these gauges would show on equal parts.
    pub spreads_of_equals: SpreadsOfEquals,
    /// Displacement of all cylinders, cc.
    pub displacement: Option<Figure>,
    /// How many cylinders have a chamber, a deck, a crown and a compression.
    pub counts: CylinderCounts,
}

/// How many cylinders the means and spreads rest on.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schema",
    derive(schemars::JsonSchema),
    schemars(rename = "CylinderCounts")
)]
pub struct CylinderCounts {
    /// With a chamber volume.
    pub chamber: usize,
    /// With a deck clearance.
    pub deck: usize,
    /// With a crown volume.
    pub crown: usize,
    /// With a compression ratio.
    pub compression: usize,
}

named_enum! {
    /// A dimension of [`InputsUsed`], by its name there.
    DimensionUsed {
        /// Bore.
        Bore = "bore",
        /// Stroke.
        Stroke = "stroke",
        /// Diameter of the gasket's opening.
        GasketBore = "gasket_bore",
        /// Compressed thickness of the gasket.
        GasketThickness = "gasket_thickness",
        /// Volume above the top ring.
        Crevice = "crevice",
    }
}

/// Dimensions that were used.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct InputsUsed {
    /// Bore: the mean over the cylinders, measured or as the engine file states it.
    pub bore: Option<Figure>,
    /// Stroke.
    pub stroke: Option<Figure>,
    /// Diameter of the gasket's opening.
    pub gasket_bore: Option<Figure>,
    /// Compressed thickness of the gasket.
    pub gasket_thickness: Option<Figure>,
    /// Volume above the top ring, cc; `None`: not counted.
    pub crevice: Option<Figure>,
    /// The dimensions above that differ between cylinders. Their mean stands here; every cylinder
    /// is calculated with its own value.
    #[serde(default)]
    pub means_of_cylinders: Vec<DimensionUsed>,
    /// Reference depression of flow.
    pub reference_depression: Option<Figure>,
}

/// Kind of finding.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub enum FindingKind {
    /// A piston meets the head or a valve, or could.
    Contact,
    /// More than can be, whatever the gauge shows.
    Impossible,
    /// Outside of what such a dimension usually is: a slip, perhaps.
    Unusual,
    /// Unlike its brothers.
    Outlier,
    /// Readings that should agree do not.
    Disagrees,
    /// Measured in two ways whose mean counts.
    Mixed,
    /// Not as it was ordered.
    Ordered,
    /// Not measured.
    Missing,
    /// Measured once only.
    Unrepeated,
    /// Rests on a gauge, a zero or an orifice that was found to be off, or was not set anew.
    Marked,
    /// Zero or orifice was not checked before and after.
    Unchecked,
    /// A question about it waits for its answer; what is asked about does not count.
    Open,
    /// Kept by a person after a question: it was not what was expected.
    Kept,
    /// Typed by a person, not captured from a gauge.
    Typed,
}

/// Something that the reader should know about one spot.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(
    feature = "schema",
    derive(schemars::JsonSchema),
    schemars(rename = "ReportFinding")
)]
pub struct Finding {
    /// The spot.
    pub spot: String,
    /// Kind of finding.
    pub kind: FindingKind,
    /// What was found, in words.
    pub text: String,
    /// The readings in doubt that have others beside them at their spot, which are in none: to be
    /// voided. By the numbers by which people know them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub replaced: Vec<String>,
}

/// Whose ± it is, in the sentence of [`Report::lacking`] about the flow of ports.
pub(crate) const OF_PORTS: &str = "the ports' figures";

impl Report {
    /// What of [`Report::lacking`] is about the flow of ports.
    pub fn lacking_of_ports(&self) -> Option<&str> {
        let mut all = self.lacking.iter();
        let found = all.find(|sentence| sentence.contains(OF_PORTS));
        found.map(String::as_str)
    }

    /// The findings of one kind.
    pub fn findings_of(&self, kind: FindingKind) -> impl Iterator<Item = &Finding> {
        self.findings
            .iter()
            .filter(move |finding| finding.kind == kind)
    }

    /// The entry of a cylinder.
    pub fn cylinder(&self, number: u32) -> Option<&CylinderReport> {
        self.cylinders
            .iter()
            .find(|cylinder| cylinder.cylinder == number)
    }
}
