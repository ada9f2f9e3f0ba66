//! The shapes of marks, filled and as outlines, and lines whole and in dashes.

use plotters::coord::Shift;
use plotters::drawing::{DrawingArea, DrawingAreaErrorKind};
use plotters::element::{Circle, PathElement, Polygon};
use plotters::prelude::SVGBackend;
use plotters::style::{Color, ShapeStyle};

use super::drawing::{INK, PLATE};

/// A point of the drawing, px.
pub(super) type Px = (i32, i32);
pub(super) type Sheet<'a> = DrawingArea<SVGBackend<'a>, Shift>;
/// The library's error. Drawing into a text has none; it is for files.
pub(super) type Trouble = DrawingAreaErrorKind<std::io::Error>;

/// The shape of a mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shape {
    Dot,
    Ring,
    Diamond,
    Up,
    Down,
    Square,
    /// The outline of a diamond, of a triangle with its point up, and so on.
    HollowDiamond,
    HollowUp,
    HollowDown,
    HollowSquare,
    /// A number alone.
    None,
}

impl Shape {
    /// The same as an outline.
    pub(super) fn hollow(self) -> Shape {
        match self {
            Shape::Dot => Shape::Ring,
            Shape::Diamond => Shape::HollowDiamond,
            Shape::Up => Shape::HollowUp,
            Shape::Down => Shape::HollowDown,
            Shape::Square => Shape::HollowSquare,
            other => other,
        }
    }
}

/// Draws a mark.
pub(super) fn draw_shape(sheet: &Sheet<'_>, shape: Shape, (x, y): Px) -> Result<(), Trouble> {
    let diamond = [(x, y - 11), (x + 9, y), (x, y + 11), (x - 9, y)];
    let up = [(x, y - 8), (x + 8, y + 6), (x - 8, y + 6)];
    let down = [(x, y + 8), (x + 8, y - 6), (x - 8, y - 6)];
    let square = [
        (x - 6, y - 6),
        (x + 6, y - 6),
        (x + 6, y + 6),
        (x - 6, y + 6),
    ];
    match shape {
        Shape::None => Ok(()),
        Shape::Dot => sheet.draw(&Circle::new((x, y), 6, INK.filled())),
        Shape::Ring => {
            sheet.draw(&Circle::new((x, y), 6, PLATE.filled()))?;
            sheet.draw(&Circle::new((x, y), 6, INK.stroke_width(3)))
        }
        Shape::Diamond => polygon(sheet, &diamond),
        Shape::Up => polygon(sheet, &up),
        Shape::Down => polygon(sheet, &down),
        Shape::Square => polygon(sheet, &square),
        Shape::HollowDiamond => outline(sheet, &diamond),
        Shape::HollowUp => outline(sheet, &up),
        Shape::HollowDown => outline(sheet, &down),
        Shape::HollowSquare => outline(sheet, &square),
    }
}

/// A line through points, whole or in dashes.
pub(super) fn path(
    sheet: &Sheet<'_>,
    points: &[Px],
    dashed: bool,
    width: u32,
) -> Result<(), Trouble> {
    let style: ShapeStyle = INK.stroke_width(width);
    if !dashed {
        return sheet.draw(&PathElement::new(points.to_vec(), style));
    }
    for pair in points.windows(2) {
        for dash in dashes(pair[0], pair[1]) {
            sheet.draw(&PathElement::new(dash.to_vec(), style))?;
        }
    }
    Ok(())
}

/// A straight line in dashes of 10 px, 7 px apart.
fn dashes(from: Px, to: Px) -> Vec<[Px; 2]> {
    let (across, down) = (f64::from(to.0 - from.0), f64::from(to.1 - from.1));
    let length = across.hypot(down);
    let at = |along: f64| -> Px {
        let share = (along / length).min(1.0);
        // Pixels of one drawing.
        let place = |from: i32, by: f64| (f64::from(from) + share * by).round() as i32;
        (place(from.0, across), place(from.1, down))
    };
    let mut all = Vec::new();
    let mut along = 0.0;
    while along < length {
        all.push([at(along), at(along + 10.0)]);
        along += 17.0;
    }
    all
}

fn polygon(sheet: &Sheet<'_>, corners: &[Px]) -> Result<(), Trouble> {
    sheet.draw(&Polygon::new(corners.to_vec(), INK.filled()))
}

/// A polygon that hides what is behind it, in an outline.
fn outline(sheet: &Sheet<'_>, corners: &[Px]) -> Result<(), Trouble> {
    sheet.draw(&Polygon::new(corners.to_vec(), PLATE.filled()))?;
    let closed: Vec<Px> = corners.iter().chain(corners.first()).copied().collect();
    sheet.draw(&PathElement::new(closed, INK.stroke_width(3)))
}
