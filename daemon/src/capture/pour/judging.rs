//! How a level is judged, from what is set for a pour.

use super::super::settings::PourSettings;
use super::level::Judging;

/// `scale` is one cc or gram in the gauge's unit.
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
        // Uniform up to the most: its standard deviation.
        drains: vec![settings.drain_cc * scale / 3f64.sqrt()],
        drop: settings.drop_cc * scale,
        taus: settings.drain_s.clone(),
        even: balance.then_some(scale),
        resolution,
    }
}
