//! A data folder whose station another machine goes on as becomes a new station.
//!
//! Two machines ran from copies of one data folder. What both share of each own journal stays the
//! old station's, whose journal the other machine goes on with; what stands behind it becomes the
//! new station's. First both parts of every journal are written beside it. Then a file in the data
//! folder says that the folder parts: from then on it is carried out to its end, if need be by the
//! next writer. Before, nothing has happened.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use benchhand_files::{FileError, Files};
use serde::{Deserialize, Serialize};

use crate::store::Store;
use crate::store::anchor::{ANCHOR, Anchor};
use crate::store::engine_base::EngineBase;
use crate::store::error::StoreError;
use crate::store::job_error::JobError;
use crate::store::job_stations::job_of;
use crate::store::journal::{JOURNAL, JournalError};
use crate::store::layout::Layout;
use crate::store::name::check_name;
use crate::store::other_journals::{self, ENGINE_BASE, STATIONS};
use crate::store::parting_lines::{PartingStations, parted};
use crate::store::scan::scan;
use crate::store::station::{JobId, StationCard, StationId};
use crate::store::station_fault::StationFault;

/// The file in the data folder that says that the folder parts.
const PARTING: &str = "parting.json";

/// The folder in a job's folder with both parts of its journal.
const PARTS: &str = "parting";

/// A data folder that became a new station.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PartedStation {
    /// Which it was.
    pub old: StationId,
    /// Which it is.
    pub new: StationId,
    /// The jobs of which lines went over to the new station, each with the last line that stays the
    /// old one's and how many went over.
    pub jobs: Vec<(String, u64, u64)>,
}

/// Which station becomes which.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct PartingPlan {
    old: StationId,
    card: StationCard,
}

impl Store {
    /// Makes the data folder a new station. `shared` says for each job up to which line the shop
    /// holds this station's own journal; what stands behind it becomes the new station's. No job may
    /// be open.
    ///
    /// # Errors
    /// When the data folder is no station, an own journal is damaged, or the disk refuses. Then
    /// nothing has happened, or the next writer carries it out.
    pub fn part_ways(&self, shared: &[(JobId, u64)]) -> Result<PartedStation, StoreError> {
        self.may_write()?;
        let (files, layout) = (&**self.files(), self.layout());
        let _making = self.making();
        // An earlier attempt may have got half way.
        if let Some(PartingPlan { old, card }) = finish(files, layout)? {
            let (new, jobs) = (card.station, Vec::new());
            return Ok(PartedStation { old, new, jobs });
        }
        let card = self.station()?;
        let no_station = || JobError::from(StationFault::NoStation);
        let card = card.ok_or_else(no_station)?;
        let new = StationCard::drawn(layout.root())?;
        let shared: BTreeMap<&JobId, u64> = shared.iter().map(|(job, to)| (job, *to)).collect();
        let stations = PartingStations {
            old: &card.station,
            new: &new,
        };
        let mut jobs = Vec::new();
        for name in self.job_names()? {
            let dir = layout.job(&name);
            if let Some((to, carried)) = self.prepare(&dir, &shared, stations)?
                && carried > 0
            {
                jobs.push((name, to, carried));
            }
        }
        let old = card.station.clone();
        let plan = PartingPlan {
            card: card.becoming(new.clone()),
            old: old.clone(),
        };
        let text = serde_json::json!(plan).to_string();
        files.replace(&layout.root().join(PARTING), text.as_bytes())?;
        finish(files, layout)?;
        Ok(PartedStation { old, new, jobs })
    }

