//! A shop for tests: stations with disks of their own, between which lines are carried by hand.

use std::path::Path;
use std::sync::Arc;

use benchhand_files::Files;
use benchhand_testbed::disk::MemoryDisk;

use super::{DATA, TestDisks, new_job};
use crate::clock::{Clock, HandClock};
use crate::store::Store;
use crate::store::fact::{Fact, ReadingId};
use crate::store::job::Job;
use crate::store::other_journals::JournalLine;
use crate::store::station::{JobId, STATION, StationId};
use crate::store::view::JobView;

pub(super) struct TestStation {
    pub(super) id: StationId,
    pub(super) disks: TestDisks,
    pub(super) store: Store,
    job: Option<Job>,
}

/// Stations `A`, `B` … of which the first opened the job `v8`.
pub(super) struct TestShop {
    pub(super) stations: Vec<TestStation>,
    pub(super) job: JobId,
}

pub(super) fn station_id(n: usize) -> StationId {
    StationId(format!("{n:02x}").repeat(16))
}

fn copy(from: &MemoryDisk, to: &MemoryDisk, folder: &Path) {
    to.create_dir(folder).unwrap();
    for one in from.list(folder).unwrap() {
        let path = folder.join(&one.name);
        match one.is_dir {
            true => copy(from, to, &path),
            false => to.replace(&path, &from.read(&path).unwrap()).unwrap(),
        }
    }
}

impl TestStation {
    pub(super) fn new(n: usize) -> Self {
        let disks = TestDisks::new(n as u64);
        let letter = char::from(b'A' + n as u8);
        let card = format!(
            "{{\"station\":\"{}\",\"letter\":\"{letter}\"}}",
            station_id(n)
        );
        disks.disk.create_dir(Path::new(DATA)).unwrap();
        let path = Path::new(DATA).join(STATION);
        disks.disk.replace(&path, card.as_bytes()).unwrap();
        Self {
            id: station_id(n),
            store: disks.store(),
            disks,
            job: None,
        }
    }

    /// A second machine that runs from a copy of this one's data folder.
    pub(super) fn copied(&mut self) -> Self {
        self.close();
        let disks = TestDisks::new(77);
        copy(&self.disks.disk, &disks.disk, Path::new(DATA));
        let start = self.disks.clock.now_us();
        disks
            .clock
            .advance(start.saturating_sub(disks.clock.now_us()));
        Self {
            id: self.id.clone(),
            store: disks.store(),
            disks,
            job: None,
        }
    }

    pub(super) fn clock(&self) -> &Arc<HandClock> {
        &self.disks.clock
    }

    pub(super) fn job(&mut self) -> &mut Job {
        let store = &self.store;
        self.job.get_or_insert_with(|| store.job("v8").unwrap().0)
    }

    pub(super) fn close(&mut self) {
        self.job = None;
    }

    pub(super) fn view(&mut self) -> JobView {
        self.job().view().clone()
    }

    pub(super) fn keep(&mut self, fact: Fact) -> ReadingId {
        self.job().append(fact, None).unwrap().seq
    }

    /// What a station that asks would be sent.
    pub(super) fn lines(&self, shop: &JobId, of: &StationId, after: u64) -> Vec<JournalLine> {
        let part = (after, usize::MAX);
        self.store.lines(shop, of, part, None).unwrap()
    }

    pub(super) fn take_in(&mut self, shop: &JobId, of: &StationId, lines: &[JournalLine]) {
        match &mut self.job {
            Some(job) => drop(job.take_in(of, lines).unwrap()),
            None => drop(self.store.take_in(shop, of, lines).unwrap()),
        }
    }

    /// How many lines it holds of a station's journal.
    pub(super) fn holds(&self, shop: &JobId, of: &StationId) -> u64 {
        let lines = self.store.lines(shop, of, (0, usize::MAX), None);
        lines.map_or(0, |lines| lines.len() as u64)
    }
}

impl TestShop {
    /// A shop of so many stations, all of which have the job.
    pub(super) fn new(stations: usize) -> Self {
        let mut stations: Vec<_> = (0..stations).map(TestStation::new).collect();
        let (job, _) = stations[0].store.create_job(new_job("v8")).unwrap();
        stations[0].job = Some(job);
        let dir = stations[0].store.layout().job("v8");
        let job = stations[0].store.identity(&dir).unwrap().unwrap();
        let mut shop = Self { stations, job };
        for to in 1..shop.stations.len() {
            shop.carry(0, to, 0, u64::MAX);
        }
        shop
    }

    /// Carries lines of the journal of `of` that `from` holds to `to`, up to line `until`.
    pub(super) fn carry(&mut self, from: usize, to: usize, of: usize, until: u64) {
        if to == of || from == to {
            return;
        }
        let of = self.stations[of].id.clone();
        let held = self.stations[to].holds(&self.job, &of);
        let mut lines = self.stations[from].lines(&self.job, &of, held);
        lines.retain(|line| line.number <= until);
        // The journal that opens the job comes first.
        if !lines.is_empty() {
            self.stations[to].take_in(&self.job, &of, &lines);
        }
    }

    /// Carries everything to everybody.
    pub(super) fn carry_all(&mut self) {
        let all = 0..self.stations.len();
        for of in all.clone() {
            for to in all.clone() {
                self.carry(of, to, of, u64::MAX);
            }
        }
    }
}

/// All that a view says, the same whichever station's it is.
pub(super) fn told(view: &JobView) -> String {
    let readings: Vec<_> = view.readings().collect();
    let parts: Vec<_> = view.parts().filter(|part| !part.is_unused()).collect();
    let whole = (view.name(), view.title(), view.opened(), view.head());
    let rest = (&view.inputs, view.stages(), &view.fitted, &view.merge);
    let rest = (rest, view.orders(), view.opened_stages());
    format!("{whole:#?}\n{rest:#?}\n{parts:#?}\n{readings:#?}")
}
