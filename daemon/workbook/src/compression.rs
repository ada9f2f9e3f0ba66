//! The compression of each cylinder in live formulas, from what was measured and stated.
//!
//! The formulas are those of `docs/formulas.md`, section 1: swept volume, gasket and deck as
//! cylinders, the dome taken off the total at TDC.

use benchhand_blueprint::engine::LengthUnits;
use benchhand_blueprint::report::{CylinderReport, Report};
use benchhand_blueprint::{Figure, Unit};
use benchhand_words::ShortReport;
use rust_xlsxwriter::{Chart, ChartDataLabel, ChartType, Format, Formula, Worksheet, XlsxError};

use crate::cells::{Columns, Formats, changeable, lay_out, number, write_figure};

const NAME: &str = "Compression";

// Rows and columns of the sheet, from 0; formulas count rows from 1.
const GASKET_BORE: u32 = 3;
const GASKET_THICKNESS: u32 = 4;
const PER_CUBE: u32 = 5;
const HEADINGS: u32 = 7;
const FIRST: u32 = 8;

/// The columns, with their letters: formulas name them.
const COLUMNS: [(&str, &str); 17] = [
    ("A", "Cylinder"),
    ("B", "Bore"),
    ("C", "Stroke"),
    ("D", "Chamber"),
    ("E", "Deck, below is +"),
    ("F", "Dome +, dish -"),
    ("G", "Gasket bore"),
    ("H", "Gasket thickness"),
    ("I", "Above the top ring"),
    ("J", "Swept"),
    ("K", "Gasket volume"),
    ("L", "Deck volume"),
    ("M", "Total at TDC"),
    ("N", "Compression"),
    ("O", "As measured"),
    ("P", "± of it, 95 %"),
    ("Q", "Change"),
];

/// The columns' widths.
const WIDE: Columns<'_> = Columns(&[9, 9, 9, 9, 9, 9, 9, 10, 9, 9, 9, 9, 9, 12, 10, 9, 9]);

/// The column of the ratio, and that of the cylinder's number.
const RATIO: u16 = 13;
const CYLINDER: u16 = 0;

pub(crate) fn write(
    sheet: &mut Worksheet,
    report: &Report,
    short: &ShortReport,
    formats: &Formats,
) -> Result<(), XlsxError> {
    sheet.set_name(NAME)?;
    // What is not known stays empty, also where a program shows the file without calculating.
    sheet.set_formula_result_default("");
    WIDE.set(sheet)?;
    WIDE.write_title(sheet, &short.title.join(", "), formats)?;
    WIDE.write_over(
        sheet,
        1,
        "Change a shaded cell and the compression follows. What was measured, its ± and its verdicts stay as they were.",
        &formats.text,
    )?;
    let length = report.units.length();
    let shared = Shared::of(&report.cylinders);
    shared.write(sheet, length, formats)?;
    let units = Units::of(report.units);
    units.headings(sheet, formats)?;
    for (row, cylinder) in (FIRST..).zip(&report.cylinders) {
        write_row(sheet, row, cylinder, &shared, length)?;
    }
    let rows = u32::try_from(report.cylinders.len()).unwrap_or(u32::MAX);
    if rows > 0 {
        write_totals(sheet, FIRST + rows, report, formats)?;
    }
    let cautions = report.cautions.iter();
    let cautions = cautions.map(|caution| format!("CAUTION {caution}"));
    let mut row = FIRST + rows + 4;
    for line in report.signs.iter().cloned().chain(cautions) {
        WIDE.write_over(sheet, row, &line, &formats.text)?;
        row += 1;
    }
    let ratios = report.cylinders.iter();
    let ratios = ratios.filter_map(|one| Some(one.compression.as_ref()?.value));
    if let Some(least) = axis_from(ratios) {
        chart(sheet, FIRST + rows - 1, row + 1, least)?;
    }
    sheet.set_freeze_panes(FIRST, 1)?;
    lay_out(sheet);
    Ok(())
}

/// The dimensions of the gasket where all cylinders have the same: one cell changes them all.
struct Shared<'a> {
    bore: Option<&'a Figure>,
    thickness: Option<&'a Figure>,
}

