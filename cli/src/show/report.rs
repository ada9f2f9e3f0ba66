//! The report as a builder reads it: what stands out first, then the cylinders, means and
//! spreads, what it rests on, flow, signs and cautions.

use benchhand_blueprint::report::{
    CylinderReport, Finding, FindingKind, FlowReport, InputsUsed, Report, Summary,
};
use benchhand_wire::Figure;

use super::figure::{LEGEND, cell, rounded, sentence, unit_after};
use super::table::Table;

/// The whole report.
pub(crate) fn whole(report: &Report) -> String {
    let mut parts = vec![heading(report)];
    parts.extend(findings(&report.findings));
    parts.push(cylinders(&report.cylinders));
    parts.push(summary(&report.summary, report.cylinders.len()));
    parts.push(rests_on(&report.inputs));
    parts.extend(flow(&report.flow));
    parts.extend(listed("Signs", "  ", &report.signs));
    parts.extend(listed("To be known", "  ", &report.remarks));
    parts.extend(listed("Cautions", "  ! ", &report.cautions));
    parts.join("\n")
}

fn heading(report: &Report) -> String {
    let mut text = report.engine.clone();
    if report.invented {
        text += " (INVENTED engine, invented readings)";
    }
    text += &format!("\nstage: {}", report.stage);
    if report.stages.len() > 1 {
        text += &format!(" (of {})", report.stages.join(", "));
    }
    text += "\n";
    if let Some(note) = &report.note {
        text += &format!("{note}\n");
    }
    text
}

/// What stands out, one a line; what is missing or was measured once, gathered by its words.
fn findings(all: &[Finding]) -> Option<String> {
    if all.is_empty() {
        return None;
    }
    let mut text = String::new();
    for (title, kinds) in [
        (
            "What stands out",
            [FindingKind::Outlier, FindingKind::Disagrees].as_slice(),
        ),
        ("What is missing", [FindingKind::Missing].as_slice()),
        (
            "What was not repeated",
            [FindingKind::Unrepeated].as_slice(),
        ),
    ] {
        let mut groups: Vec<(&str, Vec<&str>)> = Vec::new();
        for finding in all.iter().filter(|finding| kinds.contains(&finding.kind)) {
            match groups.iter_mut().find(|(words, _)| *words == finding.text) {
                Some((_, spots)) => spots.push(&finding.spot),
                None => groups.push((&finding.text, vec![&finding.spot])),
            }
        }
        if groups.is_empty() {
            continue;
        }
        text += &format!("{title}\n");
        for (words, spots) in groups {
            text += &format!("  * {}: {words}\n", spots.join(", "));
        }
    }
    Some(text)
}

fn cylinders(cylinders: &[CylinderReport]) -> String {
    type Get = fn(&CylinderReport) -> Option<Figure>;
    let columns: [(&str, Get); 7] = [
        ("chamber", |one| one.chamber.map(figure)),
        ("deck", |one| one.deck.map(figure)),
        ("crown", |one| one.crown.map(figure)),
        ("clearance", |one| one.clearance.map(figure)),
        ("compression", |one| one.compression.map(figure)),
        ("quench", |one| one.quench.map(figure)),
        ("rock", |one| one.rock.map(figure)),
    ];
    // A column that nobody has is left out; the five that everyone asks for always stand.
    let columns: Vec<&(&str, Get)> = columns
        .iter()
        .enumerate()
        .filter(|(at, (_, get))| *at < 5 || cylinders.iter().any(|one| get(one).is_some()))
        .map(|(_, column)| column)
        .collect();
    let mut headings = vec![">cylinder".to_owned(), "bank".to_owned()];
    for (name, get) in &columns {
        headings.push(match cylinders.iter().find_map(get) {
            Some(figure) if *name == "compression" => {
                debug_assert_eq!(figure.unit, "1");
                ">compression, to 1".to_owned()
            }
            Some(figure) => format!(">{name}, {}", figure.unit),
            None => format!(">{name}"),
        });
    }
    let mut table = Table::new(&headings.iter().map(String::as_str).collect::<Vec<_>>());
    for one in cylinders {
        let mut row = vec![one.cylinder.to_string(), one.bank.clone()];
        row.extend(
            columns
                .iter()
                .map(|(_, get)| get(one).as_ref().map_or_else(missing, cell)),
        );
        table.row(row);
    }
    format!("{}{LEGEND}\n", table.text())
}

