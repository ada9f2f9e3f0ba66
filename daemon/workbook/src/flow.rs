//! Flow by port and lift, as a table and as a curve.

use benchhand_blueprint::report::Report;
use benchhand_blueprint::{Figure, Unit};
use rust_xlsxwriter::{Chart, ChartType, Worksheet, XlsxError};

use crate::cells::{Formats, number, write_figure};

const NAME: &str = "Flow";
const HEADINGS: u32 = 3;
const FIRST: u32 = 4;

/// Columns of the means over the cylinders, behind those of the single ports.
const MEANS: u16 = 9;

pub(crate) fn write(
    sheet: &mut Worksheet,
    report: &Report,
    formats: &Formats,
) -> Result<(), XlsxError> {
    sheet.set_name(NAME)?;
    let depression = report.inputs.reference_depression.as_ref();
    let at = depression.map_or(String::new(), |at| format!(" at {} {}", at.value, at.unit));
    sheet.write_string_with_format(0, 0, format!("Flow{at}"), &formats.title)?;
    sheet.write_string(
        1,
        0,
        "By the square root of the pressures; the report says how each value was corrected.",
    )?;
    single_ports(sheet, report, formats)?;
    means(sheet, report, formats)?;
    sheet.set_freeze_panes(FIRST, 0)?;
    sheet.set_landscape();
    sheet.set_print_fit_to_pages(1, 0);
    Ok(())
}

/// The unit of the first figure there is.
fn unit_of<'a>(mut figures: impl Iterator<Item = Option<&'a Figure>>) -> String {
    let found = figures.find_map(|figure| figure);
    found.map_or(String::new(), |figure| format!(", {}", figure.unit))
}

fn single_ports(
    sheet: &mut Worksheet,
    report: &Report,
    formats: &Formats,
) -> Result<(), XlsxError> {
    let all = &report.flow;
    let headings = [
        "Cylinder".to_owned(),
        "Port".to_owned(),
        "Runner".to_owned(),
        format!("Lift{}", unit_of(all.iter().map(|one| Some(&one.lift)))),
        format!(
            "Test pressure{}",
            unit_of(all.iter().map(|one| one.test_pressure.as_ref()))
        ),
        format!(
            "Flow at the reference{}",
            unit_of(all.iter().map(|one| one.flow_at_reference.as_ref()))
        ),
        "± of it, 95 %".to_owned(),
        "Readings".to_owned(),
    ];
    for (column, heading) in (0..).zip(headings) {
        sheet.write_string_with_format(HEADINGS, column, heading, &formats.heading)?;
        sheet.set_column_width(column, 12)?;
    }
    for (row, one) in (FIRST..).zip(all) {
        sheet.write_number(row, 0, f64::from(one.cylinder))?;
        sheet.write_string(row, 1, one.port.as_str())?;
        sheet.write_string(
            row,
            2,
            one.runner.as_ref().map_or("", |runner| runner.as_str()),
        )?;
        sheet.write_number_with_format(row, 3, one.lift.value, &number(one.lift.unit))?;
        let format = |figure: Option<&Figure>| number(figure.map_or(Unit::One, |one| one.unit));
        let test = one.test_pressure.as_ref();
        write_figure(sheet, (row, 4), test, &format(test))?;
        let flow = one.flow_at_reference.as_ref();
        write_figure(sheet, (row, 5), flow, &format(flow))?;
        if let Some(expanded) = flow.and_then(Figure::expanded_known) {
            sheet.write_number_with_format(row, 6, expanded, &format(flow))?;
        }
        sheet.write_number(row, 7, one.readings as f64)?;
    }
    Ok(())
}

/// The mean over the cylinders, with a curve for each port.
fn means(sheet: &mut Worksheet, report: &Report, formats: &Formats) -> Result<(), XlsxError> {
    let all = &report.flow_by_lift;
    if all.is_empty() {
        return Ok(());
    }
    let headings = [
        "Port".to_owned(),
        format!("Lift{}", unit_of(all.iter().map(|one| Some(&one.lift)))),
        format!("Mean{}", unit_of(all.iter().map(|one| Some(&one.mean)))),
        "Spread".to_owned(),
    ];
    for (column, heading) in (MEANS..).zip(headings) {
        sheet.write_string_with_format(HEADINGS, column, heading, &formats.heading)?;
    }
    let mut chart = Chart::new(ChartType::ScatterStraightWithMarkers);
    chart
        .title()
        .set_name("Flow over lift, mean of the cylinders");
    chart.x_axis().set_name("Lift");
    chart.y_axis().set_name("Flow");
    let port = |at: usize| {
        all.get(at).map(|one| match &one.runner {
            Some(runner) => format!("{} {runner}", one.port),
            None => one.port.to_string(),
        })
    };
    let mut began = 0;
    for (at, one) in all.iter().enumerate() {
        let row = FIRST + u32::try_from(at).unwrap_or(u32::MAX);
        let name = port(at).unwrap_or_default();
        sheet.write_string(row, MEANS, &name)?;
        sheet.write_number_with_format(row, MEANS + 1, one.lift.value, &number(one.lift.unit))?;
        sheet.write_number_with_format(row, MEANS + 2, one.mean.value, &number(one.mean.unit))?;
        if one.cylinders.len() > 1 {
            let spread = &one.spread;
            sheet.write_number_with_format(row, MEANS + 3, spread.value, &number(spread.unit))?;
        }
        // The rows of a port stand together.
        if port(at + 1).as_ref() != Some(&name) {
            let first = FIRST + u32::try_from(began).unwrap_or(u32::MAX);
            chart
                .add_series()
                .set_name(&name)
                .set_categories((NAME, first, MEANS + 1, row, MEANS + 1))
                .set_values((NAME, first, MEANS + 2, row, MEANS + 2));
            began = at + 1;
        }
    }
    sheet.insert_chart(HEADINGS, MEANS + 6, &chart)?;
    Ok(())
}