    /// Writes both parts of a job's own journal beside it. Returns the last line of the first part,
    /// and how many lines went over to the second; `None` where there is no own journal.
    fn prepare(
        &self,
        dir: &Path,
        shared: &BTreeMap<&JobId, u64>,
        stations: PartingStations<'_>,
    ) -> Result<Option<(u64, u64)>, StoreError> {
        let (files, path) = (&**self.files(), dir.join(JOURNAL));
        let mut bytes = match files.read(&path) {
            Err(error) if error.is_missing() => return Ok(None),
            other => other?,
        };
        let anchor = Anchor::read(files, dir);
        let found = scan(&path, &bytes, anchor.as_ref(), |_| Ok(()));
        if let Some(fault) = found.record {
            return Err(JournalError::from(fault).into());
        }
        if let Some(damage) = found.damage.into_iter().next() {
            return Err(JournalError::Damaged(Box::new(damage)).into());
        }
        bytes.truncate(usize::try_from(found.sound_len).unwrap_or(usize::MAX));
        let Some(job) = job_of(&bytes) else {
            return Ok(None);
        };
        let after = shared.get(&job).copied().unwrap_or(0);
        let after = after.min(found.lines as u64);
        let parts = parted(&bytes, after, stations, &job, self.clock.now_utc());
        let parts = parts.map_err(JournalError::from)?;
        let folder = dir.join(PARTS);
        files.remove(&folder)?;
        files.create_dir(&folder)?;
        files.replace(&folder.join(JOURNAL), &parts.journal)?;
        if let Some(first) = bytes.get(..parts.shared).filter(|first| !first.is_empty()) {
            files.replace(&folder.join(STATIONS), first)?;
        }
        if let Some(base) = EngineBase::read(files, dir) {
            let base = base.moved(|seq| parts.moved(seq, stations.old));
            base.write_to(files, &folder.join(ENGINE_BASE))?;
        }
        files.sync_dir(&folder)?;
        files.sync_dir(dir)?;
        Ok(Some((after, parts.carried)))
    }
}

/// Carries out to its end what a folder that parts has begun, and removes what one that did not come
/// so far left. Returns what was carried out.
///
/// # Errors
/// When the disk refuses, or the file that says that the folder parts says nothing that is
/// understood.
pub(super) fn finish(
    files: &dyn Files,
    layout: &Layout,
) -> Result<Option<PartingPlan>, StoreError> {
    let said = layout.root().join(PARTING);
    let plan: Option<PartingPlan> = match files.read(&said) {
        Err(error) if error.is_missing() => None,
        other => {
            let bad = |why: serde_json::Error| FileError::new("read", &said, why.into());
            Some(serde_json::from_slice(&other?).map_err(bad)?)
        }
    };
    for dir in folders(files, layout)? {
        match &plan {
            Some(plan) => put_in_place(files, &dir, &plan.old)?,
            None => files.remove(&dir.join(PARTS))?,
        }
    }
    if let Some(plan) = &plan {
        let there = StationCard::read(files, layout.root())?;
        if there.is_none_or(|card| card.station != plan.card.station) {
            plan.card.write(files, layout.root())?;
        }
        files.remove(&said)?;
        files.sync_dir(layout.root())?;
    }
    Ok(plan)
}

/// The folders of jobs in which both parts of a journal lie.
fn folders(files: &dyn Files, layout: &Layout) -> Result<Vec<PathBuf>, FileError> {
    let listed = files.list(&layout.jobs())?;
    let jobs = listed.into_iter().filter(|one| one.is_dir);
    let jobs = jobs.filter(|one| check_name("job", &one.name).is_ok());
    let folders = jobs.map(|one| layout.job(&one.name));
    Ok(folders
        .filter(|dir| files.list(&dir.join(PARTS)).is_ok())
        .collect())
}

/// Puts both parts of a job's journal in its place. The old journal stays beside them, whole.
fn put_in_place(files: &dyn Files, dir: &Path, old: &StationId) -> Result<(), FileError> {
    let (parts, own) = (dir.join(PARTS), dir.join(JOURNAL));
    let is_there = |path: &Path| files.len(path).is_ok();
    if is_there(&parts.join(JOURNAL)) {
        // It names a line of the journal that goes.
        files.remove(&dir.join(ANCHOR))?;
        let whole = dir.join(format!("parted-{old}.txt"));
        if is_there(&own) && !is_there(&whole) {
            files.rename(&own, &whole)?;
        }
        files.rename(&parts.join(JOURNAL), &own)?;
    }
    if is_there(&parts.join(STATIONS)) {
        files.create_dir(&dir.join(STATIONS))?;
        files.rename(&parts.join(STATIONS), &other_journals::path(dir, old))?;
    }
    if is_there(&parts.join(ENGINE_BASE)) {
        files.remove(&dir.join(ENGINE_BASE))?;
        files.rename(&parts.join(ENGINE_BASE), &dir.join(ENGINE_BASE))?;
    }
    files.remove(&parts)?;
    files.sync_dir(dir)
}
