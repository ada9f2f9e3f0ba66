//! A plot: marks and lines between two axes, with levels and a band across it.

use plotters::chart::ChartBuilder;
use plotters::drawing::IntoDrawingArea;
use plotters::element::{PathElement, Rectangle, Text};
use plotters::prelude::SVGBackend;
use plotters::style::text_anchor::{HPos, VPos};
use plotters::style::{Color, RGBColor};

use crate::digits::rounded;

use super::drawing::{BAND, FAINT, GRID, INK, PLATE, decimals, letters};
pub(super) use super::shape::Shape;
use super::shape::{Px, Sheet, Trouble, draw_shape, path};

/// Height of a plot, px.
pub(super) const HEIGHT: u32 = 420;
/// Height of a plot that stands beside another one on a sheet, px. There it is shown about 36 mm
/// high, which gives letters of 7 points.
pub(super) const FLAT: u32 = 300;
/// Least width of a plot, px.
pub(super) const WIDTH: u32 = 760;
/// Letters beside the plot's right edge that name the levels, px.
const NAMES: u32 = 170;
/// Width of a letter, px, on the whole.
const LETTER: u32 = 12;
/// Height of a line of letters, px.
const LINE: i32 = 26;

/// What is to be drawn.
#[derive(Debug, Default)]
pub(super) struct Plot {
    /// Width, px.
    pub(super) width: u32,
    /// Height, px.
    pub(super) height: u32,
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
    /// Names of lines, beside the plot's right edge.
    pub(super) ends: Vec<End>,
}

/// Where a line ends, and what it is.
#[derive(Debug)]
pub(super) struct End {
    pub(super) at: (f64, f64),
    pub(super) name: String,
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

impl Plot {
    /// The drawing.
    pub(super) fn svg(&self) -> String {
        let mut svg = String::new();
        // Drawing into a text cannot fail.
        let _ = self.draw(&mut svg);
        svg
    }

    fn draw(&self, svg: &mut String) -> Result<(), Trouble> {
        let sheet = SVGBackend::with_string(svg, (self.width, self.height)).into_drawing_area();
        sheet.fill(&PLATE)?;
        let longest = self.ends.iter().map(|end| end.name.chars().count()).max();
        let right = match (
            longest.and_then(|count| u32::try_from(count).ok()),
            &self.levels,
        ) {
            (Some(count), _) => LEAD.unsigned_abs() + 14 + LETTER * count,
            (None, levels) if levels.is_empty() => 24,
            (None, _) => NAMES,
        };
        let flat = self.is_flat();
        let (top, below) = if flat { (66, 38) } else { (74, 62) };
        let mut chart = ChartBuilder::on(&sheet)
            .margin_top(top)
            .margin_right(right)
            .x_label_area_size(below)
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
            .label_style(letters(self.letters(), &FAINT, (HPos::Right, VPos::Center)))
            .light_line_style(PLATE.mix(0.0))
            .bold_line_style(GRID)
            .axis_style(FAINT)
            .draw()?;
        let middle = (px(self.x.0, self.y.0).0 + px(self.x.1, self.y.0).0) / 2;
        let bottom = px(self.x.0, self.y.0).1;
        for (x, text) in &self.x_ticks {
            self.write(
                &sheet,
                text,
                &INK,
                (px(*x, self.y.0).0, bottom + 8),
                (HPos::Center, VPos::Top),
            )?;
        }
        let (under, place) = match flat {
            true => ((px(self.x.0, self.y.0).0 - 8, bottom + 8), HPos::Right),
            false => ((middle, bottom + 34), HPos::Center),
        };
        self.write(&sheet, &self.x_name, &FAINT, under, (place, VPos::Top))?;
        let (first, second) = if flat { (4, 34) } else { (10, 38) };
        let left = (HPos::Left, VPos::Top);
        self.write(&sheet, &self.title, &INK, (14, first), left)?;
        let told = [self.y_name.as_str(), &self.key];
        let told: Vec<&str> = told.into_iter().filter(|one| !one.is_empty()).collect();
        self.write(&sheet, &told.join("; "), &FAINT, (14, second), left)?;
        self.draw_levels(&sheet, &px)?;
        self.draw_ends(&sheet, &px)?;
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
            self.write(
                &sheet,
                &mark.label,
                &INK,
                number,
                (HPos::Center, VPos::Bottom),
            )?;
        }
        sheet.present()
    }

