//! What a gauge sent about the moment of a reading, with the window that was taken.

use super::drawing::{chart, range};
use super::plot::{HEIGHT, Level, Line, Plot, WIDTH};
use super::{Chart, ChartKind};
use crate::day_and_minute;
use crate::digits::{rounded, usual_decimals};

/// What one gauge sent about the moment of a reading. Times are in seconds, of any one beginning.
#[derive(Debug, Clone, Copy)]
pub struct Traced<'a> {
    /// Whose trace it is, as its title says it.
    pub of: &'a str,
    /// The unit of every value.
    pub unit: &'a str,
    /// The samples that the value was taken from.
    pub window: &'a [(f64, f64)],
    /// The samples about them; may be empty.
    pub around: &'a [(f64, f64)],
    /// What was taken.
    pub taken: f64,
    /// When, RFC 3339.
    pub at: &'a str,
}

/// A trace; `None` without a window.
pub fn trace(traced: &Traced<'_>) -> Option<Chart> {
    let (first, last) = (traced.window.first()?, traced.window.last()?);
    let since = |points: &[(f64, f64)]| -> Vec<(f64, f64)> {
        // More points than pixels draw the same line.
        let every = points.len().div_ceil(1500).max(1);
        let points = points.iter().step_by(every);
        points.map(|(at, value)| (at - last.0, *value)).collect()
    };
    let (window, around) = (since(traced.window), since(traced.around));
    let digits = usual_decimals(traced.unit);
    let taken = rounded(traced.taken, digits);
    let all = || window.iter().chain(&around);
    let y = range(all().map(|point| point.1).chain([traced.taken]));
    let (from, to) = all().fold((-1.0_f64, 0.5_f64), |(from, to), point| {
        (from.min(point.0), to.max(point.0))
    });
    let edges = [first.0 - last.0, 0.0].map(|at| Line {
        points: vec![(at, y.0), (at, y.1)],
        dashed: true,
    });
    let mut lines = vec![Line {
        points: if around.is_empty() { window } else { around },
        dashed: false,
    }];
    lines.extend(edges);
    let title = format!("{}, {}", traced.of, day_and_minute(traced.at));
    let seconds = last.0 - first.0;
    let description = format!(
        "{taken} {} was taken from {} samples over {} seconds.",
        traced.unit,
        traced.window.len(),
        rounded(seconds, 1)
    );
    let step = [0.5, 1.0, 2.0, 5.0, 10.0, 20.0]
        .into_iter()
        .find(|step| (to - from) / step <= 9.0)
        .unwrap_or(60.0);
    let ticks = (0..10).map(|n| -step * f64::from(n));
    let ticks = ticks.filter(|at| *at >= from);
    let plot = Plot {
        width: WIDTH,
        height: HEIGHT,
        title: title.clone(),
        key: "between the dashed lines: what was taken".to_owned(),
        x: (from, to),
        x_ticks: ticks
            .map(|at| (at, rounded(at, i32::from(step < 1.0))))
            .collect(),
        x_name: "seconds".to_owned(),
        y,
        y_name: traced.unit.to_owned(),
        levels: vec![Level {
            at: traced.taken,
            name: format!("taken {taken}"),
            dashed: true,
        }],
        lines,
        ..Plot::default()
    };
    Some(chart(ChartKind::Trace, title, description, &plot.svg()))
}
