//! Charts of a job: the documents behind each, and the drawing made of them by the words.

use std::collections::BTreeMap;

use benchhand_blueprint::Report;
use benchhand_wire::{ChartDrawn, ChartJob, Reason, Refusal};
use benchhand_words::chart::{Chart, ChartKind, Repeat, all_of_report, of_report, scatter};

use super::{Answers, Desk, reporting};
use crate::known::keeper::Keeper;
use crate::store::index::quantity_of;
use crate::store::view::{JobView, KeptReading};

impl Answers<ChartJob> for Desk {
    fn answer(&self, ask: ChartJob, _: Option<&str>) -> Result<ChartDrawn, Refusal> {
        let mut kinds = ChartKind::ALL.into_iter();
        let kind = kinds.find(|kind| kind.name() == ask.chart).ok_or_else(|| {
            let names = ChartKind::ALL.map(ChartKind::name).join(", ");
            Refusal::new(
                Reason::BadInput,
                format!("no chart is called {:?}", ask.chart),
            )
            .expected(format!("one of {names}"))
        })?;
        let (view, _) = self.keeper.view(&ask.job)?;
        let stage = ask.stage.as_deref();
        let drawn = match (kind, &ask.gauge) {
            (ChartKind::Scatter, Some(gauge)) => of_gauge(&view, gauge),
            (ChartKind::Scatter, None) => {
                return Err(Refusal::new(
                    Reason::BadInput,
                    "a chart of scatter is about one gauge",
                )
                .todo("name it in the field gauge"));
            }
            (kind, _) => {
                let report = reporting::report(&self.keeper, &view, stage, None)?;
                of_report(kind, &report, before(&self.keeper, &view, &report).as_ref())
            }
        };
        let drawn = drawn.ok_or_else(|| {
            Refusal::new(
                Reason::NotFound,
                format!("nothing is there yet for the chart {}", ask.chart),
            )
        })?;
        Ok(ChartDrawn {
            title: drawn.title,
            description: drawn.description,
            svg: drawn.svg,
        })
    }
}

impl Desk {
    /// Every chart of a report of a job.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub(crate) fn charts(&self, job: &str, report: &Report) -> Result<Vec<Chart>, Refusal> {
        let (view, _) = self.keeper.view(job)?;
        Ok(all_of_report(
            report,
            before(&self.keeper, &view, report).as_ref(),
        ))
    }

    /// The scatter of each gauge that took repeats in a job.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub(crate) fn scatters(&self, job: &str) -> Result<Vec<Chart>, Refusal> {
        let (view, _) = self.keeper.view(job)?;
        let mut gauges: Vec<&str> = Vec::new();
        for gauge in view.readings().filter_map(|one| one.gauge.as_deref()) {
            if !gauges.contains(&gauge) {
                gauges.push(gauge);
            }
        }
        let drawn = gauges
            .into_iter()
            .filter_map(|gauge| of_gauge(&view, gauge));
        Ok(drawn.collect())
    }
}

/// The report of the stage before the last cut that changed flow, as seen from the stage of
/// `report`; `None` where flow was not cut.
pub(super) fn before(keeper: &Keeper, view: &JobView, report: &Report) -> Option<Report> {
    if report.flow.is_empty() {
        return None;
    }
    let stages = view.stages();
    let now = stages.iter().position(|one| one.name == report.stage)?;
    let changed = |at: &usize| {
        let cut = stages.get(*at).and_then(|stage| stage.cut.as_ref());
        cut.is_some_and(|cut| cut.changes.is_empty() || cut.changes.iter().any(|c| c == "flow"))
    };
    let cut = (1..=now).rev().find(changed)?;
    let name = &stages.get(cut - 1)?.name;
    let before = reporting::report(keeper, view, Some(name), None).ok()?;
    (!before.flow.is_empty()).then_some(before)
}

/// The repeats of one gauge about the means of their spots, of the quantity that it repeated most.
fn of_gauge(view: &JobView, gauge: &str) -> Option<Chart> {
    type Sets<'a> = BTreeMap<(&'a str, &'a str), Vec<&'a KeptReading>>;
    let mut by_quantity: BTreeMap<(&str, &str), Sets<'_>> = BTreeMap::new();
    let counts = |one: &&KeptReading| {
        one.state.is_live() && one.gauge.as_deref() == Some(gauge) && one.marked.is_none()
    };
    for one in view.readings().filter(counts) {
        let quantity = quantity_of(&one.spot);
        let sets = by_quantity.entry((quantity, &one.unit)).or_default();
        sets.entry((&one.spot, &one.stage)).or_default().push(one);
    }
    let repeats = |sets: &Sets<'_>| -> usize {
        let of_set = |set: &Vec<&KeptReading>| set.len().saturating_sub(1);
        sets.values().map(of_set).sum()
    };
    let ((_, unit), sets) = by_quantity.iter().max_by_key(|(_, sets)| repeats(sets))?;
    let mut all: Vec<(&KeptReading, f64)> = Vec::new();
    let mut squares = 0.0;
    for set in sets.values().filter(|set| set.len() > 1) {
        let mean = set.iter().map(|one| one.value).sum::<f64>() / set.len() as f64;
        squares += set
            .iter()
            .map(|one| (one.value - mean).powi(2))
            .sum::<f64>();
        all.extend(set.iter().map(|one| (*one, one.value - mean)));
    }
    all.sort_by_key(|(one, _)| one.order());
    let all: Vec<Repeat> = all
        .iter()
        .map(|(one, off)| Repeat {
            at: one.at.to_string(),
            off: *off,
        })
        .collect();
    let dof = repeats(sets);
    let sd = (dof > 0).then(|| (squares / dof as f64).sqrt());
    scatter(gauge, unit, &all, sd)
}
