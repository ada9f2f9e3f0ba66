//! How an open job takes in what other stations wrote.

use std::path::PathBuf;
use std::sync::Arc;

use crate::store::fact::ReadingId;
use crate::store::held_journal::StationInJob;
use crate::store::job::Job;
use crate::store::job_error::JobError;
use crate::store::job_stations::{job_of, name_of, take_all};
use crate::store::journal_places::JournalPlaces;
use crate::store::line;
use crate::store::line_envelope::envelope;
use crate::store::other_journals::{self, JournalLine};
use crate::store::station::StationId;
use crate::store::station_fault::StationFault;
use crate::store::taking_lines::append;
use crate::store::union::Union;
use crate::store::view::{JobView, KeptReading};

impl Job {
    /// Lets the job know where the lines of journals stand, as the store does.
    pub(super) fn know_places(&mut self, places: &Arc<JournalPlaces>) {
        self.places = Arc::clone(places);
    }

    /// How many bytes of the own journal are kept for good.
    #[must_use]
    pub fn kept_len(&self) -> u64 {
        self.line.kept_len
    }

    /// What is to be said of each station's journal of this job; nothing where one station alone has
    /// one.
    #[must_use]
    pub fn stations(&self) -> Vec<StationInJob> {
        let union = self.stations.as_ref().and_then(|s| s.union.as_ref());
        let now = self.clock.now_utc();
        union.map_or_else(Vec::new, |union| union.standing(now))
    }

    /// Takes in lines of another station: they are on the disk and part of the view when this
    /// returns `Ok`. Lines that are there already are passed over. Returns the readings that changed.
    ///
    /// # Errors
    /// When the disk refuses, or a line does not follow on those that are there.
    pub fn take_in(
        &mut self,
        station: &StationId,
        lines: &[JournalLine],
    ) -> Result<Vec<ReadingId>, JobError> {
        self.write_line()?;
        let Some(stations) = &mut self.stations else {
            return Err(StationFault::NoStation.into());
        };
        if *station == stations.card.station {
            let station = station.clone();
            return Err(StationFault::Own { station }.into());
        }
        let (files, dir): (_, PathBuf) = (Arc::clone(&self.files), self.dir.clone());
        let own = match &stations.union {
            Some(_) => Vec::new(),
            None => self.line.kept_bytes(&*files)?,
        };
        let job = match &stations.union {
            Some(union) => Some(union.job().clone()),
            None => job_of(&own),
        };
        let job = job.ok_or(StationFault::NoStation)?;
        let new = append(&*files, &self.places, &dir, (&job, station), lines)??;
        let now = self.clock.now_utc();
        match &mut stations.union {
            Some(union) => take_new(union, station, new),
            None if new.is_empty() => return Ok(Vec::new()),
            none => {
                let card = &stations.card.station;
                let mut union = Union::new(job, card.clone(), &name_of(&dir));
                take_all(&mut union, card, &own);
                for (station, bytes) in other_journals::read_all(&*files, &dir)? {
                    take_all(&mut union, &station, &bytes);
                }
                *none = Some(union);
            }
        }
        let before = self.view.engine().map(|engine| engine.hash.clone());
        let mut changed = Vec::new();
        if let Some(view) = stations.fold()? {
            stations.follow_stamps(now);
            self.keys.base = stations.base();
            self.line.kept = view.clone();
            let union = stations.union.as_mut();
            let touched = union.and_then(Union::take_touched);
            changed = touched.unwrap_or_else(|| changed_readings(&self.view, &view));
            self.view = view;
        }
        self.follow_engine(before.as_deref())?;
        Ok(changed)
    }
}

/// The readings of a view that are not as they were.
fn changed_readings(before: &JobView, now: &JobView) -> Vec<ReadingId> {
    let changed = |one: &&KeptReading| before.reading(one.id) != Some(*one);
    now.readings().filter(changed).map(|one| one.id).collect()
}

/// Takes in lines that were held against those before them.
fn take_new(union: &mut Union, station: &StationId, new: &[JournalLine]) {
    for one in new {
        let text = one.text.as_bytes();
        match line::decode(text) {
            Ok(entry) => union.take(station, entry),
            Err(_) => {
                let seq = envelope(text).map_or(0, |envelope| envelope.seq);
                union.pass_over(station, seq, &one.hash);
            }
        }
    }
}
