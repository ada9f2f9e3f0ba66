//! A plot: marks and lines between two axes, with levels and a band across it.

use plotters::chart::ChartBuilder;
use plotters::coord::Shift;
use plotters::drawing::{DrawingArea, DrawingAreaErrorKind, IntoDrawingArea};
use plotters::element::{Circle, PathElement, Polygon, Rectangle, Text};
use plotters::prelude::SVGBackend;
use plotters::style::text_anchor::{HPos, VPos};
use plotters::style::{Color, RGBColor, ShapeStyle};

use crate::digits::rounded;

use super::drawing::{BAND, FAINT, GRID, INK, PLATE, decimals, letters};

/// Height of every plot, px.
const HEIGHT: u32 = 420;
/// Least width of a plot, px.
pub(super) const WIDTH: u32 = 760;
/// Letters beside the plot's right edge that name the levels, px.
const NAMES: u32 = 170;

/// A point of the drawing, px.
type Px = (i32, i32);
type Sheet<'a> = DrawingArea<SVGBackend<'a>, Shift>;
/// The library's error. Drawing into a text has none; it is for files.
type Trouble = DrawingAreaErrorKind<std::io::Error>;

/// What is to be drawn.
#[derive(Debug, Default)]
pub(super) struct Plot {
    /// Width, px.
    pub(super) width: u32,
    /// Title.
    pub(super) title: String,
    /// What the shapes mean, in a line.
    pub(super) key: String,
    /// The ends of the axis across.
    pub(super) x: (f64, f64),
    /// What stands under it.
    pub(super) x_ticks: Vec<(f64, String)>,
    /// What it is.
    pub(super) x_name: String,
    /// The ends of the axis upwards.
    pub(super) y: (f64, f64),
    /// Its unit.
    pub(super) y_name: String,
    /// What is allowed.
    pub(super) band: Option<(f64, f64)>,
    /// Levels across the plot, each with its name.
    pub(super) levels: Vec<Level>,
    /// Lines.
    pub(super) lines: Vec<Line>,
    /// Marks.
    pub(super) marks: Vec<Mark>,
}

/// A level across the plot.
#[derive(Debug)]
pub(super) struct Level {
    pub(super) at: f64,
    pub(super) name: String,
    pub(super) dashed: bool,
}

/// A line from point to point.
#[derive(Debug)]
pub(super) struct Line {
    pub(super) points: Vec<(f64, f64)>,
    pub(super) dashed: bool,
}

/// A mark.
#[derive(Debug)]
pub(super) struct Mark {
    pub(super) at: (f64, f64),
    /// Half of its interval, drawn as a bar.
    pub(super) half: Option<f64>,
    pub(super) shape: Shape,
    /// What stands above it.
    pub(super) label: String,
}

/// The shape of a mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shape {
    Dot,
    Ring,
    Diamond,
    Up,
    Down,
    Square,
    /// A number alone.
    None,
}

impl Plot {
    /// The drawing.
    pub(super) fn svg(&self) -> String {
        let mut svg = String::new();
        // Drawing into a text cannot fail.
        let _ = self.draw(&mut svg);
        svg
    }

    fn draw(&self, svg: &mut String) -> Result<(), Trouble> {
        let sheet = SVGBackend::with_string(svg, (self.width, HEIGHT)).into_drawing_area();
        sheet.fill(&PLATE)?;
        let right = if self.levels.is_empty() { 24 } else { NAMES };
        let mut chart = ChartBuilder::on(&sheet)
            .margin_top(74)
            .margin_right(right)
            .x_label_area_size(62)
            .y_label_area_size(92)
            .build_cartesian_2d(self.x.0..self.x.1, self.y.0..self.y.1)?;
        let digits = decimals(self.y);
        let at = chart.as_coord_spec().clone();
        let px = |x: f64, y: f64| -> Px {
            use plotters::coord::CoordTranslate;
            at.translate(&(x, y))
        };
        if let Some((low, high)) = self.band {
            let corners = [px(self.x.0, high), px(self.x.1, low)];
            sheet.draw(&Rectangle::new(corners, BAND.filled()))?;
        }
        chart
            .configure_mesh()
            .disable_x_mesh()
            .x_labels(0)
            .y_labels(6)
            .y_label_formatter(&|value| rounded(*value, digits))
            .label_style(letters(&FAINT, HPos::Right, VPos::Center))
            .light_line_style(PLATE.mix(0.0))
            .bold_line_style(GRID)
            .axis_style(FAINT)
            .draw()?;
        let middle = (px(self.x.0, self.y.0).0 + px(self.x.1, self.y.0).0) / 2;
        let bottom = px(self.x.0, self.y.0).1;
        for (x, text) in &self.x_ticks {
            write(
                &sheet,
                text,
                &INK,
                (px(*x, self.y.0).0, bottom + 8),
                (HPos::Center, VPos::Top),
            )?;
        }
        let under = (middle, bottom + 34);
        write(
            &sheet,
            &self.x_name,
            &FAINT,
            under,
            (HPos::Center, VPos::Top),
        )?;
        write(&sheet, &self.title, &INK, (14, 10), (HPos::Left, VPos::Top))?;
        let key = format!("{}   {}", self.y_name, self.key);
        write(
            &sheet,
            key.trim(),
            &FAINT,
            (14, 38),
            (HPos::Left, VPos::Top),
        )?;
        self.draw_levels(&sheet, &px)?;
        for line in &self.lines {
            let points: Vec<Px> = line.points.iter().map(|(x, y)| px(*x, *y)).collect();
            path(&sheet, &points, line.dashed, 3)?;
        }
        // No number's ground covers another mark.
        let mut numbers = Vec::new();
        for mark in &self.marks {
            numbers.push(self.draw_bar(&sheet, mark, &px)?);
        }
        for (mark, number) in self.marks.iter().zip(numbers) {
            draw_shape(&sheet, mark.shape, px(mark.at.0, mark.at.1))?;
            write(
                &sheet,
                &mark.label,
                &INK,
                number,
                (HPos::Center, VPos::Bottom),
            )?;
        }
        sheet.present()
    }

