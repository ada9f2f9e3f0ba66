//! Requests about many jobs at once: a gauge's history, engines like one, the readings of a spot.

use std::collections::BTreeMap;

use benchhand_blueprint::engine::EngineSizes;
use benchhand_blueprint::stats::Scatter;
use benchhand_blueprint::{Engine, Unit};
use benchhand_wire::{
    Figure, GaugeHistory, GaugeHistoryAnswer, GaugeInJob, GaugeInShort, GaugeScatter, JobsLike,
    JobsLikeAnswer, LikeJob, PastCheck, ReadingOfJob, ReadingsAt, ReadingsAtAnswer, Reason,
    Refusal, Sizes,
};

use super::{Answers, Desk};
use crate::known::{digest, shown};
use crate::store::index::{self, EngineRow, ReadingQuery, ReadingRow};

/// Engines whose sizes differ by more than this share are not alike.
const WITHIN: f64 = 0.1;
/// How many engines are listed.
const LISTED: usize = 8;

impl Answers<GaugeHistory> for Desk {
    fn answer(&self, ask: GaugeHistory, _: Option<&str>) -> Result<GaugeHistoryAnswer, Refusal> {
        let mut uses = self.keeper.gauge_uses(Some(&ask.name))?;
        // A gauge that is neither in the register nor in any job is a typing error.
        if uses.is_empty() {
            self.shop.gauge(&ask.name)?;
        }
        uses.sort_by(|a, b| (a.first, &a.job).cmp(&(b.first, &b.job)));
        let uses = without_copies(uses);
        let in_short = in_short(&uses);
        let jobs = uses.iter().map(in_job).collect();
        let mut checks: Vec<PastCheck> = uses.iter().flat_map(checks).collect();
        checks.sort_by(|a, b| (&a.at, &a.job, a.id).cmp(&(&b.at, &b.job, b.id)));
        Ok(GaugeHistoryAnswer {
            name: ask.name,
            in_short,
            jobs,
            checks,
        })
    }
}

impl Desk {
    /// What the jobs tell of each gauge, in short.
    ///
    /// # Errors
    /// Where the folder of the jobs cannot be listed.
    pub(super) fn gauges_in_short(&self) -> Result<BTreeMap<String, GaugeInShort>, Refusal> {
        let mut by_gauge: BTreeMap<String, Vec<index::GaugeInJob>> = BTreeMap::new();
        for one in self.keeper.gauge_uses(None)? {
            by_gauge.entry(one.gauge.clone()).or_default().push(one);
        }
        let short = |(name, uses): (String, Vec<_>)| (name, in_short(&without_copies(uses)));
        Ok(by_gauge.into_iter().map(short).collect())
    }
}

/// The uses of one gauge without those that a copy of a job repeats. Lines of a copy keep their times,
/// so the gauge's first reading or check is of one moment in both; the longer record counts.
fn without_copies(uses: Vec<index::GaugeInJob>) -> Vec<index::GaugeInJob> {
    let began = |one: &index::GaugeInJob| {
        let checked = one.checks.iter().map(|check| check.at).min();
        (one.first, checked)
    };
    let size = |one: &index::GaugeInJob| one.readings + one.checks.len() as u64;
    let mut alone: Vec<index::GaugeInJob> = Vec::new();
    for one in uses {
        match alone.iter_mut().find(|other| began(other) == began(&one)) {
            Some(other) if size(other) < size(&one) => *other = one,
            Some(_) => {}
            None => alone.push(one),
        }
    }
    alone
}

fn in_short(uses: &[index::GaugeInJob]) -> GaugeInShort {
    let last_check = uses.iter().flat_map(|one| {
        let check = one.checks.iter().max_by_key(|check| (check.at, check.seq));
        check.map(|check| (check.at, past_check(one, check)))
    });
    GaugeInShort {
        jobs: uses.len() as u64,
        readings: uses.iter().map(|one| one.readings).sum(),
        scatter: pooled(uses.iter().flat_map(|one| &one.scatter)),
        last_check: last_check.max_by_key(|(at, _)| *at).map(|(_, check)| check),
    }
}

fn in_job(one: &index::GaugeInJob) -> GaugeInJob {
    let failed = one.checks.iter().filter(|c| c.passed == Some(false));
    GaugeInJob {
        job: one.job.clone(),
        readings: one.readings,
        first: one.first.map(|at| at.to_string()),
        last: one.last.map(|at| at.to_string()),
        scatter: pooled(&one.scatter),
        checks: one.checks.len() as u64,
        failed: failed.count() as u64,
    }
}

fn checks(one: &index::GaugeInJob) -> impl Iterator<Item = PastCheck> + '_ {
    one.checks.iter().map(|check| past_check(one, check))
}

fn past_check(one: &index::GaugeInJob, check: &index::GaugeCheck) -> PastCheck {
    PastCheck {
        job: one.job.clone(),
        id: check.seq,
        at: check.at.to_string(),
        channel: check.channel,
        against: check.against.clone(),
        error: Figure {
            value: check.error,
            u: check.u,
            unit: check.unit.clone(),
        },
        allow: check.allow,
        passed: check.passed,
        comparisons: check.comparisons,
    }
}

