//! Gauge repeatability and reproducibility: how much of the variation comes from the gauge, from
//! the people and from the parts.
//!
//! Source: AIAG Measurement Systems Analysis, 4th edition, chapter III-B (from memory; its worked
//! example is a test). All values are standard deviations; editions 1 and 2 multiply by 5.15.

use super::{f_tail, mean, range_constants, spread};

/// Measurements of parts by appraisers, each the same number of times.
#[derive(Debug, Clone, PartialEq)]
pub struct GaugeStudy {
    /// By appraiser, then part, then trial.
    values: Vec<Vec<Vec<f64>>>,
}

/// Why there is no study.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum StudyError {
    /// The numbers of measurements differ.
    #[error(
        "found {found} trials for appraiser {appraiser}, part {part}, expected {expected} as everywhere; measure the missing ones"
    )]
    Uneven {
        /// The appraiser, from 1.
        appraiser: usize,
        /// The part, from 1.
        part: usize,
        /// How many trials were found.
        found: usize,
        /// How many were expected.
        expected: usize,
    },
    /// There are too few of something.
    #[error("found {found} {what}, expected at least 2; measure more")]
    TooFew {
        /// Of what.
        what: &'static str,
        /// How many were found.
        found: usize,
    },
}

/// The shares of the variation. All are standard deviations.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct StudyShares {
    /// Equipment variation: repeatability.
    pub equipment: f64,
    /// Appraiser variation: reproducibility.
    pub appraiser: f64,
    /// Interaction of appraisers and parts (0 where it is not separated).
    pub interaction: f64,
    /// Gauge repeatability and reproducibility together.
    pub gauge: f64,
    /// Part variation.
    pub part: f64,
    /// Total variation.
    pub total: f64,
}

impl StudyShares {
    fn new(equipment: f64, appraiser: f64, interaction: f64, part: f64) -> StudyShares {
        let gauge = (equipment.powi(2) + appraiser.powi(2) + interaction.powi(2)).sqrt();
        StudyShares {
            equipment,
            appraiser,
            interaction,
            gauge,
            part,
            total: gauge.hypot(part),
        }
    }

    /// A share of the total variation in percent; the shares do not add up to 100.
    pub fn percent(&self, share: f64) -> f64 {
        100.0 * share / self.total
    }

    /// How many kinds of parts the gauge can tell apart, 1.41·PV/GRR, before rounding down.
    pub fn categories(&self) -> f64 {
        1.41 * self.part / self.gauge
    }
}

/// A study by averages and ranges.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct RangeStudy {
    /// Mean range of each appraiser.
    pub ranges: Vec<f64>,
    /// Mean of the above.
    pub range: f64,
    /// Largest less smallest mean of an appraiser.
    pub appraiser_difference: f64,
    /// Largest less smallest mean of a part.
    pub part_range: f64,
    /// The shares.
    pub study: StudyShares,
}

/// A table of sums of squares.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct AnovaTable {
    /// Of parts.
    pub part: f64,
    /// Of appraisers.
    pub appraiser: f64,
    /// Of their interaction.
    pub interaction: f64,
    /// Of the equipment.
    pub equipment: f64,
    /// Of everything.
    pub total: f64,
    /// Degrees of freedom of parts, appraisers, interaction, equipment.
    pub dof: [f64; 4],
}

impl AnovaTable {
    /// Mean squares of parts, appraisers, interaction, equipment.
    pub fn mean_squares(&self) -> [f64; 4] {
        let sums = [self.part, self.appraiser, self.interaction, self.equipment];
        std::array::from_fn(|at| sums[at] / self.dof[at])
    }
}

/// A study by analysis of variance.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct AnovaStudy {
    /// The table.
    pub table: AnovaTable,
    /// F of the interaction.
    pub interaction_f: f64,
    /// The probability of such an F without interaction.
    pub interaction_p: f64,
    /// Whether the interaction was pooled with the equipment (p above 0.25).
    pub pooled: bool,
    /// The shares.
    pub study: StudyShares,
}

/// Above this probability the interaction is taken as none (AIAG; another common rule is 0.05).
const POOL_ABOVE: f64 = 0.25;

impl GaugeStudy {
    /// From values by appraiser, then part, then trial.
    pub fn new(values: Vec<Vec<Vec<f64>>>) -> Result<GaugeStudy, StudyError> {
        let parts = values.first().map_or(0, Vec::len);
        let trials = values
            .first()
            .and_then(|parts| parts.first())
            .map_or(0, Vec::len);
        for (what, found) in [
            ("appraisers", values.len()),
            ("parts", parts),
            ("trials", trials),
        ] {
            if found < 2 {
                return Err(StudyError::TooFew { what, found });
            }
        }
        for (appraiser, own) in values.iter().enumerate() {
            for part in 0..parts.max(own.len()) {
                let found = own.get(part).map_or(0, Vec::len);
                let expected = if part < parts { trials } else { 0 };
                if found != expected {
                    return Err(StudyError::Uneven {
                        appraiser: appraiser + 1,
                        part: part + 1,
                        found,
                        expected,
                    });
                }
            }
        }
        Ok(GaugeStudy { values })
    }