    /// The levels, their names beside the right edge and not over each other.
    fn draw_levels(&self, sheet: &Sheet<'_>, px: &impl Fn(f64, f64) -> Px) -> Result<(), Trouble> {
        let mut names: Vec<(i32, &str)> = Vec::new();
        for level in &self.levels {
            let (from, to) = (px(self.x.0, level.at), px(self.x.1, level.at));
            path(sheet, &[from, to], level.dashed, 2)?;
            names.push((to.1, &level.name));
        }
        names.sort_by_key(|(y, _)| *y);
        let left = px(self.x.1, self.y.0).0 + 8;
        let mut free = i32::MIN;
        for (y, name) in names {
            let y = y.max(free);
            write(sheet, name, &INK, (left, y), (HPos::Left, VPos::Center))?;
            free = y + 22;
        }
        Ok(())
    }

    /// The bar of a mark and the ground of its number; the place of the number.
    fn draw_bar(
        &self,
        sheet: &Sheet<'_>,
        mark: &Mark,
        px: &impl Fn(f64, f64) -> Px,
    ) -> Result<Px, Trouble> {
        let (x, y) = px(mark.at.0, mark.at.1);
        let mut top = y - 11;
        if let Some(half) = mark.half {
            let ends = [mark.at.1 + half, mark.at.1 - half];
            let [high, low] = ends.map(|end| px(mark.at.0, end.clamp(self.y.0, self.y.1)).1);
            path(sheet, &[(x, high), (x, low)], false, 2)?;
            // A bar that goes on beyond the plot has no end.
            for (end, at) in ends.into_iter().zip([high, low]) {
                if (self.y.0..=self.y.1).contains(&end) {
                    path(sheet, &[(x - 6, at), (x + 6, at)], false, 2)?;
                }
            }
            if ends.iter().all(|end| (self.y.0..=self.y.1).contains(end)) {
                top = top.min(high - 4);
            }
        }
        if !mark.label.is_empty() {
            // The number is not crossed by the lines behind it.
            let half_wide = 5 * i32::try_from(mark.label.chars().count()).unwrap_or(0);
            let ground = [(x - half_wide, top - 17), (x + half_wide, top)];
            sheet.draw(&Rectangle::new(ground, PLATE.filled()))?;
        }
        Ok((x, top))
    }
}

fn draw_shape(sheet: &Sheet<'_>, shape: Shape, (x, y): Px) -> Result<(), Trouble> {
    match shape {
        Shape::None => Ok(()),
        Shape::Dot => sheet.draw(&Circle::new((x, y), 6, INK.filled())),
        Shape::Ring => {
            sheet.draw(&Circle::new((x, y), 6, PLATE.filled()))?;
            sheet.draw(&Circle::new((x, y), 6, INK.stroke_width(3)))
        }
        Shape::Diamond => polygon(sheet, &[(x, y - 11), (x + 9, y), (x, y + 11), (x - 9, y)]),
        Shape::Up => polygon(sheet, &[(x, y - 8), (x + 8, y + 6), (x - 8, y + 6)]),
        Shape::Down => polygon(sheet, &[(x, y + 8), (x + 8, y - 6), (x - 8, y - 6)]),
        Shape::Square => polygon(
            sheet,
            &[
                (x - 6, y - 6),
                (x + 6, y - 6),
                (x + 6, y + 6),
                (x - 6, y + 6),
            ],
        ),
    }
}

fn write(
    sheet: &Sheet<'_>,
    text: &str,
    colour: &'static RGBColor,
    at: Px,
    (across, down): (HPos, VPos),
) -> Result<(), Trouble> {
    if text.is_empty() {
        return Ok(());
    }
    sheet.draw(&Text::new(
        text.to_owned(),
        at,
        letters(colour, across, down),
    ))
}

/// A line through points, whole or in dashes.
fn path(sheet: &Sheet<'_>, points: &[Px], dashed: bool, width: u32) -> Result<(), Trouble> {
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
