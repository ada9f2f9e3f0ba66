//! Whether a mean ran away during its window, and by how much.
//!
//! The run is reported and stays in the mean.

use super::autocorr::{Mean, mean_with_error};
use super::settings::AverageSettings;
use super::still::{FittedLine, Point};

/// The mean and, where the value ran away, its run over the window with a standard error. The
/// mean's own standard error is then that about the run, since the run is reported apart.
pub(super) fn with_drift(
    points: &[Point],
    values: &[f64],
    settings: &AverageSettings,
) -> (Mean, Option<(f64, f64)>) {
    let plain = mean_with_error(values);
    let line = FittedLine::through(points);
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
    // The samples are correlated over a part of the window only. Then the run over the window has
    // √12 times the standard error of the mean, as for independent samples.
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
