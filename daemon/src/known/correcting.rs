//! The correction that a gauge's last check gave.
//!
//! A correction is added to captured and typed values when they become readings. The number that
//! the gauge itself showed is kept beside the value.

use benchhand_blueprint::Quantity;
use benchhand_drivers::{QuantityKind, Unit};

use crate::store::gauges::{Calibration, RegisterEntry};
use crate::store::view::JobView;

/// The correction of one channel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChannelCorrection {
    /// What is added …
    pub offset: Quantity,
    /// … and the share of the shown value that is added besides.
    pub scale: f64,
    /// Whether the correction applies to differences, such as what a burette delivered.
    pub deliveries: bool,
}

impl ChannelCorrection {
    /// What is added to `shown`, in its unit. An offset of differences says nothing of a level, and
    /// an offset of levels cancels in a difference. The scale holds for both.
    pub fn at(&self, shown: f64, unit: Unit, delivered: bool) -> f64 {
        let offset = if delivered == self.deliveries {
            let size = self.offset.unit.difference_to_base(self.offset.value);
            size / unit.difference_to_base(1.0)
        } else {
            0.0
        };
        offset + self.scale * shown
    }
}

/// The corrections of a gauge's channels, from its entry in the register and this job's facts.
///
/// The offset of a length gauge belongs to its zeroing: it holds only until the next zero, and only
/// in the job of that zero and that check. The scale holds for good.
pub(crate) fn corrections(
    gauge: &RegisterEntry,
    name: &str,
    view: &JobView,
) -> Vec<Option<ChannelCorrection>> {
    let same_zero = gauge.kind != Some(QuantityKind::Length) || checked_since_zero(name, view);
    let of = |known: Option<&Calibration>| {
        let known = known?;
        let text = known.correction?.to_string();
        let mut offset: Quantity = text.parse().ok()?;
        if !same_zero {
            offset.value = 0.0;
        }
        Some(ChannelCorrection {
            offset,
            scale: known.scale.unwrap_or(0.0),
            deliveries: known.deliveries,
        })
    };
    let own = |channel: usize| {
        gauge
            .channels
            .get(channel)
            .and_then(|c| c.calibration.as_ref())
    };
    let count = gauge.channels.len().max(1);
    (0..count)
        .map(|channel| match channel {
            0 => of(own(0).or(gauge.calibration.as_ref())),
            _ => of(own(channel)),
        })
        .collect()
}

fn checked_since_zero(name: &str, view: &JobView) -> bool {
    let Some(record) = view.gauge(name) else {
        return false;
    };
    let gave = |check: &&crate::store::view::Stamped<crate::store::fact::CheckedGauge>| {
        check.what.correction.is_some() && check.what.channel == 0
    };
    let zeroed = record.zeros.last().map_or(0, |zero| zero.seq);
    record
        .checks
        .iter()
        .rfind(gave)
        .is_some_and(|check| check.seq > zeroed)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn correction(deliveries: bool) -> ChannelCorrection {
        ChannelCorrection {
            offset: "0.1 mm".parse().unwrap(),
            scale: 0.01,
            deliveries,
        }
    }

    #[test]
    fn an_offset_is_added_in_the_unit_that_the_gauge_sends() {
        let added = correction(false).at(1.0, Unit::Inch, false);
        assert!((added - (0.1 / 25.4 + 0.01)).abs() < 1e-12, "{added}");
    }

    #[test]
    fn an_offset_is_added_to_a_typed_value_in_a_unit_that_no_gauge_sends() {
        let added = correction(false).at(1.0, Unit::Centimetre, false);
        assert!((added - 0.02).abs() < 1e-12, "{added}");
    }

    #[test]
    fn an_offset_of_levels_cancels_in_a_difference() {
        let added = correction(false).at(2.0, Unit::Millimetre, true);
        assert!((added - 0.02).abs() < 1e-12, "{added}");
        let added = correction(true).at(2.0, Unit::Millimetre, true);
        assert!((added - 0.12).abs() < 1e-12, "{added}");
    }
}