    /// Height of letters, px.
    fn letters(&self) -> i32 {
        match (self.is_flat(), self.ends.is_empty()) {
            (true, _) => 26,
            // Curves stand on a sheet too, 52 mm high where a long table follows.
            (false, false) => 25,
            (false, true) => 21,
        }
    }

    /// Whether it is shown small. What is across then stands left of its numbers.
    fn is_flat(&self) -> bool {
        self.height < HEIGHT
    }

    fn write(
        &self,
        sheet: &Sheet<'_>,
        text: &str,
        colour: &'static RGBColor,
        at: Px,
        anchor: (HPos, VPos),
    ) -> Result<(), Trouble> {
        if text.is_empty() {
            return Ok(());
        }
        let style = letters(self.letters(), colour, anchor);
        sheet.draw(&Text::new(text.to_owned(), at, style))
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
            self.write(sheet, name, &INK, (left, y), (HPos::Left, VPos::Center))?;
            free = y + self.letters() + 2;
        }
        Ok(())
    }

    /// The names of the lines at their ends. Where those are close to each other, the names stand
    /// apart, each with a thin line to its end.
    fn draw_ends(&self, sheet: &Sheet<'_>, px: &impl Fn(f64, f64) -> Px) -> Result<(), Trouble> {
        let edge = px(self.x.1, self.y.0).0;
        let mut ends: Vec<(Px, &str)> = self
            .ends
            .iter()
            .map(|end| (px(end.at.0, end.at.1), end.name.as_str()))
            .collect();
        ends.sort_by_key(|((_, y), _)| *y);
        let wanted: Vec<i32> = ends.iter().map(|((_, y), _)| *y).collect();
        for (((x, y), name), beside) in ends.into_iter().zip(apart(&wanted, LINE)) {
            let lead = [(x + 9, y), (edge, y), (edge + LEAD, beside)];
            sheet.draw(&PathElement::new(lead.to_vec(), FAINT.stroke_width(1)))?;
            let at = (edge + LEAD + 5, beside);
            self.write(sheet, name, &INK, at, (HPos::Left, VPos::Center))?;
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
            let count = i32::try_from(mark.label.chars().count()).unwrap_or(0);
            let half_wide = count * self.letters() / 4;
            let ground = [
                (x - half_wide, top - self.letters() + 4),
                (x + half_wide, top),
            ];
            sheet.draw(&Rectangle::new(ground, PLATE.filled()))?;
        }
        Ok((x, top))
    }
}

/// How far a line from a curve's end leads to its name, px.
const LEAD: i32 = 18;

/// Places that are at least `step` apart and as near as can be to those that are wanted, which rise.
fn apart(wanted: &[i32], step: i32) -> Vec<i32> {
    // Runs of places that touch, each with its first place and its number.
    let mut runs: Vec<(f64, usize)> = Vec::new();
    for place in wanted {
        let mut run = (f64::from(*place), 1_usize);
        while let Some((first, count)) = runs.pop() {
            let end = first + f64::from(step) * count as f64;
            if end <= run.0 {
                runs.push((first, count));
                break;
            }
            // What the second run would be, began it where the first one does.
            let begin = run.0 - f64::from(step) * count as f64;
            let all = count + run.1;
            let mean = (first * count as f64 + begin * run.1 as f64) / all as f64;
            run = (mean, all);
        }
        runs.push(run);
    }
    runs.into_iter()
        .flat_map(|(first, count)| {
            // Pixels of one drawing.
            (0..count).map(move |at| (first + f64::from(step) * at as f64).round() as i32)
        })
        .collect()
}
