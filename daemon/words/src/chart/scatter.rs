//! How a gauge's repeats scatter, in the order in which they were taken.

use super::drawing::{chart, range};
use super::plot::{HEIGHT, Level, Mark, Plot, Shape, WIDTH};
use super::{Chart, ChartKind};
use crate::day_and_minute;
use crate::digits::{decimals_of, rounded};

/// One repeat of a quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct Repeat {
    /// When it was kept, RFC 3339.
    pub at: String,
    /// How far it is from the mean of the repeats of the same spot in the same stage.
    pub off: f64,
}

/// A gauge's repeats about their own means, in the order of taking; `None` for fewer than two.
/// `sd` is their pooled standard deviation, in `unit`, where it is known.
pub fn scatter(gauge: &str, unit: &str, repeats: &[Repeat], sd: Option<f64>) -> Option<Chart> {
    let (first, last) = (repeats.first()?, repeats.last()?);
    if repeats.len() < 2 {
        return None;
    }
    let mut levels = vec![Level {
        at: 0.0,
        name: "their means".to_owned(),
        dashed: false,
    }];
    let sd = sd.filter(|sd| *sd > 0.0);
    if let Some(sd) = sd {
        let width = rounded(2.0 * sd, decimals_of(2.0 * sd));
        for (at, sign) in [(2.0 * sd, "+"), (-2.0 * sd, "−")] {
            levels.push(Level {
                at,
                name: format!("{sign}2 s = {sign}{width}"),
                dashed: true,
            });
        }
    }
    let largest = repeats.iter().map(|one| one.off.abs()).fold(0.0, f64::max);
    let marks: Vec<Mark> = repeats
        .iter()
        .enumerate()
        .map(|(place, one)| Mark {
            at: (place as f64, one.off),
            half: None,
            shape: match sd {
                Some(sd) if one.off.abs() > 3.0 * sd => Shape::Diamond,
                _ => Shape::Dot,
            },
            label: String::new(),
        })
        .collect();
    let ends = levels.iter().map(|one| one.at).chain([largest, -largest]);
    let y = range(ends.collect::<Vec<_>>());
    let end = repeats.len() - 1;
    let title = format!("Scatter of {gauge}'s repeats");
    let told = match largest > 0.0 {
        true => rounded(largest, decimals_of(largest)),
        false => "0".to_owned(),
    };
    let description = format!(
        "{} repeats from {} to {}, each against the mean of its spot; the farthest is {told} {unit} off.{}",
        repeats.len(),
        day_and_minute(&first.at),
        day_and_minute(&last.at),
        sd.map_or(String::new(), |sd| {
            format!(
                " Standard deviation {} {unit}.",
                rounded(sd, decimals_of(sd))
            )
        })
    );
    let plot = Plot {
        width: WIDTH,
        height: HEIGHT,
        title: title.clone(),
        key: "each repeat against the mean of its spot".to_owned(),
        x: (-0.6, end as f64 + 0.6),
        x_ticks: vec![
            (0.15 * end as f64, day_and_minute(&first.at)),
            (0.85 * end as f64, day_and_minute(&last.at)),
        ],
        x_name: "in the order of taking".to_owned(),
        y,
        y_name: unit.to_owned(),
        levels,
        marks,
        ..Plot::default()
    };
    Some(chart(ChartKind::Scatter, title, description, &plot.svg()))
}
