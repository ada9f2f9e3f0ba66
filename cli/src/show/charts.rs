//! Charts of plain characters, at most 80 columns wide: each cylinder as a dot with its interval
//! on a common scale, and flow over lift. No chart depends on colour.

use std::fmt::Write as _;

use benchhand_blueprint::Figure;
use benchhand_blueprint::report::{FlowReport, Report};

use super::figure::usual_decimals;
use benchhand_words::full::ReportSection;

/// Number of columns of the scale.
const WIDE: usize = 56;

/// The charts of a report, or of some of its sections.
pub(crate) fn of_report(report: &Report, only: &[ReportSection]) -> String {
    let has = |section: ReportSection| only.is_empty() || only.contains(&section);
    let mut text = String::new();
    let rows = |get: fn(&benchhand_blueprint::report::CylinderReport) -> Option<Figure>| {
        report
            .cylinders
            .iter()
            .filter_map(|one| Some((one.cylinder.to_string(), get(one)?)))
            .collect::<Vec<_>>()
    };
    if has(ReportSection::Chambers) {
        text += &dots("chamber", &rows(|one| one.chamber.clone()));
    }
    if has(ReportSection::Deck) {
        text += &dots("deck clearance", &rows(|one| one.deck.clone()));
    }
    if has(ReportSection::Compression) {
        text += &dots("compression", &rows(|one| one.compression.clone()));
    }
    if has(ReportSection::Flow) {
        text += &flow(&report.flow);
    }
    text
}

/// Each row as a dot with ± U (twice its standard uncertainty) on one scale, and the mean of all
/// rows as a line. Empty for fewer than two rows.
pub(crate) fn dots(title: &str, rows: &[(String, Figure)]) -> String {
    let Some((_, first)) = rows.first().filter(|_| rows.len() >= 2) else {
        return String::new();
    };
    let unit = first.unit.to_string();
    let mean = rows.iter().map(|(_, one)| one.value).sum::<f64>() / rows.len() as f64;
    let reach = |one: &Figure| one.expanded().unwrap_or(0.0);
    let least = rows
        .iter()
        .map(|(_, one)| one.value - reach(one))
        .fold(f64::INFINITY, f64::min);
    let most = rows
        .iter()
        .map(|(_, one)| one.value + reach(one))
        .fold(f64::NEG_INFINITY, f64::max);
    let scale = AxisScale::new(least, most);
    let after = if unit == "1" {
        String::new()
    } else {
        format!(", {unit}")
    };
    let mut text = format!("\n{title}{after}: o each cylinder, - its U = 2u, : the mean of all\n");
    for (name, one) in rows {
        let mut line = vec![' '; WIDE];
        line[scale.at(mean)] = ':';
        let (low, high) = (
            scale.at(one.value - reach(one)),
            scale.at(one.value + reach(one)),
        );
        if one.u.is_some() {
            line[low..=high].fill('-');
        }
        line[scale.at(one.value)] = 'o';
        let unknown = if one.u.is_none() { "  U not known" } else { "" };
        let drawn: String = line.into_iter().collect();
        let _ = writeln!(text, "{name:>4} |{}{unknown}", drawn.trim_end());
    }
    let decimals = usize::try_from(usual_decimals(&unit)).unwrap_or(2);
    let (left, right) = (
        format!("{:.decimals$}", scale.least),
        format!("{:.decimals$}", scale.most),
    );
    let gap = WIDE.saturating_sub(left.chars().count() + right.chars().count());
    let _ = writeln!(text, "     +{}", "-".repeat(WIDE));
    let _ = writeln!(text, "      {left}{}{right}", " ".repeat(gap));
    text
}

/// Flow over lift, port by port, as bars on one scale.
fn flow(all: &[FlowReport]) -> String {
    let compared = |one: &FlowReport| one.flow_at_reference.clone().or(one.area_ratio.clone());
    let most = all
        .iter()
        .filter_map(|one| Some(compared(one)?.value))
        .fold(0.0, f64::max);
    if most.is_nan() || most <= 0.0 {
        return String::new();
    }
    let mut ports: Vec<(String, Vec<&FlowReport>)> = Vec::new();
    for one in all.iter().filter(|one| compared(one).is_some()) {
        let runner = one
            .runner
            .as_ref()
            .map_or(String::new(), |runner| format!(" {runner}"));
        let name = format!("{} {}{runner}", one.cylinder, one.port);
        match ports.iter_mut().find(|(known, _)| *known == name) {
            Some((_, rows)) => rows.push(one),
            None => ports.push((name, vec![one])),
        }
    }
    let mut text =
        String::from("\nflow over lift, at the reference depression where it is known\n");
    for (name, rows) in ports {
        let _ = writeln!(text, "  {name}");
        for one in rows {
            let Some(figure) = compared(one) else {
                continue;
            };
            let bar = (figure.value / most * 40.0).round().clamp(0.0, 40.0) as usize;
            let unit = match figure.unit.to_string().as_str() {
                "1" => "of the orifice's area".to_owned(),
                unit => unit.to_owned(),
            };
            let lift = format!("{:.3} {}", one.lift.value, one.lift.unit);
            let _ = writeln!(
                text,
                "    {lift:>10} |{:<40}| {:.2} {unit}",
                "#".repeat(bar),
                figure.value
            );
        }
    }
    text
}

/// A scale of [`WIDE`] columns.
struct AxisScale {
    least: f64,
    most: f64,
}

impl AxisScale {
    fn new(least: f64, most: f64) -> AxisScale {
        // Equal values are drawn in the middle.
        let pad = if most > least {
            0.0
        } else {
            least.abs().max(1e-3) * 1e-3
        };
        AxisScale {
            least: least - pad,
            most: most + pad,
        }
    }

    fn at(&self, value: f64) -> usize {
        let share = (value - self.least) / (self.most - self.least);
        (share * (WIDE - 1) as f64)
            .round()
            .clamp(0.0, (WIDE - 1) as f64) as usize
    }
}

#[cfg(test)]
mod tests {
    use benchhand_blueprint::Unit;

    use super::*;

    fn chamber(value: f64, u: Option<f64>) -> Figure {
        Figure::new(value, u, Unit::CubicCentimetre)
    }

    #[test]
    fn a_larger_value_stands_further_right_and_no_line_is_too_wide() {
        let rows = [
            ("1".to_owned(), chamber(64.0, Some(0.05))),
            ("2".to_owned(), chamber(65.0, Some(0.05))),
            ("3".to_owned(), chamber(64.5, None)),
        ];
        let text = dots("chamber", &rows);
        let lines: Vec<&str> = text
            .lines()
            .filter(|line| line.contains('o') && line.contains('|'))
            .collect();
        let places: Vec<usize> = lines
            .iter()
            .map(|line| line.find('o').expect("a dot"))
            .collect();
        assert!(places[0] < places[2] && places[2] < places[1], "{text}");
        assert!(lines[0].contains("--"), "{text}");
        assert!(
            lines[2].contains("U not known") && !lines[2].contains('-'),
            "{text}"
        );
        assert!(
            text.lines().all(|line| line.chars().count() <= 80),
            "{text}"
        );
        assert_eq!(dots("chamber", &rows[..1]), "");
    }

    #[test]
    fn values_that_are_all_alike_are_drawn_too() {
        let rows = [
            ("1".to_owned(), chamber(64.0, None)),
            ("2".to_owned(), chamber(64.0, None)),
        ];
        assert_eq!(dots("chamber", &rows).matches("|").count(), 2);
    }
}