impl<'a> Shared<'a> {
    fn of(cylinders: &'a [CylinderReport]) -> Shared<'a> {
        let same = |get: fn(&CylinderReport) -> Option<&Figure>| {
            let first = get(cylinders.first()?)?;
            let alike = |one| get(one).is_some_and(|figure| figure.value == first.value);
            cylinders.iter().all(alike).then_some(first)
        };
        Shared {
            bore: same(|one| one.dimensions.gasket_bore.as_ref()),
            thickness: same(|one| one.dimensions.gasket_thickness.as_ref()),
        }
    }

    fn write(
        &self,
        sheet: &mut Worksheet,
        length: Unit,
        formats: &Formats,
    ) -> Result<(), XlsxError> {
        let format = changeable(length);
        for (row, name, figure) in [
            (GASKET_BORE, "Gasket bore", self.bore),
            (GASKET_THICKNESS, "Gasket thickness", self.thickness),
        ] {
            let Some(figure) = figure else { continue };
            sheet.write_string_with_format(row, 0, name, &formats.name)?;
            sheet.write_number_with_format(row, 3, figure.value, &format)?;
            sheet.write_string_with_format(row, 4, length.to_string(), &formats.word)?;
        }
        let name = format!("cc in a cubic {}", word(length));
        sheet.write_string_with_format(PER_CUBE, 0, name, &formats.name)?;
        sheet.write_number(PER_CUBE, 3, cc_per_cube(length))?;
        Ok(())
    }
}

fn word(length: Unit) -> &'static str {
    match length {
        Unit::Inch => "inch",
        _ => "millimetre",
    }
}

/// Exact: an inch is 25.4 mm by definition (NIST SP 811, appendix B).
fn cc_per_cube(length: Unit) -> f64 {
    match length {
        Unit::Inch => 16.387_064,
        _ => 0.001,
    }
}

/// The unit of each column.
struct Units {
    length: Unit,
}

impl Units {
    fn of(units: LengthUnits) -> Units {
        Units {
            length: units.length(),
        }
    }

    fn column(&self, letter: &str) -> Option<Unit> {
        match letter {
            "B" | "C" | "E" | "G" | "H" => Some(self.length),
            "D" | "F" | "I" | "J" | "K" | "L" | "M" => Some(Unit::CubicCentimetre),
            _ => None,
        }
    }

    fn headings(&self, sheet: &mut Worksheet, formats: &Formats) -> Result<(), XlsxError> {
        for (column, (letter, name)) in (0..).zip(COLUMNS) {
            let heading = match self.column(letter) {
                Some(unit) => format!("{name}, {unit}"),
                None => name.to_owned(),
            };
            sheet.write_string_with_format(HEADINGS, column, heading, &formats.heading)?;
        }
        sheet.set_row_height(HEADINGS, 48)?;
        Ok(())
    }
}

fn write_row(
    sheet: &mut Worksheet,
    row: u32,
    cylinder: &CylinderReport,
    shared: &Shared<'_>,
    length: Unit,
) -> Result<(), XlsxError> {
    let cc = Unit::CubicCentimetre;
    let used = &cylinder.dimensions;
    sheet.write_number(row, CYLINDER, f64::from(cylinder.cylinder))?;
    for (column, figure, unit) in [
        (1, used.bore.as_ref(), length),
        (2, used.stroke.as_ref(), length),
        (3, cylinder.chamber.as_ref(), cc),
        (4, cylinder.deck.as_ref(), length),
        (5, cylinder.crown.as_ref(), cc),
        (8, used.crevice.as_ref(), cc),
    ] {
        write_figure(sheet, (row, column), figure, &changeable(unit))?;
    }
    for (column, all, own, at) in [
        (6, shared.bore, used.gasket_bore.as_ref(), GASKET_BORE),
        (
            7,
            shared.thickness,
            used.gasket_thickness.as_ref(),
            GASKET_THICKNESS,
        ),
    ] {
        match all {
            Some(figure) => {
                let formula = Formula::new(format!("=$D${}", at + 1));
                let formula = formula.set_result(figure.value.to_string());
                sheet.write_formula_with_format(row, column, formula, &number(length))?;
            }
            None => write_figure(sheet, (row, column), own, &changeable(length))?,
        }
    }
    let r = row + 1;
    let per = format!("$D${}", PER_CUBE + 1);
    let gasket = used
        .gasket_bore
        .as_ref()
        .zip(used.gasket_thickness.as_ref());
    let disc = |bore: f64, height: f64| {
        std::f64::consts::FRAC_PI_4 * bore * bore * height * cc_per_cube(length)
    };
    let below = used.bore.as_ref().zip(cylinder.deck.as_ref());
    let ratio = cylinder.compression.as_ref();
    let shown = |figure: &Option<Figure>| figure.as_ref().map(|figure| figure.value);
    for (column, formula, result, unit) in [
        (
            9,
            format!("=IF(COUNT(B{r},C{r})=2,PI()/4*B{r}^2*C{r}*{per},\"\")"),
            shown(&cylinder.swept),
            cc,
        ),
        (
            10,
            format!("=IF(COUNT(G{r},H{r})=2,PI()/4*G{r}^2*H{r}*{per},\"\")"),
            gasket.map(|(bore, thickness)| disc(bore.value, thickness.value)),
            cc,
        ),
        (
            11,
            format!("=IF(COUNT(B{r},E{r})=2,PI()/4*B{r}^2*E{r}*{per},\"\")"),
            below.map(|(bore, deck)| disc(bore.value, deck.value)),
            cc,
        ),
        (
            12,
            format!("=IF(COUNT(D{r},F{r},K{r},L{r})=4,D{r}+K{r}+L{r}+N(I{r})-F{r},\"\")"),
            shown(&cylinder.clearance),
            cc,
        ),
        (
            RATIO,
            format!("=IF(COUNT(J{r},M{r})=2,(J{r}+M{r})/M{r},\"\")"),
            shown(&cylinder.compression),
            Unit::One,
        ),
        (
            16,
            format!("=IF(COUNT(N{r},O{r})=2,N{r}-O{r},\"\")"),
            ratio.map(|_| 0.0),
            Unit::One,
        ),
    ] {
        write_formula(sheet, (row, column), formula, result, &number(unit))?;
    }
    write_figure(sheet, (row, 14), ratio, &number(Unit::One))?;
    let expanded = ratio.and_then(Figure::expanded_known);
    if let Some(expanded) = expanded {
        sheet.write_number_with_format(row, 15, expanded, &number(Unit::One))?;
    }
    Ok(())
}