fn summary(summary: &Summary, cylinders: usize) -> String {
    let mut table = Table::new(&["", ">mean", ">spread (max − min)", "unit", ">of cylinders"]);
    let counts = &summary.counts;
    for (name, mean, spread, count) in [
        (
            "chamber",
            summary.chamber_mean,
            summary.chamber_spread,
            counts.chamber,
        ),
        ("deck", summary.deck_mean, summary.deck_spread, counts.deck),
        (
            "crown",
            summary.crown_mean,
            summary.crown_spread,
            counts.crown,
        ),
        (
            "compression",
            summary.compression_mean,
            summary.compression_spread,
            counts.compression,
        ),
    ] {
        let (mean, spread) = (mean.map(figure), spread.map(figure));
        let unit = match mean.as_ref().or(spread.as_ref()) {
            Some(figure) if figure.unit == "1" => "to 1".to_owned(),
            Some(figure) => figure.unit.clone(),
            None => String::new(),
        };
        table.row(vec![
            name.to_owned(),
            mean.as_ref().map_or_else(missing, cell),
            spread.as_ref().map_or_else(missing, cell),
            unit,
            format!("{count} of {cylinders}"),
        ]);
    }
    let mut text = table.text();
    if let Some(displacement) = summary.displacement {
        text += &format!("Displacement {}\n", sentence(&figure(displacement)));
    }
    text
}

fn rests_on(inputs: &InputsUsed) -> String {
    let mut parts = vec![
        format!("bore {}", sentence(&figure(inputs.bore))),
        format!("stroke {}", sentence(&figure(inputs.stroke))),
    ];
    for (name, value) in [
        ("gasket bore", inputs.gasket_bore),
        ("gasket thickness", inputs.gasket_thickness),
        ("crevice", inputs.crevice),
    ] {
        parts.push(match value {
            Some(value) => format!("{name} {}", sentence(&figure(value))),
            None if name == "crevice" => "crevice above the top ring not counted".to_owned(),
            None => format!("{name} not known"),
        });
    }
    let lines: String = parts.iter().map(|part| format!("  {part}\n")).collect();
    format!("It rests on\n{lines}")
}

fn flow(all: &[FlowReport]) -> Option<String> {
    if all.is_empty() {
        return None;
    }
    type Get = fn(&FlowReport) -> Option<Figure>;
    let columns: [(&str, Get); 6] = [
        ("test", |one| one.test_pressure.map(figure)),
        ("metering", |one| one.metering_pressure.map(figure)),
        ("metering at reference", |one| {
            one.metering_at_reference.map(figure)
        }),
        ("flow", |one| one.flow.map(figure)),
        ("flow at reference", |one| one.flow_at_reference.map(figure)),
        ("area / orifice", |one| one.area_ratio.map(figure)),
    ];
    let columns: Vec<&(&str, Get)> = columns
        .iter()
        .filter(|(_, get)| all.iter().any(|one| get(one).is_some()))
        .collect();
    let runners = all.iter().any(|one| one.runner.is_some());
    let mut headings = vec![">cylinder".to_owned(), "port".to_owned()];
    if runners {
        headings.push("runner".to_owned());
    }
    headings.extend([">lift".to_owned(), "direction".to_owned()]);
    for (name, get) in &columns {
        let unit = all
            .iter()
            .find_map(get)
            .map(|figure| figure.unit)
            .unwrap_or_default();
        let unit = if unit == "1" {
            String::new()
        } else {
            format!(", {unit}")
        };
        headings.push(format!(">{name}{unit}"));
    }
    headings.push(">readings".to_owned());
    let mut table = Table::new(&headings.iter().map(String::as_str).collect::<Vec<_>>());
    for one in all {
        let mut row = vec![one.cylinder.to_string(), one.port.clone()];
        if runners {
            row.push(one.runner.clone().unwrap_or_default());
        }
        let lift = figure(one.lift);
        let places = if lift.unit == "in" { 3 } else { 2 };
        row.push(format!(
            "{}{}",
            rounded(lift.value, places),
            unit_after(&lift.unit)
        ));
        row.push(one.direction.clone());
        row.extend(
            columns
                .iter()
                .map(|(_, get)| get(one).as_ref().map_or_else(missing, cell)),
        );
        row.push(one.readings.to_string());
        table.row(row);
    }
    let mut corrections: Vec<&str> = all.iter().map(|one| one.correction.as_str()).collect();
    corrections.sort_unstable();
    corrections.dedup();
    let corrections: String = corrections
        .iter()
        .filter(|correction| !correction.is_empty())
        .map(|correction| format!("At reference: {correction}\n"))
        .collect();
    Some(format!("Flow\n{}{corrections}", table.text()))
}

fn listed(title: &str, mark: &str, lines: &[String]) -> Option<String> {
    let lines: String = lines.iter().map(|line| format!("{mark}{line}\n")).collect();
    (!lines.is_empty()).then(|| format!("{title}\n{lines}"))
}

fn missing() -> String {
    "missing".to_owned()
}

fn figure(figure: benchhand_blueprint::Figure) -> Figure {
    Figure {
        value: figure.value,
        u: figure.u,
        unit: figure.unit.to_string(),
    }
}
