//! Flow by port and lift, as a table and as a curve.

use benchhand_blueprint::report::{FlowReport, Report};
use benchhand_blueprint::{Figure, Unit};
use rust_xlsxwriter::{Chart, ChartType, Worksheet, XlsxError};

use crate::cells::{Columns, Formats, lay_out, number, write_figure};

const NAME: &str = "Flow";
const HEADINGS: u32 = 3;
const FIRST: u32 = 4;

/// The heading of the ratio of the areas.
const RATIO: &str = "Port's area over the orifice's";

/// A column of the table of single ports.
struct Column {
    name: &'static str,
    get: fn(&FlowReport) -> Option<&Figure>,
    /// Whether its ± stands behind it.
    with_width: bool,
}

/// What each port was measured at and what it comes to; a column that no port has is left out.
const COLUMNS: [Column; 6] = [
    Column {
        name: "Lift",
        get: |one| Some(&one.lift),
        with_width: false,
    },
    Column {
        name: "Test pressure",
        get: |one| one.test_pressure.as_ref(),
        with_width: false,
    },
    Column {
        name: "Metering pressure",
        get: |one| one.metering_pressure.as_ref(),
        with_width: false,
    },
    Column {
        name: "Flow at the test pressure",
        get: |one| one.flow.as_ref(),
        with_width: true,
    },
    Column {
        name: "Flow at the reference",
        get: |one| one.flow_at_reference.as_ref(),
        with_width: true,
    },
    Column {
        name: RATIO,
        get: |one| one.area_ratio.as_ref(),
        with_width: true,
    },
];

pub(crate) fn write(
    sheet: &mut Worksheet,
    report: &Report,
    formats: &Formats,
) -> Result<(), XlsxError> {
    sheet.set_name(NAME)?;
    let reference = report.inputs.reference_depression.as_ref();
    let (title, how) = match reference {
        Some(at) => (
            format!("Flow at {} {}", at.value, at.unit),
            "By the square root of the pressures; the report says how each value was corrected.",
        ),
        None => (
            "Flow as measured, each at its own test pressure".to_owned(),
            "No reference depression is stated: with a reference under [flow] in the engine file it is \
             given at that depression too.",
        ),
    };
    let means = if report.flow_by_lift.is_empty() { 0 } else { 5 };
    let singles = single_ports(sheet, report, formats)?;
    let widths = vec![9; usize::from(singles + means)];
    let columns = Columns(&widths);
    columns.set(sheet)?;
    columns.write_title(sheet, &title, formats)?;
    columns.write_over(sheet, 1, how, &formats.text)?;
    sheet.set_row_height(HEADINGS, 62)?;
    if means > 0 {
        write_means(sheet, singles + 1, report, formats)?;
    }
    sheet.set_freeze_panes(FIRST, 0)?;
    lay_out(sheet);
    Ok(())
}

/// The unit of the first figure there is, behind a name.
fn with_unit<'a>(name: &str, mut figures: impl Iterator<Item = Option<&'a Figure>>) -> String {
    match figures.find_map(|figure| figure).map(|figure| figure.unit) {
        Some(Unit::One) | None => name.to_owned(),
        Some(unit) => format!("{name}, {unit}"),
    }
}