/// Average and spread below the cylinders: `row` is the first free one.
fn write_totals(
    sheet: &mut Worksheet,
    row: u32,
    report: &Report,
    formats: &Formats,
) -> Result<(), XlsxError> {
    let (first, last) = (FIRST + 1, row);
    sheet.write_string_with_format(row, 0, "Average", &formats.name)?;
    sheet.write_string_with_format(row + 1, 0, "Spread", &formats.name)?;
    let length = report.units.length();
    let of = &report.summary;
    let value = |figure: &Option<Figure>| figure.as_ref().map(|figure| figure.value);
    for (column, letter, mean, spread, unit) in [
        (
            3,
            "D",
            value(&of.chamber_mean),
            value(&of.chamber_spread),
            Unit::CubicCentimetre,
        ),
        (4, "E", value(&of.deck_mean), value(&of.deck_spread), length),
        (
            5,
            "F",
            value(&of.crown_mean),
            value(&of.crown_spread),
            Unit::CubicCentimetre,
        ),
        (
            RATIO,
            "N",
            value(&of.compression_mean),
            value(&of.compression_spread),
            Unit::One,
        ),
    ] {
        let all = format!("{letter}{first}:{letter}{last}");
        let average = format!("=IF(COUNT({all})=0,\"\",AVERAGE({all}))");
        let apart = format!("=IF(COUNT({all})<2,\"\",MAX({all})-MIN({all}))");
        write_formula(sheet, (row, column), average, mean, &number(unit))?;
        write_formula(sheet, (row + 1, column), apart, spread, &number(unit))?;
    }
    if let Some(target) = &report.limits.compression_target {
        sheet.write_string_with_format(row + 2, 0, "Target", &formats.name)?;
        write_figure(sheet, (row + 2, RATIO), Some(target), &number(Unit::One))?;
    }
    Ok(())
}

/// A formula with what it gives as long as nothing is changed: what does not calculate shows it.
fn write_formula(
    sheet: &mut Worksheet,
    (row, column): (u32, u16),
    formula: String,
    result: Option<f64>,
    format: &Format,
) -> Result<(), XlsxError> {
    let result = result.map_or(String::new(), |value| value.to_string());
    let formula = Formula::new(formula).set_result(result);
    sheet.write_formula_with_format(row, column, formula, format)?;
    Ok(())
}

/// Where the ratios' axis begins: bars from nothing would all look alike. Room is left below for
/// what a thicker gasket does. `None` without a ratio.
fn axis_from(ratios: impl Iterator<Item = f64>) -> Option<f64> {
    let (low, high) = ratios.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), ratio| {
        (low.min(ratio), high.max(ratio))
    });
    let room = (2.0 * (high - low)).max(0.5);
    (low <= high).then(|| (10.0 * (low - room)).floor().max(0.0) / 10.0)
}

/// The ratio of each cylinder as it stands in the table, from `least` up. `last` is the table's last
/// row; the chart stands at `row`.
fn chart(sheet: &mut Worksheet, last: u32, row: u32, least: f64) -> Result<(), XlsxError> {
    let mut chart = Chart::new(ChartType::Column);
    chart
        .title()
        .set_name(&format!("Compression by cylinder, bars from {least:.1}"));
    chart.legend().set_hidden();
    chart.x_axis().set_name("Cylinder");
    let y = chart.y_axis().set_name("Compression, :1");
    y.set_min(least).set_num_format("0.0");
    let mut labels = ChartDataLabel::new();
    labels.show_value().set_num_format("0.00");
    chart
        .add_series()
        .set_categories((NAME, FIRST, CYLINDER, last, CYLINDER))
        .set_values((NAME, FIRST, RATIO, last, RATIO))
        .set_data_label(&labels);
    chart.set_width(900);
    sheet.insert_chart(row, 0, &chart)?;
    Ok(())
}
