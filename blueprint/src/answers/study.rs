//! A study of a gauge: its repeatability and how much operators differ, from a CSV.

use serde::{Deserialize, Serialize};

use super::tables::{Row, rows};
use crate::figure::Figure;
use crate::named::named_enum;
use crate::readings::{CsvFault, CsvFaults};
use crate::stats::{GaugeStudy, StudyShares};
use crate::units::{Unit, number};

/// A study by both methods. Shares are standard deviations.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct StudyAnswer {
    /// The parts, in the order in which the file first names them.
    pub parts: Vec<String>,
    /// The operators, in the order in which the file first names them.
    pub operators: Vec<String>,
    /// How often each measured each part.
    pub trials: usize,
    /// By averages and ranges.
    pub by_range: Option<StudyVariation>,
    /// By analysis of variance.
    pub by_anova: StudyVariation,
    /// F of the interaction of operators and parts.
    pub interaction_f: Option<f64>,
    /// The chance of such an F without any interaction.
    pub interaction_p: Option<f64>,
    /// Whether the interaction was pooled with the repeatability (chance above 0.25).
    pub pooled: bool,
    /// Remarks, in a sentence each.
    pub remarks: Vec<String>,
}

/// The parts of the variation, by one method.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct StudyVariation {
    /// Shares.
    pub shares: Vec<StudyShare>,
    /// How many kinds of parts the gauge can tell apart; `None` where it showed no variation.
    pub categories: Option<f64>,
}

named_enum! {
    /// What varies in a study.
    StudyShareName {
        /// One operator, one part, again.
        Repeatability = "repeatability",
        /// Operators among each other.
        Operators = "operators",
        /// Operators differ more on some parts than on others.
        Interaction = "interaction",
        /// The three above together.
        Gauge = "gauge",
        /// The parts among each other.
        Parts = "parts",
        /// Gauge and parts together.
        Total = "total",
    }
}

/// One share.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct StudyShare {
    /// Which.
    pub share: StudyShareName,
    /// Standard deviation.
    pub sd: Figure,
    /// In percent of the total variation; such percents do not add up to 100.
    pub percent: Option<Figure>,
    /// Six standard deviations in percent of the tolerance, where one was given.
    pub percent_of_tolerance: Option<Figure>,
}

/// The largest value of a study. The squares of larger ones would soon be no numbers any more.
const LARGEST: f64 = 1e100;

const COLUMNS: [&str; 5] = ["part", "operator", "trial", "value", "unit"];

/// A study from `part,operator,trial,value,unit`. `tolerance` is the width of the tolerance in the
/// unit of the file.
///
/// # Errors
/// Every row that cannot be used, or what is missing from the study.
pub fn gauge_study(text: &str, tolerance: Option<(f64, Unit)>) -> Result<StudyAnswer, CsvFaults> {
    let rows = rows(text, &COLUMNS, &COLUMNS)?;
    let mut sheet = Sheet::default();
    for row in &rows {
        sheet.take(row);
    }
    if !sheet.faults.is_empty() {
        return Err(CsvFaults::new(sheet.faults));
    }
    let (parts, operators) = (sheet.parts, sheet.operators);
    let mut values = vec![vec![Vec::new(); parts.len()]; operators.len()];
    for (operator, part, value) in sheet.values {
        values[operator][part].push(value);
    }
    let trials = values
        .first()
        .and_then(|own| own.first())
        .map_or(0, Vec::len);
    let refused = |message: String| {
        CsvFaults::new(vec![CsvFault {
            line: 1,
            column: 1,
            field: String::new(),
            message,
        }])
    };
    let study = GaugeStudy::new(values).map_err(|error| refused(error.to_string()))?;
    let unit = sheet.unit.unwrap_or(Unit::One);
    let width = match tolerance {
        Some((_, found)) if found.kind() != unit.kind() => {
            return Err(refused(format!(
                "the tolerance is in {found}, the values are in {unit}; give it in a unit of the same kind"
            )));
        }
        Some((value, found)) => Some(unit.difference_from_base(found.difference_to_base(value))),
        None => None,
    };
    let anova = study.by_anova();
    let finite = |value: f64| Some(value).filter(|value| value.is_finite());
    let mut remarks = vec![
        "Shares are standard deviations; their squares add up, their percents do not. One gauge, these operators and these parts: another set of parts gives other percents.".to_owned(),
    ];
    remarks.push(match anova.pooled {
        true => "By analysis of variance no interaction of operators and parts shows; it is counted as repeatability.".to_owned(),
        false => "By analysis of variance operators and parts interact: an operator measures some parts otherwise than his colleagues do.".to_owned(),
    });
    remarks.push("The repeatability here is what `gauge set --repeatability` and the engine file's `repeatability` take, if the parts were set up anew for each trial.".to_owned());
    Ok(StudyAnswer {
        trials,
        by_range: study
            .by_range(false)
            .map(|by_range| variation(&by_range.study, unit, width)),
        by_anova: variation(&anova.study, unit, width),
        interaction_f: finite(anova.interaction_f),
        interaction_p: finite(anova.interaction_p),
        pooled: anova.pooled,
        remarks,
        parts,
        operators,
    })
}