/// The table of single ports; how many columns it has.
fn single_ports(
    sheet: &mut Worksheet,
    report: &Report,
    formats: &Formats,
) -> Result<u16, XlsxError> {
    let all = &report.flow;
    let used = COLUMNS.iter();
    let used = used.filter(|column| all.iter().any(|one| (column.get)(one).is_some()));
    // The ratio of the areas is told where flow itself is not known.
    let flows = all.iter().all(|one| one.flow_at_reference.is_some());
    let used = used.filter(|column| !flows || column.name != RATIO);
    let used: Vec<&Column> = used.collect();
    let runners = all.iter().any(|one| one.runner.is_some());
    let mut headings: Vec<String> = ["Cylinder", "Port"].map(str::to_owned).into();
    if runners {
        headings.push("Runner".to_owned());
    }
    for column in &used {
        headings.push(with_unit(column.name, all.iter().map(column.get)));
        if column.with_width {
            headings.push("± of it, 95 %".to_owned());
        }
    }
    headings.push("Readings".to_owned());
    for (column, heading) in (0..).zip(&headings) {
        sheet.write_string_with_format(HEADINGS, column, heading, &formats.heading)?;
    }
    for (row, one) in (FIRST..).zip(all) {
        let runner = one.runner.as_ref().map_or("", |runner| runner.as_str());
        sheet.write_number(row, 0, f64::from(one.cylinder))?;
        sheet.write_string_with_format(row, 1, one.port.as_str(), &formats.word)?;
        let mut at = 2;
        if runners {
            sheet.write_string(row, at, runner)?;
            at += 1;
        }
        for column in &used {
            let figure = (column.get)(one);
            let format = number(figure.map_or(Unit::One, |one| one.unit));
            write_figure(sheet, (row, at), figure, &format)?;
            at += 1;
            if column.with_width {
                if let Some(expanded) = figure.and_then(Figure::expanded_known) {
                    sheet.write_number_with_format(row, at, expanded, &format)?;
                }
                at += 1;
            }
        }
        sheet.write_number(row, at, one.readings as f64)?;
    }
    Ok(u16::try_from(headings.len()).unwrap_or(u16::MAX))
}

/// The mean over the cylinders from column `left` on, with a curve for each port below both tables.
fn write_means(
    sheet: &mut Worksheet,
    left: u16,
    report: &Report,
    formats: &Formats,
) -> Result<(), XlsxError> {
    let all = &report.flow_by_lift;
    let lift = with_unit("Lift", all.iter().map(|one| Some(&one.lift)));
    let what = match all.first().map(|one| one.mean.unit) {
        Some(Unit::One) => "Area over the orifice's",
        _ => "Flow",
    };
    let mean = format!("{what}, mean");
    let headings = [
        "Port".to_owned(),
        lift.clone(),
        with_unit(&mean, all.iter().map(|one| Some(&one.mean))),
        "Spread".to_owned(),
    ];
    for (column, heading) in (left..).zip(headings) {
        sheet.write_string_with_format(HEADINGS, column, heading, &formats.heading)?;
    }
    let mut chart = Chart::new(ChartType::ScatterStraightWithMarkers);
    chart
        .title()
        .set_name("Flow over lift, mean of the cylinders");
    chart.x_axis().set_name(&lift).set_min(0.0);
    let flow = with_unit(what, all.iter().map(|one| Some(&one.mean)));
    chart.y_axis().set_name(&flow).set_min(0.0);
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
        sheet.write_string(row, left, &name)?;
        sheet.write_number_with_format(row, left + 1, one.lift.value, &number(one.lift.unit))?;
        sheet.write_number_with_format(row, left + 2, one.mean.value, &number(one.mean.unit))?;
        if one.cylinders.len() > 1 {
            let spread = &one.spread;
            sheet.write_number_with_format(row, left + 3, spread.value, &number(spread.unit))?;
        }
        // The rows of a port stand together.
        if port(at + 1).as_ref() != Some(&name) {
            let first = FIRST + u32::try_from(began).unwrap_or(u32::MAX);
            chart
                .add_series()
                .set_name(&name)
                .set_categories((NAME, first, left + 1, row, left + 1))
                .set_values((NAME, first, left + 2, row, left + 2));
            began = at + 1;
        }
    }
    // Beside the tables it would make them smaller on paper.
    let rows = report.flow.len().max(all.len());
    let below = FIRST + u32::try_from(rows).unwrap_or(u32::MAX - FIRST - 1) + 1;
    chart.set_width(820).set_height(360);
    sheet.insert_chart(below, 0, &chart)?;
    Ok(())
}
