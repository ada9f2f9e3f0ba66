//! Whether a mean ran away during its window, and by how much.
//!
//! It reports the run; it does not average it away.

use super::autocorr::{Mean, mean_with_error};
use super::settings::AverageSettings;
use super::still::{Line, Point};

/// Mean and, where the value ran away, the run over the window with its standard error. Its
/// own standard error is that about the run, since the run is reported apart.
pub(super) fn with_drift(
    points: &[Point],
    values: &[f64],
    settings: &AverageSettings,
) -> (Mean, Option<(f64, f64)>) {
    let plain = mean_with_error(values);
    let line = Line::through(points);
    let from = points[0].at_us;
    let middle = 0.5 * line.span;
    let about: Vec<f64> = points
        .iter()
        .map(|p| p.v - line.slope * (p.since(from) - middle))
        .collect();
    let detrended = mean_with_error(&about);
    let Some(se_mean) = detrended.se else {
        return (plain, None);
    };
    // For a series that remembers itself only over a part of the window, the run over the
    // window has √12 times the standard error of its mean, as for independent samples.
    let (run, se) = (line.slope * line.span, 12f64.sqrt() * se_mean);
    let said = run.abs() > settings.drift_errors * se
        && run.abs() > settings.drift_share * plain.value.abs();
    if said {
        (
            Mean {
                se: detrended.se,
                ..plain
            },
            Some((run, se)),
        )
    } else {
        (plain, None)
    }
}
