//! Free spots, as the report states them.

use serde::{Deserialize, Serialize};

use super::{ExpandedUncertainty, MeasuredReport};
use crate::figure::Figure;
use crate::spot::SpotName;

/// The spots of one name at one place, over the cylinders. All figures are in the unit that the
/// engine file states for them; limits are exact.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct FreeReport {
    /// The name in the engine file, e.g. `spring_height`.
    pub name: SpotName,
    /// What it is called.
    pub title: String,
    /// The place, e.g. `intake`; `None` where there is one only.
    pub at: Option<SpotName>,
    /// How many spots there are, measured or not.
    pub spots: usize,
    /// The least that each may be; `None` where the engine file states none.
    pub least: Option<Figure>,
    /// The most that each may be.
    pub most: Option<Figure>,
    /// The most that they may differ, largest less smallest.
    pub allowed_spread: Option<Figure>,
    /// The mean of those that were measured; `None` where none was.
    pub mean: Option<Figure>,
    /// Their spread; `None` with fewer than two.
    pub spread: Option<Figure>,
    /// Expanded uncertainty of the mean for 95 %; `None` where something is lacking.
    pub mean_expanded: Option<ExpandedUncertainty>,
    /// Expanded uncertainty of the spread for 95 %.
    pub spread_expanded: Option<ExpandedUncertainty>,
    /// The spread that these gauges would show on equal parts, half of the time less and half of
    /// the time more; `None` where an uncertainty is unknown.
    pub spread_of_equals: Option<Figure>,
    /// Each that was measured, in the order of the cylinders.
    pub measured: Vec<MeasuredReport>,
}
