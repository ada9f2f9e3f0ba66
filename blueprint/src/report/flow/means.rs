//! The means of a flow spot's readings, part by part.

use crate::figure::Estimate;

/// The means of the parts of a spot's readings, base units.
pub(super) struct Means {
    pub(super) test: Option<Estimate>,
    pub(super) metering: Option<Estimate>,
    pub(super) flow: Option<Estimate>,
    pub(super) leak: Option<Estimate>,
    pub(super) lift: Option<Estimate>,
    pub(super) temperature: Option<Estimate>,
    pub(super) plenum_temperature: Option<Estimate>,
}