    fn sizes(&self) -> (f64, f64, f64) {
        let (parts, trials) = (self.values[0].len(), self.values[0][0].len());
        (self.values.len() as f64, parts as f64, trials as f64)
    }

    fn appraiser_means(&self) -> Vec<f64> {
        self.values
            .iter()
            .map(|parts| mean(parts.iter().flatten().copied()))
            .collect()
    }

    fn part_means(&self) -> Vec<f64> {
        (0..self.values[0].len())
            .map(|part| mean(self.values.iter().flat_map(|own| own[part].iter().copied())))
            .collect()
    }

    /// The study by averages and ranges. With `printed` the constants K are rounded to four
    /// decimals, as the manual prints them. `None` beyond 100 parts, appraisers or trials.
    pub fn by_range(&self, printed: bool) -> Option<RangeStudy> {
        let (appraisers, parts, trials) = self.sizes();
        let round = |k: f64| if printed { (k * 1e4).round() / 1e4 } else { k };
        let k1 = round(range_constants(trials as usize)?.k1());
        let k2 = round(range_constants(appraisers as usize)?.k2());
        let k3 = round(range_constants(parts as usize)?.k2());
        let ranges: Vec<f64> = self
            .values
            .iter()
            .map(|own| mean(own.iter().map(|trials| spread(trials.iter().copied()))))
            .collect();
        let mean_range = mean(ranges.iter().copied());
        let difference = spread(self.appraiser_means());
        let part_range = spread(self.part_means());
        let equipment = mean_range * k1;
        let own = (difference * k2).powi(2) - equipment.powi(2) / (parts * trials);
        let study = StudyShares::new(equipment, own.max(0.0).sqrt(), 0.0, part_range * k3);
        Some(RangeStudy {
            ranges,
            range: mean_range,
            appraiser_difference: difference,
            part_range,
            study,
        })
    }

    /// The table of sums of squares.
    pub fn table(&self) -> AnovaTable {
        let (appraisers, parts, trials) = self.sizes();
        let all = mean(self.values.iter().flatten().flatten().copied());
        let squares = |means: &[f64]| means.iter().map(|m| (m - all).powi(2)).sum::<f64>();
        let (by_appraiser, by_part) = (self.appraiser_means(), self.part_means());
        let (mut interaction, mut equipment, mut total) = (0.0, 0.0, 0.0);
        for (own, appraiser) in self.values.iter().zip(&by_appraiser) {
            for (cell, part) in own.iter().zip(&by_part) {
                let centre = mean(cell.iter().copied());
                interaction += (centre - appraiser - part + all).powi(2);
                equipment += cell
                    .iter()
                    .map(|value| (value - centre).powi(2))
                    .sum::<f64>();
                total += cell.iter().map(|value| (value - all).powi(2)).sum::<f64>();
            }
        }
        AnovaTable {
            part: squares(&by_part) * appraisers * trials,
            appraiser: squares(&by_appraiser) * parts * trials,
            interaction: interaction * trials,
            equipment,
            total,
            dof: [
                parts - 1.0,
                appraisers - 1.0,
                (parts - 1.0) * (appraisers - 1.0),
                parts * appraisers * (trials - 1.0),
            ],
        }
    }

    /// The study by analysis of variance; a variance that comes out negative is 0.
    pub fn by_anova(&self) -> AnovaStudy {
        let table = self.table();
        let [.., interaction, equipment] = table.mean_squares();
        let interaction_f = interaction / equipment;
        let interaction_p = match (interaction > 0.0, equipment > 0.0) {
            (_, true) => f_tail(interaction_f, table.dof[2], table.dof[3]),
            // Repeats that do not differ at all: any interaction is beyond them, and none is none.
            (true, false) => 0.0,
            (false, false) => 1.0,
        };
        let pooled = interaction_p > POOL_ABOVE;
        let study = self.shares(&table, pooled);
        AnovaStudy {
            table,
            interaction_f,
            interaction_p,
            pooled,
            study,
        }
    }

    /// The shares by analysis of variance with the interaction pooled or kept.
    pub fn shares(&self, table: &AnovaTable, pooled: bool) -> StudyShares {
        let (appraisers, parts, trials) = self.sizes();
        let [part, appraiser, interaction, equipment] = table.mean_squares();
        let (error, beside) = if pooled {
            let error = (table.interaction + table.equipment) / (table.dof[2] + table.dof[3]);
            (error, error)
        } else {
            (equipment, interaction)
        };
        let root = |variance: f64| variance.max(0.0).sqrt();
        let between = if pooled {
            0.0
        } else {
            root((interaction - equipment) / trials)
        };
        StudyShares::new(
            root(error),
            root((appraiser - beside) / (parts * trials)),
            between,
            root((part - beside) / (appraisers * trials)),
        )
    }
}
