//! How a level is judged, from the settings of a pour.

use super::super::settings::PourSettings;
use super::level::Judging;

/// The limits for a level; `scale` is one cc or gram in the gauge's unit.
pub(super) fn judging(
    settings: &PourSettings,
    resolution: f64,
    scale: f64,
    balance: bool,
) -> Judging {
    Judging {
        window_s: settings.window_s,
        window_n: settings.window_n,
        noisiest: settings.noisiest_cc * scale,
        // The standard deviation of a uniform distribution up to the largest film.
        drains: vec![settings.drain_cc * scale / 3f64.sqrt()],
        drop: settings.drop_cc * scale,
        taus: settings.drain_s.clone(),
        even: balance.then_some(scale),
        resolution,
    }
}
