//! Requests about whole jobs.

use std::collections::BTreeMap;

use benchhand_blueprint::Engine;
use benchhand_blueprint::engine::LengthUnits;
use benchhand_wire::{
    AcceptDamage, DamageAccepted, JobDetail, JobList, JobReport, Jobs, NewJob, Reason, Refusal,
    ReportAnswer, ShowJob, ShownReading, UnreadableJob, Verified, VerifyJob,
};

use super::{Answers, Desk, reporting};
use crate::known::keeper::Keeper;
use crate::known::refusals::{of_engine, of_store};
use crate::known::{digest, expectation, inputs, shown, stations, told};
use crate::store;
use crate::store::index::ReadingQuery;
use crate::store::job::{EngineFile, Job, JobOpening};
use crate::store::journal::JournalError;
use crate::store::summary::JobSummary;
use crate::store::view::JobView;
use crate::store::{error::StoreError, job::JobError};

/// The number of the fact that opens a job.
const FIRST: u64 = 1;

/// Refuses a name that one of the pages has.
pub(super) fn may_be_called(name: &str) -> Result<(), Refusal> {
    if name != "new" {
        return Ok(());
    }
    Err(
        Refusal::new(Reason::BadInput, "a job cannot be called \"new\"")
            .todo("choose another name: /jobs/new is the page that begins one"),
    )
}

impl Answers<NewJob> for Desk {
    fn answer(
        &self,
        ask: NewJob,
        key: Option<&str>,
    ) -> Result<benchhand_wire::JobSummary, Refusal> {
        let engine = Engine::from_toml(&ask.engine).map_err(|e| of_engine(&e, &ask.file))?;
        may_be_called(&ask.name)?;
        let name = ask.name.clone();
        let created = self.keeper.create(store::job::NewJob {
            name: ask.name,
            title: Some(engine.name),
            stage: None,
            engine: ask.engine,
            key: key.map(str::to_owned),
        });
        let view = match created {
            Err(refusal) if refusal.reason == Reason::Conflict => {
                let engine =
                    format!("`benchhand job engine {name} FILE` gives that job another engine");
                self.opened_by(&name, key)
                    .ok_or_else(|| refusal.todo(engine))?
            }
            other => other?,
        };
        Ok(shown::job_of(&view, &self.keeper.layout()))
    }
}

impl Desk {
    /// A job that exists because this very request opened it.
    fn opened_by(&self, name: &str, key: Option<&str>) -> Option<JobView> {
        let opened = |job: &mut Job| {
            let mine = job.kept_under(key?) == Some(FIRST);
            mine.then(|| job.view().clone())
        };
        self.keeper.with_job(name, |job| Ok(opened(job))).ok()?
    }
}

/// What a list says of a job beside its record.
#[derive(Debug, Clone, Default)]
struct JobInShort {
    /// What the engine file calls the engine, where the index knows it.
    engine: Option<String>,
    /// What was not measured, in words.
    lacks: Vec<String>,
}

impl Desk {
    /// What each job's engine is called, and what the job lacks, in words, by the job's name. A job
    /// that cannot be read has nothing here.
    fn in_short(&self) -> Result<BTreeMap<String, JobInShort>, Refusal> {
        let mut all = BTreeMap::new();
        for row in self.keeper.engines()? {
            let name = row.summary.name;
            let engine = row.engine.as_ref().and_then(digest::name);
            let held = row.figures.as_ref().map(digest::figures);
            let lacks = match held.and_then(|figures| figures.lacks) {
                Some(lacks) => Some(lacks),
                None => {
                    let made = self.keeper.figures(&name).ok();
                    made.and_then(|made| digest::figures(&made).lacks)
                }
            };
            let lacks = lacks.unwrap_or_default();
            all.insert(name, JobInShort { engine, lacks });
        }
        Ok(all)
    }
}

impl Answers<Jobs> for Desk {
    fn answer(&self, ask: Jobs, _: Option<&str>) -> Result<JobList, Refusal> {
        let layout = self.keeper.layout();
        let query = ask.spot.map(|spot| ReadingQuery {
            spot: Some(spot),
            ..ReadingQuery::default()
        });
        let list = self.keeper.jobs(query.as_ref())?;
        let unreadable = list.unreadable.iter().map(|(job, error)| UnreadableJob {
            name: job.clone(),
            why: error.to_string(),
        });
        let unreadable = unreadable.collect();
        let known = self.in_short()?;
        let shown = |s: &JobSummary| {
            let JobInShort { engine, lacks } = known.get(&s.name).cloned().unwrap_or_default();
            let engine = engine.or(s.title.clone()).unwrap_or_default();
            benchhand_wire::JobSummary {
                lacks,
                ..shown::job(s, engine, &layout)
            }
        };
        let mut jobs: Vec<_> = list.jobs.iter().map(shown).collect();
        jobs.sort_by(|a, b| b.changed.cmp(&a.changed).then_with(|| a.name.cmp(&b.name)));
        Ok(JobList { jobs, unreadable })
    }
}