fn variation(study: &StudyShares, unit: Unit, tolerance: Option<f64>) -> StudyVariation {
    let shares = [
        (StudyShareName::Repeatability, study.equipment),
        (StudyShareName::Operators, study.appraiser),
        (StudyShareName::Interaction, study.interaction),
        (StudyShareName::Gauge, study.gauge),
        (StudyShareName::Parts, study.part),
        (StudyShareName::Total, study.total),
    ];
    let finite = |value: f64| Some(value).filter(|value| value.is_finite());
    let percent = |value: f64| finite(value).map(|value| Figure::bare(value, Unit::Percent));
    StudyVariation {
        shares: shares
            .into_iter()
            .map(|(share, sd)| StudyShare {
                share,
                sd: Figure::bare(sd, unit),
                percent: percent(study.percent(sd)),
                percent_of_tolerance: tolerance.and_then(|width| percent(600.0 * sd / width)),
            })
            .collect(),
        categories: finite(study.categories()),
    }
}

#[derive(Default)]
struct Sheet {
    parts: Vec<String>,
    operators: Vec<String>,
    unit: Option<Unit>,
    seen: std::collections::BTreeSet<(usize, usize, String)>,
    values: Vec<(usize, usize, f64)>,
    faults: Vec<CsvFault>,
}

fn place(names: &mut Vec<String>, name: &str) -> usize {
    names
        .iter()
        .position(|known| known == name)
        .unwrap_or_else(|| {
            names.push(name.to_owned());
            names.len() - 1
        })
}

impl Sheet {
    fn take(&mut self, row: &Row) {
        for name in ["part", "operator", "trial"] {
            if row.cell(name).is_empty() {
                self.faults
                    .push(row.fault(name, "found nothing; fill it in"));
                return;
            }
        }
        let part = place(&mut self.parts, row.cell("part"));
        let operator = place(&mut self.operators, row.cell("operator"));
        let trial = row.cell("trial").to_owned();
        if !self.seen.insert((operator, part, trial.clone())) {
            let message = format!(
                "found trial {trial} of part {} by {} a second time; number it anew",
                row.cell("part"),
                row.cell("operator")
            );
            self.faults.push(row.fault("trial", message));
        }
        let unit: Unit = match row.cell("unit").parse() {
            Ok(unit) => unit,
            Err(error) => {
                self.faults.push(row.fault("unit", format!("{error}")));
                return;
            }
        };
        let first = *self.unit.get_or_insert(unit);
        if first.kind() != unit.kind() {
            let message = format!("found {unit}; expected {first} as before");
            self.faults.push(row.fault("unit", message));
            return;
        }
        match number(row.cell("value")) {
            Ok(value) if value.abs() > LARGEST => {
                let message = format!("found {value:e}; expected a value that can be measured");
                self.faults.push(row.fault("value", message));
            }
            Ok(value) => {
                let value = first.from_base(unit.to_base(value));
                self.values.push((operator, part, value));
            }
            Err(error) => self.faults.push(row.fault("value", error.to_string())),
        }
    }
}
