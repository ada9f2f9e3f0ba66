//! A stop of a route with everything that taking its reading needs.

use benchhand_blueprint::Unit;
use benchhand_blueprint::formula::flow::error_of_part;
use benchhand_blueprint::units::QuantityKind;

use crate::capture::{CaptureSettings, CapturedValue, ChannelMean};
use crate::known::correcting::ChannelCorrection;
use crate::live::figuring::FigureBasis;
use crate::route::RouteStop;
use crate::store::fact::ReadingPart;

/// One stop with everything that taking it needs.
#[derive(Debug, Clone)]
pub struct ArrangedStop {
    /// The stop.
    pub stop: RouteStop,
    /// The name of the gauge that measures at the stop.
    pub gauge: String,
    /// How the gauge's values are captured.
    pub settings: CaptureSettings,
    /// How the gauge's number becomes the reading.
    pub basis: FigureBasis,
    /// The names of the gauge's channels.
    pub channels: Vec<String>,
    /// The corrections from the gauge's last check, channel by channel.
    pub corrections: Vec<Option<ChannelCorrection>>,
    /// What the burette holds when full, cc, where that is stated.
    pub capacity_cc: Option<f64>,
    /// Initials of who measures.
    pub by: Option<String>,
    /// The unit in which a person is told the stop's values; `None`: that of the gauge.
    pub told: Option<Unit>,
}

/// The standard error of a mean beside the test pressure, as far as it makes the flow another one; its
/// own where the samples did not come in pairs.
fn error_beside(along: &ChannelMean) -> Option<f64> {
    let kind = along.unit.kind();
    match along.flow_se {
        Some(share) => error_of_part(share, along.value, kind),
        None => along
            .se
            .filter(|_| matches!(kind, QuantityKind::Pressure | QuantityKind::Flow)),
    }
}

impl ArrangedStop {
    /// The channels beside the main one, as parts of the reading.
    pub(super) fn parts(&self, taken: &CapturedValue) -> Vec<ReadingPart> {
        let part = |along: &ChannelMean| {
            let channel = usize::from(along.channel);
            let correction = self.corrections.get(channel).copied().flatten();
            let added = correction.map(|c| c.at(along.value, along.unit, false));
            let unit = along.unit.symbol();
            ReadingPart {
                role: self.channels.get(channel).cloned().unwrap_or_default(),
                value: along.value + added.unwrap_or(0.0),
                unit: unit.to_owned(),
                u: None,
                gauge: Some(self.gauge.clone()),
                raw: added.map(|_| along.value),
                raw_unit: added.map(|_| unit.to_owned()),
                n: u32::try_from(along.n).ok(),
                sd: along.sd,
                se: error_beside(along),
                window: Vec::new(),
                stream: None,
            }
        };
        taken.others.iter().map(part).collect()
    }
}
