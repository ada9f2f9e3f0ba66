//! What was ordered beside what came, as the report states it.

use serde::{Deserialize, Serialize};

use crate::decide::VerdictAnswer;
use crate::figure::Figure;
use crate::named::named_enum;

named_enum! {
    /// A size to which parts are ordered: the first word of the spots where it is measured.
    OrderedSize {
        /// Volume of the dome or dish, dome positive.
        Crown = "crown",
        /// Compression height of the piston.
        Height = "height",
        /// The bore that the pistons are made for.
        Bore = "bore",
        /// Diameter of the piston's skirt.
        Skirt = "skirt",
        /// Rod length, centre to centre.
        Rod = "rod",
    }
}

/// A size that was ordered for one cylinder, beside what was measured since. All in the unit of the
/// order.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct OrderedReport {
    /// The size.
    pub size: OrderedSize,
    /// The cylinder.
    pub cylinder: u32,
    /// What was ordered.
    pub ordered: Figure,
    /// How far it may be off on either side; `None`: nobody said.
    pub tolerance: Option<Figure>,
    /// What was measured since it was ordered; `None`: nothing yet.
    pub measured: Option<Figure>,
    /// Measured less ordered; its uncertainty is the measured one's.
    pub difference: Option<Figure>,
    /// Whether it is within the tolerance; `None` where nothing was measured or no tolerance is
    /// stated.
    pub answer: Option<VerdictAnswer>,
}
