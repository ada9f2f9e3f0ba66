//! Requests about a job's engine file as text.

use benchhand_blueprint::{Engine, Spot};
use benchhand_wire::{EngineFileText, EngineSet, ReadEngine, Reason, Refusal, SetEngine};

use super::{Answers, Desk};
use crate::known::refusals::{of_engine, of_job, of_store};
use crate::store::job_engine::EngineKept;
use crate::store::line::JournalEntry;
use crate::store::view::{JobView, ReadingState};

impl Answers<ReadEngine> for Desk {
    fn answer(&self, ask: ReadEngine, _: Option<&str>) -> Result<EngineFileText, Refusal> {
        let found = self.keeper.engine_on_disk(&ask.job)?;
        Ok(EngineFileText {
            text: found.text,
            hash: found.hash,
            edited: found.edited,
        })
    }
}

impl Answers<SetEngine> for Desk {
    fn answer(&self, ask: SetEngine, key: Option<&str>) -> Result<EngineSet, Refusal> {
        let engine = Engine::from_toml(&ask.engine).map_err(|e| of_engine(&e, &ask.file))?;
        let (job, base) = (ask.job.as_str(), ask.base.as_deref());
        // Looked at before the job is opened, which loads an edit.
        let seen = self.keeper.engine_on_disk(job)?.seen(base);
        if let Err(why) = seen
            && !key.is_some_and(|key| self.kept_before(job, key))
        {
            return Err(refusal(job, why));
        }
        let kept = self.keeper.with_job(job, |job| {
            takes_readings(&engine, job.view())?;
            let replaced = job.replace_engine(ask.engine, base, key);
            replaced.map_err(|why| refusal(&ask.job, why))
        })?;
        self.keeper.tell_lists(job, &[]);
        Ok(EngineSet {
            engine: engine.name,
            id: kept.map(|ack| ack.seq),
        })
    }
}

impl Desk {
    /// Whether this very request was carried out before.
    fn kept_before(&self, job: &str, key: &str) -> bool {
        // Opening the job would load an edit of the engine file.
        let entries = self.keeper.with_store(|store| {
            let read = store.reader().entries(job);
            read.map_err(|e| of_store(&e))
        });
        let under = |entries: Vec<_>| {
            entries
                .iter()
                .any(|e: &JournalEntry| e.key.as_deref() == Some(key))
        };
        entries.is_ok_and(under)
    }
}

/// Refuses an engine without the cylinder or the deck point of a reading that counts.
fn takes_readings(engine: &Engine, view: &JobView) -> Result<(), Refusal> {
    for reading in view.readings() {
        let counts = matches!(reading.state, ReadingState::Held | ReadingState::Final);
        let spot = reading.spot.parse::<Spot>().ok();
        let Some(spot) = spot.filter(|_| counts) else {
            continue;
        };
        engine.admit(&spot).map_err(|error| {
            Refusal::new(
                Reason::Conflict,
                format!("reading {}: {error}", reading.said_number()),
            )
            .expected("an engine that every reading of the job belongs to")
            .todo("void or move that reading first; the engine file is as it was")
        })?;
    }
    Ok(())
}

pub(super) fn refusal(job: &str, why: EngineKept) -> Refusal {
    match why {
        EngineKept::Job(error) => of_job(&error),
        EngineKept::Changed => Refusal::new(
            Reason::Conflict,
            format!("the engine file of {job} has changed since it was read here"),
        )
        .todo("nothing was replaced; look at it as it is now, and change that"),
        EngineKept::Edited => Refusal::new(
            Reason::Conflict,
            format!(
                "engine.toml of {job} was edited in its folder, and the edit is not loaded yet"
            ),
        )
        .todo(format!(
            "nothing was replaced; look at the edit: `benchhand job engine {job}`"
        )),
    }
}
