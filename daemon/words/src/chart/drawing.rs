//! The sheet that a chart is drawn on: ink, letters, and what a screen reader says.

use std::fmt::Write as _;

use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{RGBColor, TextStyle};

use super::{Chart, ChartKind};

/// What is most important.
pub(super) const INK: RGBColor = RGBColor(13, 20, 26);
/// What helps to read it.
pub(super) const FAINT: RGBColor = RGBColor(67, 81, 93);
/// Lines of the grid.
pub(super) const GRID: RGBColor = RGBColor(208, 214, 220);
/// The area that is allowed.
pub(super) const BAND: RGBColor = RGBColor(226, 231, 236);
/// The ground.
pub(super) const PLATE: RGBColor = RGBColor(255, 255, 255);

/// A text's style, in letters of a height, px. Its anchor is one of `start`, `middle`, `end`.
pub(super) fn letters(
    height: i32,
    colour: &'static RGBColor,
    (across, down): (HPos, VPos),
) -> TextStyle<'static> {
    TextStyle::from(("sans-serif", height))
        .color(colour)
        .pos(Pos::new(across, down))
}

/// A chart of what was drawn, with its title and description inside the drawing.
pub(super) fn chart(kind: ChartKind, title: String, description: String, drawn: &str) -> Chart {
    // The drawing's library writes the first tag; what a screen reader says goes behind it.
    let body = drawn.strip_prefix("<svg ").unwrap_or(drawn);
    let (attributes, rest) = body.split_once('>').unwrap_or((body, ""));
    let mut svg = String::with_capacity(drawn.len() + description.len() + 200);
    let _ = write!(
        svg,
        "<svg role=\"img\" {attributes}><title>{}</title><desc>{}</desc>{rest}",
        escaped(&title),
        escaped(&description),
    );
    Chart {
        kind,
        title,
        description,
        svg,
    }
}

/// A text as it stands in SVG.
pub(super) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '&' => out.push_str("&amp;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            // Control characters are not allowed in XML.
            control if control.is_control() => out.push(' '),
            other => out.push(other),
        }
    }
    out
}

/// The range of an axis that holds all of `values`, with a margin; never without width.
pub(super) fn range(values: impl IntoIterator<Item = f64>) -> (f64, f64) {
    let finite = values.into_iter().filter(|value| value.is_finite());
    let (low, high) = finite.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
        (low.min(value), high.max(value))
    });
    if low > high {
        return (0.0, 1.0);
    }
    let width = (high - low).max(high.abs() * 1e-6).max(1e-9);
    (low - 0.12 * width, high + 0.2 * width)
}

/// Decimals with which the numbers of an axis differ, 0 to 9.
pub(super) fn decimals((low, high): (f64, f64)) -> i32 {
    let step = (high - low) / 6.0;
    (-step.log10().floor()).clamp(0.0, 9.0) as i32
}
