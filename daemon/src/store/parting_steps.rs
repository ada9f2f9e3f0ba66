//! The steps by which a data folder that parts comes to its end, each of which may be taken twice.

use std::path::{Path, PathBuf};

use benchhand_files::{FileError, Files};
use serde::{Deserialize, Serialize};

use crate::store::anchor::ANCHOR;
use crate::store::error::StoreError;
use crate::store::journal::JOURNAL;
use crate::store::layout::Layout;
use crate::store::name::check_name;
use crate::store::other_journals::{self, ENGINE_BASE, STATIONS};
use crate::store::station::{StationCard, StationId};

/// The file in the data folder that says that the folder parts.
pub(super) const PARTING: &str = "parting.json";

/// The folder in a job's folder with both parts of its journal.
pub(super) const PARTS: &str = "parting";
/// What the name of a journal as it was before the parting begins with; the old station follows.
pub(super) const PARTED: &str = "parted-";

/// Which station becomes which.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct PartingPlan {
    pub(super) old: StationId,
    pub(super) card: StationCard,
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
        let whole = dir.join(format!("{PARTED}{old}.txt"));
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