/// The scatters of each quantity pooled, in the latest unit. Units of another kind, such as weights
/// among volumes, stay apart.
fn pooled<'a>(scatters: impl IntoIterator<Item = &'a index::RepeatScatter>) -> Vec<GaugeScatter> {
    let mut pools: BTreeMap<(&str, String), (Unit, Scatter, u64)> = BTreeMap::new();
    for one in scatters {
        // A unit that this program does not know belongs to no reading that it kept.
        let Ok(unit) = one.unit.parse::<Unit>() else {
            continue;
        };
        let found = Scatter {
            squares: one.squares,
            dof: one.dof as f64,
        };
        let pool = pools
            .entry((&one.quantity, unit.kind().to_string()))
            .or_insert((unit, Scatter::default(), 0));
        pool.0 = unit;
        pool.1 = pool.1.and(found.scaled(unit.factor()));
        pool.2 += one.sets;
    }
    let shown = |((quantity, _), (unit, scatter, sets)): ((&str, _), (Unit, Scatter, u64))| {
        let pooled = scatter.pooled()?;
        Some(GaugeScatter {
            quantity: quantity.to_owned(),
            sd: unit.difference_from_base(pooled.s),
            unit: unit.symbol().to_owned(),
            dof: pooled.dof as u64,
            sets,
        })
    };
    pools.into_iter().filter_map(shown).collect()
}

impl Answers<JobsLike> for Desk {
    fn answer(&self, ask: JobsLike, _: Option<&str>) -> Result<JobsLikeAnswer, Refusal> {
        let engine = self.keeper.look(&ask.job, |view| {
            let file = view.engine().map(|file| file.content.clone());
            file.unwrap_or_default()
        })?;
        let engine = Engine::from_toml(&engine).map_err(|_| {
            Refusal::new(
                Reason::Conflict,
                format!("the engine of job {} cannot be used", ask.job),
            )
            .todo("`benchhand job show` says what is wrong with its engine file")
        })?;
        let (own, length) = (EngineSizes::of(&engine), engine.units.length());
        let mut near: Vec<(f64, EngineSizes, EngineRow)> = Vec::new();
        for row in self.keeper.engines()? {
            let sizes = row.engine.as_ref().and_then(digest::sizes);
            let Some(sizes) = sizes.filter(|_| row.summary.name != ask.job) else {
                continue;
            };
            if let Some(likeness) = own.likeness(&sizes).filter(|one| one.apart() <= WITHIN) {
                near.push((likeness.apart(), sizes, row));
            }
        }
        // Of engines that are equally near, the one worked on last comes first.
        near.sort_by(|a, b| {
            let last = b.2.summary.last.cmp(&a.2.summary.last);
            a.0.total_cmp(&b.0)
                .then(last)
                .then_with(|| a.2.summary.name.cmp(&b.2.summary.name))
        });
        let more = near.len().saturating_sub(LISTED) as u64;
        let layout = self.keeper.layout();
        let mut jobs = Vec::new();
        for (apart, sizes, row) in near.into_iter().take(LISTED) {
            let figures = match &row.figures {
                Some(figures) => digest::figures(figures),
                None => digest::figures(&self.keeper.figures(&row.summary.name)?),
            };
            let name = row.engine.as_ref().and_then(digest::name);
            let name = name.or(row.summary.title.clone()).unwrap_or_default();
            jobs.push(LikeJob {
                summary: shown::job(&row.summary, name, &layout),
                sizes: shown_sizes(&sizes, length),
                apart,
                figures: figures.figures,
            });
        }
        Ok(JobsLikeAnswer {
            sizes: shown_sizes(&own, length),
            within: WITHIN,
            more,
            jobs,
        })
    }
}

fn shown_sizes(sizes: &EngineSizes, length: Unit) -> Sizes {
    let figure = |value: f64, unit: Unit| Figure {
        value: unit.from_base(value),
        u: None,
        unit: unit.symbol().to_owned(),
    };
    Sizes {
        banks: sizes.banks.clone(),
        bore: sizes.bore.map(|bore| figure(bore, length)),
        stroke: sizes.stroke.map(|stroke| figure(stroke, length)),
        chamber: sizes
            .chamber
            .map(|chamber| figure(chamber, Unit::CubicCentimetre)),
    }
}

impl Answers<ReadingsAt> for Desk {
    fn answer(&self, ask: ReadingsAt, _: Option<&str>) -> Result<ReadingsAtAnswer, Refusal> {
        let query = ReadingQuery {
            spot: Some(ask.spot),
            ..ReadingQuery::default()
        };
        let found = self.keeper.search(&query)?;
        let readings = found.into_iter().map(reading_of_job).collect();
        Ok(ReadingsAtAnswer { readings })
    }
}

fn reading_of_job(row: ReadingRow) -> ReadingOfJob {
    ReadingOfJob {
        job: row.job,
        id: row.id,
        spot: row.spot,
        stage: row.stage,
        figure: Figure {
            value: row.value,
            u: row.u,
            unit: row.unit,
        },
        gauge: row.gauges.into_iter().next(),
        at: row.at.to_string(),
        marked: row.marked,
    }
}
