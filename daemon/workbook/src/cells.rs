//! How cells look, and what goes into one.

use benchhand_blueprint::{Figure, Unit};
use rust_xlsxwriter::{Color, Format, FormatAlign, FormatBorder, Worksheet, XlsxError};

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
}

impl Formats {
    pub(crate) fn new() -> Formats {
        let bold = Format::new().set_bold();
        Formats {
            title: bold.clone().set_font_size(14),
            heading: bold
                .clone()
                .set_text_wrap()
                .set_align(FormatAlign::Center)
                .set_align(FormatAlign::VerticalCenter)
                .set_border_bottom(FormatBorder::Thin),
            name: bold,
            text: Format::new(),
        }
    }
}

/// How many decimals a figure of a unit has.
fn pattern(unit: Unit) -> &'static str {
    match unit {
        Unit::Inch => "0.0000",
        Unit::Millimetre | Unit::One => "0.000",
        Unit::CubicCentimetre => "0.00",
        Unit::CubicFootPerMinute | Unit::InchWater => "0.0",
        _ => "General",
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
