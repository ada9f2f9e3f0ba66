//! What a builder may rely on, proved on disks in memory and on the machine's own.

mod agreeing;
mod archives;
mod archives_refused;
mod archives_several;
mod backups;
mod crash;
mod cuts;
mod damage;
mod evidence;
mod folding;
mod frozen;
mod frozen_checks;
mod indexing;
mod joining;
mod keeping;
mod numbering;
mod office_views;
mod orders;
mod parting;
mod random;
mod register;
mod shop;
mod since;
mod stations;
mod stations_met;
mod together;
mod watching;

use std::path::Path;
use std::sync::Arc;

use crate::clock::HandClock;
use crate::store::fact::{
    CheckedGauge, Fact, PartsCut, Reading, ReadingId, ReadingSource, TrueCut, WithdrawnCut,
};

use crate::store::job::{Job, NewJob};
use crate::store::line::{FactText, decode, encode};
use crate::store::view::JobView;
use crate::store::{Access, Store};
use benchhand_files::Files;
use benchhand_testbed::disk::{FailingFiles, MemoryDisk};

const DATA: &str = "/data";
const ENGINE_TEXT: &str = "bore = \"4.030 in\"\n";

/// Each line of a journal that was written once is written today byte for byte.
#[track_caller]
fn is_written_again(journal: &str) {
    for line in journal.split_inclusive('\n') {
        let entry = decode(line.trim_end().as_bytes()).unwrap();
        let key = entry.key.as_deref();
        let text = FactText::of(&entry.fact).unwrap();
        let alone = (entry.seq, entry.at, &entry.beside);
        let again = encode(alone, key, None, &entry.prev, &text).unwrap();
        assert_eq!(String::from_utf8(again.bytes).unwrap(), line);
    }
}

/// A disk in memory, with one that fails on purpose before it.
struct TestDisks {
    disk: MemoryDisk,
    files: FailingFiles,
    clock: Arc<HandClock>,
}

impl TestDisks {
    fn new(seed: u64) -> Self {
        let disk = MemoryDisk::new();
        let files = FailingFiles::over(Arc::new(disk.clone()), seed);
        let start = "2026-03-02T09:00:00Z".parse().unwrap();
        Self {
            disk,
            files,
            clock: Arc::new(HandClock::new(start)),
        }
    }

    fn store(&self) -> Store {
        Store::open(
            DATA,
            Arc::new(self.files.clone()),
            self.clock.clone(),
            Access::write("test"),
        )
        .unwrap()
    }

    fn reader(&self) -> Store {
        Store::open(
            DATA,
            Arc::new(self.files.clone()),
            self.clock.clone(),
            Access::Read,
        )
        .unwrap()
    }

    fn read(&self, path: &str) -> String {
        String::from_utf8(self.disk.read(&Path::new(DATA).join(path)).unwrap()).unwrap()
    }
}

fn new_job(name: &str) -> NewJob {
    NewJob {
        name: name.to_owned(),
        engine: ENGINE_TEXT.to_owned(),
        ..NewJob::default()
    }
}

fn open_v8(store: &Store) -> Job {
    store.create_job(new_job("v8")).unwrap().0
}

fn reading(spot: &str, value: f64) -> Reading {
    Reading {
        gauge: Some("burette-1".into()),
        ..Reading::new(spot, value, "cc", ReadingSource::Captured)
    }
}

fn cut(stage: &str) -> Fact {
    Fact::Cut(PartsCut {
        stage: stage.into(),
        what: "both heads milled".into(),
        changes: vec!["chamber".into()],
        cylinders: Vec::new(),
        depths: Vec::new(),
    })
}

/// A cut is taken back, or `instead` was cut.
fn cut_withdrawn(view: &JobView, of: u64, instead: Option<&str>) -> Fact {
    Fact::CutWithdrawn(WithdrawnCut {
        of,
        instead: instead.map(|what| TrueCut {
            what: what.to_owned(),
            changes: vec!["chamber".into()],
            cylinders: Vec::new(),
            depths: Vec::new(),
        }),
        reason: "typed wrong".into(),
        measured: view.taken_in(of) as u64,
        by: None,
    })
}

fn check(gauge: &str, passed: bool) -> Fact {
    Fact::Check(CheckedGauge {
        gauge: gauge.into(),
        channel: 0,
        result: if passed { 0.0 } else { 0.03 },
        expected: None,
        unit: "mm".into(),
        passed: Some(passed),
        u: None,
        correction: None,
        against: "the flat plate".into(),
        scale: None,
        allow: None,
        points: Vec::new(),
    })
}

fn keep(job: &mut Job, fact: Fact) -> ReadingId {
    job.append(fact, None).unwrap().seq
}

fn live(job: &Job, stage: &str) -> Vec<(String, f64)> {
    job.view()
        .live(stage)
        .map(|reading| (reading.spot.clone(), reading.value))
        .collect()
}
