//! What must hold of a seeded daemon once its evenings are over.

use std::path::Path;
use std::sync::Arc;

use serde_json::json;

use super::daemon::{DATA, SeededDaemon};
use crate::clock::Clock;
use crate::store::fact::{Fact, Reading, ReadingSource};
use crate::store::{Access, Store};
use benchhand_files::Files;

/// Holds the record against what was told, and takes it into the trace. Says what does not hold.
pub(super) fn hold(daemon: &mut SeededDaemon) -> Vec<String> {
    let mut wrong = Vec::new();
    // The disk works again; the power goes a last time.
    daemon.disks.files.set_full(false);
    daemon.dies();
    daemon.start();
    let store = store(daemon);
    let mut unknown = 0;
    for job in store.job_names().expect("the jobs") {
        let mut kept = Vec::new();
        for entry in store.entries(&job).expect("a journal that can be read") {
            if let Fact::Held(reading) | Fact::Revised(reading) | Fact::Final(reading) = entry.fact
            {
                kept.push((entry.seq, reading));
            }
        }
        for ((_, id), (value, _)) in daemon.known.told.iter().filter(|((j, _), _)| *j == job) {
            let same = |(seq, reading): &&(u64, Reading)| seq == id && reading.value == *value;
            if kept.iter().filter(same).count() != 1 {
                wrong.push(format!(
                    "{job}: reading {id} of {value} cc was told, and is not there"
                ));
            }
        }
        let told = |id: u64| daemon.known.told.contains_key(&(job.clone(), id));
        unknown += kept.iter().filter(|(id, _)| !told(*id)).count();
        for (id, reading) in &kept {
            // A value that was asked about has its samples in the line that it takes the place of.
            let shown = !reading.window.is_empty() || reading.supersedes.is_some();
            if reading.source == ReadingSource::Captured && !shown {
                wrong.push(format!("{job}: reading {id} has no samples"));
            }
        }
        // Opening sets aside what the power cut left, unless a fault that was drawn is still to come.
        let report = json!({ "job": job });
        let first = daemon.ask("jobs/report", report.clone());
        if let Err(refusal) = first.or_else(|_| daemon.ask("jobs/report", report)) {
            wrong.push(format!("{job}: no report: {refusal}"));
        }
        match store.verify(&job) {
            Ok(found) if found.torn_bytes == 0 && found.known_damage.is_empty() => {}
            other => wrong.push(format!("{job}: {other:?}")),
        }
        let (view, opening) = store.view(&job).expect("a job");
        if !opening.damage.is_empty() {
            wrong.push(format!("{job}: {opening:?}"));
        }
        let mut places: Vec<_> = view
            .readings()
            .filter(|one| one.state.is_live())
            .map(|one| (one.spot.clone(), one.round, one.id))
            .collect();
        places.sort();
        for pair in places.windows(2) {
            if (&pair[0].0, pair[0].1) == (&pair[1].0, pair[1].1) {
                wrong.push(format!("{job}: two readings count at one stop: {pair:?}"));
            }
        }
        let path = Path::new(DATA)
            .join("jobs")
            .join(&job)
            .join("journal.ndjson");
        let journal = daemon.disks.memory.read(&path).expect("a journal");
        daemon.traces(&journal);
    }
    if unknown > daemon.known.in_doubt {
        wrong.push(format!(
            "{unknown} readings are there of which nobody was told; {} writes were in doubt",
            daemon.known.in_doubt
        ));
    }
    wrong
}

fn store(daemon: &SeededDaemon) -> Store {
    let files = Arc::new(daemon.disks.memory.clone());
    let clock = Arc::clone(&daemon.clock) as Arc<dyn Clock>;
    Store::open(DATA, files, clock, Access::Read).expect("a folder that can be read")
}
