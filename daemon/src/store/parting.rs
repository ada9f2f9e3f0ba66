//! A data folder whose station another machine goes on as becomes a new station.
//!
//! Two machines ran from copies of one data folder. What both share of each own journal stays the
//! old station's, whose journal the other machine goes on with; what stands behind it becomes the
//! new station's. First both parts of every journal are written beside it. Then a file in the data
//! folder says that the folder parts: from then on it is carried out to its end, if need be by the
//! next writer. Before, nothing has happened.

use std::collections::BTreeMap;
use std::path::Path;

use crate::store::Store;
use crate::store::anchor::Anchor;
use crate::store::engine_base::EngineBase;
use crate::store::error::StoreError;
use crate::store::job_error::JobError;
use crate::store::job_stations::job_of;
use crate::store::journal::{JOURNAL, JournalError};
use crate::store::other_journals::{ENGINE_BASE, STATIONS};
use crate::store::parting_lines::{PartingStations, parted};
use crate::store::parting_steps::{PARTING, PARTS, PartingPlan, finish};
use crate::store::scan::scan;
use crate::store::station::{JobId, StationCard, StationId};
use crate::store::station_fault::StationFault;

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
