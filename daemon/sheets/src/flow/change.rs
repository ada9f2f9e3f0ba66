//! How far a flow is from what it was before, with its ±.

use benchhand_blueprint::Figure;
use benchhand_blueprint::report::FlowReport;
use benchhand_words::digits::{decimals_of, rounded};
use benchhand_words::stated::{half_width, width_told};

/// A flow, or the mean of several.
#[derive(Debug, Clone)]
pub(super) struct Flow {
    pub(super) value: f64,
    /// Its ± for 95 %, of what is known.
    width: Option<f64>,
    /// The same with what is lacking at its assumed width.
    assumed: Option<f64>,
    /// Whether no more air passes than the least area of a port can pass.
    possible: bool,
}

impl Flow {
    pub(super) fn of(one: &FlowReport, figure: &Figure) -> Flow {
        let above = |figure: &Figure| {
            let width = figure.expanded_assumed();
            width.is_some_and(|width| figure.value - width > 1.0)
        };
        let mut coefficients = one.coefficients.iter();
        Flow {
            value: figure.value,
            width: half_width(figure),
            assumed: figure.expanded_assumed(),
            possible: !coefficients.any(|one| above(&one.coefficient)),
        }
    }

    /// The mean of flows. Its ± is that of `known`, the report's mean of the same flows; without one
    /// it is no more than the mean of theirs, however much they share.
    pub(super) fn mean(flows: impl Iterator<Item = Flow>, known: Option<&Figure>) -> Option<Flow> {
        let all: Vec<Flow> = flows.collect();
        let count = all.len() as f64;
        let mean = |get: fn(&Flow) -> Option<f64>| -> Option<f64> {
            let values: Option<Vec<f64>> = all.iter().map(get).collect();
            Some(values?.iter().sum::<f64>() / count)
        };
        let possible = all.iter().all(|one| one.possible);
        if all.is_empty() {
            return None;
        }
        Some(match known {
            Some(known) => Flow {
                value: known.value,
                width: half_width(known),
                assumed: known.expanded_assumed(),
                possible,
            },
            None => Flow {
                value: mean(|one| Some(one.value))?,
                width: mean(|one| one.width),
                assumed: mean(|one| one.assumed),
                possible,
            },
        })
    }
}

/// A change from one stage to the next, in percent of what was before.
#[derive(Debug, Clone, Copy)]
pub(super) struct Change {
    percent: f64,
    width: Option<f64>,
    /// Whether it is more than its ±, with what is lacking at its assumed width.
    real: Option<bool>,
}

impl Change {
    /// The errors of both stages count as each other's no part. What the two share, such as the
    /// orifice, cancels in truth: the ± is at most so wide.
    pub(super) fn between(was: &Flow, is: &Flow) -> Option<Change> {
        if was.value <= 0.0 || is.value <= 0.0 {
            return None;
        }
        let ratio = is.value / was.value;
        let both = |of_was: Option<f64>, of_is: Option<f64>| {
            let shares = (of_was? / was.value).hypot(of_is? / is.value);
            Some(100.0 * ratio * shares)
        };
        let percent = 100.0 * (ratio - 1.0);
        let assumed = both(was.assumed, is.assumed).filter(|_| was.possible && is.possible);
        Some(Change {
            percent,
            width: both(was.width, is.width),
            real: assumed.map(|width| percent.abs() > width),
        })
    }

    fn digits(self) -> i32 {
        let width = self.width.filter(|width| *width > 0.0);
        width.map_or(1, |width| decimals_of(width).min(1))
    }

    /// "+5.8".
    pub(super) fn told(self) -> String {
        let told = rounded(self.percent, self.digits());
        match self.percent > 0.0 {
            true => format!("+{told}"),
            false => told,
        }
    }

    /// Its ±; "?" where it is not known.
    pub(super) fn width_told(self) -> String {
        let width = self.width;
        width.map_or("?".to_owned(), |width| width_told(width, self.digits()))
    }

    /// Whether it is real, in a word.
    pub(super) fn judged(self) -> &'static str {
        match self.real {
            Some(true) => "yes",
            Some(false) => "too close",
            None => "not judged",
        }
    }
}