impl Answers<ShowJob> for Desk {
    fn answer(&self, ask: ShowJob, _: Option<&str>) -> Result<JobDetail, Refusal> {
        let (view, opening) = self.keeper.view(&ask.job)?;
        let route = match &self.station {
            Some(station) => station.progress(&ask.job)?,
            None => None,
        };
        let route = match route {
            Some(running) => Some(running),
            None => self.standing(&view)?,
        };
        let mut notes = notes_of(&opening);
        notes.extend(stations::notes(&view, self.keeper.clock().now_utc()));
        Ok(JobDetail {
            summary: shown::job_of(&view, &self.keeper.layout()),
            copy_of: shown::copy_of(&view),
            units: inputs::engine(&view).ok().map(|engine| {
                match engine.units {
                    LengthUnits::Inch => "inch",
                    LengthUnits::Metric => "metric",
                }
                .to_owned()
            }),
            card: shown::card(&view),
            stages: view.stages().iter().map(shown::stage).collect(),
            taken_back: shown::taken_back(&view),
            readings: readings_of(&self.keeper, &view),
            route,
            elsewhere: self.elsewhere(&view),
            notes,
        })
    }
}

/// The readings as they are shown. The newest of a spot says where it lies further from the round
/// before than rounds should.
fn readings_of(keeper: &Keeper, view: &JobView) -> Vec<ShownReading> {
    let engine = told::engine(keeper, view).ok();
    let told = |kept| told::reading(engine.as_deref(), kept);
    let mut all: Vec<ShownReading> = view.readings().map(told).collect();
    let Some(engine) = engine else { return all };
    let here = all.iter_mut().filter(|one| one.stage == view.stage());
    for one in here.filter(|one| one.round > 1) {
        let newest = view.newest_at(view.stage(), &one.spot).next();
        let spot = newest
            .filter(|newest| newest.id == one.id)
            .and_then(|newest| newest.spot.parse().ok());
        let apart = spot.and_then(|spot| expectation::rounds_apart(&engine, view, &spot));
        if let Some(apart) = apart {
            let before = if one.note.is_empty() { "" } else { "; " };
            one.note += &format!("{before}rounds differ: {apart}");
        }
    }
    all
}

/// What was found amiss when a job was opened, in words.
fn notes_of(opening: &JobOpening) -> Vec<String> {
    let mut notes = Vec::new();
    if let Some(torn) = &opening.torn {
        notes.push(format!(
            "the journal ended in a line that was never finished ({} bytes); nothing acknowledged is lost",
            torn.bytes
        ));
    }
    notes.extend(opening.record.iter().map(ToString::to_string));
    notes.extend(opening.damage.iter().map(ToString::to_string));
    match &opening.engine {
        EngineFile::Unchanged | EngineFile::Loaded(_) => {}
        EngineFile::NotLoaded => {
            notes
                .push("engine.toml was edited; the edit is loaded with the next change".to_owned());
        }
        EngineFile::Restored => {
            notes.push("engine.toml was missing and was written again from the journal".to_owned());
        }
        EngineFile::Refused(why) => notes.push(format!(
            "engine.toml was edited and cannot be used, the engine last loaded still holds: {why}"
        )),
    }
    notes
}

impl Answers<JobReport> for Desk {
    fn answer(&self, ask: JobReport, _: Option<&str>) -> Result<ReportAnswer, Refusal> {
        let (view, _) = self.keeper.view(&ask.job)?;
        let job = ask.job.clone();
        let running = match &self.station {
            Some(station) => station.with(move |station| station.progress(&job))?,
            None => None,
        };
        let report =
            reporting::report(&self.keeper, &view, ask.stage.as_deref(), running.as_ref())?;
        let last = view.live(&report.stage).map(|reading| reading.at).max();
        let document = serde_json::to_value(report)
            .map_err(|e| Refusal::new(Reason::Unavailable, format!("the report: {e}")))?;
        Ok(ReportAnswer {
            document,
            kept: last.map(|at| at.to_string()),
        })
    }
}

impl Answers<VerifyJob> for Desk {
    fn answer(&self, ask: VerifyJob, _: Option<&str>) -> Result<Verified, Refusal> {
        self.keeper
            .with_store(|store| match store.verify(&ask.job) {
                Ok(found) => Ok(Verified {
                    lines: found.lines as u64,
                    head: found.last_hash,
                    broken: None,
                    torn: found.torn_bytes as u64,
                    accepted: found.known_damage.iter().map(ToString::to_string).collect(),
                }),
                Err(StoreError::Job(JobError::Journal(JournalError::Damaged(damage)))) => {
                    let lines = damage.line.saturating_sub(1) as u64;
                    Ok(broken(lines, damage.to_string()))
                }
                Err(StoreError::Job(JobError::Journal(JournalError::Record(fault)))) => {
                    Ok(broken(0, fault.to_string()))
                }
                Err(other) => Err(of_store(&other)),
            })
    }
}

/// What a check says of a record that is not what was kept, sound up to so many lines.
fn broken(lines: u64, what: String) -> Verified {
    Verified {
        lines,
        head: String::new(),
        broken: Some(what),
        torn: 0,
        accepted: Vec::new(),
    }
}

impl Answers<AcceptDamage> for Desk {
    fn answer(&self, ask: AcceptDamage, _: Option<&str>) -> Result<DamageAccepted, Refusal> {
        let reason = ask.reason.trim();
        if reason.is_empty() {
            return Err(Refusal::new(Reason::BadInput, "no reason is given")
                .expected("why the record goes on without what is missing"));
        }
        let accepted = self.keeper.accept_damage(&ask.job, reason)?;
        let lines = accepted.lines.iter().map(ToString::to_string);
        let record = accepted.record.iter().map(ToString::to_string);
        Ok(DamageAccepted {
            damage: record.chain(lines).collect(),
        })
    }
}
