//! Deck clearance by cylinder, with the points that it was measured at.

use benchhand_blueprint::report::Report;

use super::cylinders::{across, places};
use super::drawing::{chart, range};
use super::plot::{HEIGHT, Level, Mark, Plot, Shape};
use super::{Chart, ChartKind};
use crate::digits::{rounded, usual_decimals};

/// The shape of a point, as a plot has it and as the key tells it, and its place beside the
/// cylinder's own.
fn drawn_as(point: &str) -> (Shape, &'static str, f64) {
    match point {
        "front" => (Shape::Up, "▲ front", -0.2),
        "rear" => (Shape::Down, "▼ rear", 0.2),
        "thrust" => (Shape::Square, "■ thrust", -0.1),
        _ => (Shape::Ring, "○ other points", 0.1),
    }
}

pub(super) fn deck(report: &Report) -> Option<Chart> {
    let mean = report.summary.deck_mean.as_ref()?;
    let unit = mean.unit.symbol();
    let digits = usual_decimals(unit);
    let mut marks = Vec::new();
    let mut key = vec!["● mean"];
    let mut told = Vec::new();
    for (place, one) in report.cylinders.iter().enumerate() {
        let Some(deck) = &one.deck else { continue };
        let mut points = Vec::new();
        for (name, figure) in &one.deck_points {
            let (shape, words, beside) = drawn_as(name);
            if !key.contains(&words) {
                key.push(words);
            }
            points.push(format!("{name} {}", rounded(figure.value, digits)));
            marks.push(Mark {
                at: (place as f64 + beside, figure.value),
                half: None,
                shape,
                label: String::new(),
            });
        }
        let value = rounded(deck.value, digits);
        told.push(format!(
            "cylinder {} {value} {}",
            one.cylinder,
            points.join(" ")
        ));
        // The number stands above the highest of its points: beside the mean it would be covered by
        // those that lie near it.
        let highest = one.deck_points.values().map(|figure| figure.value);
        let highest = highest.fold(deck.value, f64::max);
        marks.push(Mark {
            at: (place as f64, deck.value),
            half: None,
            shape: Shape::Dot,
            label: String::new(),
        });
        marks.push(Mark {
            at: (place as f64, highest),
            half: None,
            shape: Shape::None,
            label: value,
        });
    }
    let levels = vec![Level {
        at: mean.value,
        name: format!("average {}", rounded(mean.value, digits)),
        dashed: false,
    }];
    let ends = marks.iter().map(|mark| mark.at.1).chain([mean.value]);
    let y = range(ends.collect::<Vec<_>>());
    let (x, width) = across(report);
    let title = format!("Deck by cylinder, {}", report.stage);
    let description = format!(
        "Deck clearance, {unit}, positive in the hole: {}. {}.",
        told.iter()
            .map(|one| one.trim_end())
            .collect::<Vec<_>>()
            .join(", "),
        levels[0].name
    );
    let plot = Plot {
        width,
        height: HEIGHT,
        title: title.clone(),
        key: key.join("; "),
        x,
        x_ticks: places(report),
        x_name: "cylinder".to_owned(),
        y,
        y_name: unit.to_owned(),
        levels,
        marks,
        ..Plot::default()
    };
    Some(chart(ChartKind::Deck, title, description, &plot.svg()))
}
