//! How cells look, and what goes into one.

use benchhand_blueprint::{Figure, Unit};
use benchhand_words::digits::usual_decimals;
use rust_xlsxwriter::{Color, Format, FormatAlign, FormatBorder, Worksheet, XlsxError};

/// Height of a line of usual letters, points.
const LINE: f64 = 15.0;

/// Ink on paper: a grey that prints, so that what may be changed is told apart without colour.
const SHADED: Color = Color::RGB(0x00E6_E6E6);

/// The formats that all tables share.
#[derive(Debug)]
pub(crate) struct Formats {
    /// A table's title.
    pub(crate) title: Format,
    /// A column's heading.
    pub(crate) heading: Format,
    /// A heading at the left.
    pub(crate) name: Format,
    /// A sentence over the whole width.
    pub(crate) text: Format,
    /// A word behind a number, not glued to it.
    pub(crate) word: Format,
}

impl Formats {
    pub(crate) fn new() -> Formats {
        let bold = Format::new().set_bold();
        Formats {
            title: bold
                .clone()
                .set_font_size(14)
                .set_text_wrap()
                .set_align(FormatAlign::Top),
            heading: bold
                .clone()
                .set_text_wrap()
                .set_align(FormatAlign::Center)
                .set_align(FormatAlign::VerticalCenter)
                .set_border_bottom(FormatBorder::Thin),
            name: bold,
            text: Format::new().set_text_wrap().set_align(FormatAlign::Top),
            word: Format::new().set_indent(1),
        }
    }
}

/// The columns of a sheet, from the left, each with its width in characters.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Columns<'a>(pub(crate) &'a [u16]);

impl Columns<'_> {
    /// Makes the columns so wide.
    ///
    /// # Errors
    /// A fault of the library.
    pub(crate) fn set(self, sheet: &mut Worksheet) -> Result<(), XlsxError> {
        for (column, width) in (0..).zip(self.0) {
            sheet.set_column_width(column, *width)?;
        }
        Ok(())
    }

    /// Writes a text over all of the columns, in as many lines as it takes. Beyond them it would
    /// widen what is printed, and all of it would shrink to fit the paper.
    ///
    /// # Errors
    /// A fault of the library.
    pub(crate) fn write_over(
        self,
        sheet: &mut Worksheet,
        row: u32,
        text: &str,
        format: &Format,
    ) -> Result<(), XlsxError> {
        self.write_in_lines(sheet, row, text, format, 0.85)
    }

    /// A title over all of the columns; its letters are larger.
    ///
    /// # Errors
    /// A fault of the library.
    pub(crate) fn write_title(
        self,
        sheet: &mut Worksheet,
        title: &str,
        formats: &Formats,
    ) -> Result<(), XlsxError> {
        self.write_in_lines(sheet, 0, title, &formats.title, 1.45)
    }

    fn write_in_lines(
        self,
        sheet: &mut Worksheet,
        row: u32,
        text: &str,
        format: &Format,
        larger: f64,
    ) -> Result<(), XlsxError> {
        let width: u16 = self.0.iter().sum();
        let letters = text.chars().count() as f64 * larger;
        let lines = (letters / f64::from(width.max(1))).ceil().max(1.0);
        let last = u16::try_from(self.0.len().saturating_sub(1)).unwrap_or(u16::MAX);
        match last {
            0 => sheet.write_string_with_format(row, 0, text, format)?,
            last => sheet.merge_range(row, 0, row, last, text, format)?,
        };
        sheet.set_row_height(row, lines * LINE * larger.clamp(1.0, 1.3))?;
        Ok(())
    }
}

/// Lays a sheet out for paper: across, as wide as the paper, with narrow margins.
pub(crate) fn lay_out(sheet: &mut Worksheet) {
    sheet.set_landscape();
    sheet.set_margins(0.4, 0.4, 0.5, 0.5, 0.2, 0.2);
    sheet.set_print_fit_to_pages(1, 0);
}

/// How many decimals a figure of a unit is shown with; the cell holds all of them.
fn pattern(unit: Unit) -> String {
    let decimals = match unit {
        Unit::One => 3,
        unit => usual_decimals(unit.symbol()).max(0),
    };
    match decimals {
        0 => "0".to_owned(),
        decimals => format!("0.{}", "0".repeat(decimals.unsigned_abs() as usize)),
    }
}

/// A number of a unit.
pub(crate) fn number(unit: Unit) -> Format {
    Format::new().set_num_format(pattern(unit))
}

/// A number of a unit that its owner may change.
pub(crate) fn changeable(unit: Unit) -> Format {
    number(unit)
        .set_background_color(SHADED)
        .set_border(FormatBorder::Thin)
}

/// Writes a figure's value with all its digits; nothing where there is none.
///
/// # Errors
/// A fault of the library.
pub(crate) fn write_figure(
    sheet: &mut Worksheet,
    (row, column): (u32, u16),
    figure: Option<&Figure>,
    format: &Format,
) -> Result<(), XlsxError> {
    match figure {
        Some(figure) => sheet.write_number_with_format(row, column, figure.value, format)?,
        None => sheet.write_blank(row, column, format)?,
    };
    Ok(())
}
