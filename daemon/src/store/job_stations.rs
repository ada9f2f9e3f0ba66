//! A job of which several stations hold a journal: what stands beside a fact in this station's own,
//! and what those of the others add to the view.
//!
//! Where the data folder is no station, or no other one has a journal of the job, the job is folded
//! from its own journal alone, as it always was.

use std::path::Path;
use std::sync::Arc;

use benchhand_files::Files;
use jiff::Timestamp;

use crate::clock::Clock;
use crate::store::fact::{Fact, JoinedStation};
use crate::store::followed::FollowedFact;
use crate::store::held_journal::{micros, stamp_after};
use crate::store::job_error::JobError;
use crate::store::journal::{JOURNAL, Journal, JournalError, NewLine};
use crate::store::keys::Keys;
use crate::store::line::{self, Beside, FactText, JournalEntry};
use crate::store::other_journals::{self, sound_lines};
use crate::store::scan::lines as lines_of;
use crate::store::station::{FactRef, JobId, StationCard, StationId};
use crate::store::station_fault::StationFault;
use crate::store::union::Union;
use crate::store::view::JobView;

/// What a job knows of its station and of the others.
#[derive(Debug)]
pub(crate) struct JobStations {
    pub(super) card: StationCard,
    /// The last stamp that advances this station's.
    stamp: u64,
    /// The station and the letter that the own journal last named itself by.
    pub(super) joined: Option<JoinedStation>,
    /// On what the next fact rests, where that is not what this station knows last.
    pub(super) next_on: Option<FactRef>,
    /// `None` where no other station has a journal of this job.
    pub(super) union: Option<Union>,
}

/// Which station the data folder is that a job's folder lies in.
pub(crate) fn card_of(files: &dyn Files, dir: &Path) -> Result<Option<StationCard>, JobError> {
    match dir.parent().and_then(Path::parent) {
        Some(root) => Ok(StationCard::read(files, root)?),
        None => Ok(None),
    }
}

/// The identity of the job that a journal belongs to, by its first line.
pub(crate) fn job_of(journal: &[u8]) -> Option<JobId> {
    let entry = line::decode(lines_of(journal).next()?).ok()?;
    match entry.fact {
        Fact::Opened(_) => Some(JobId(entry.hash)),
        Fact::Joined(joined) => Some(joined.job),
        _ => None,
    }
}

/// The job's name at this station: its folder's.
pub(super) fn name_of(dir: &Path) -> String {
    let name = dir.file_name().map(|name| name.to_string_lossy());
    name.unwrap_or_default().into_owned()
}

impl JobStations {
    /// What is known before this station's own journal is read; `None` where the data folder is no
    /// station.
    ///
    /// # Errors
    /// When the disk refuses.
    pub(crate) fn find(files: &dyn Files, dir: &Path) -> Result<Option<Self>, JobError> {
        Self::found(files, dir, |union| union)
    }

    /// The same with the samples of the readings' windows, to be followed.
    ///
    /// # Errors
    /// When the disk refuses.
    pub(crate) fn find_with_samples(
        files: &dyn Files,
        dir: &Path,
    ) -> Result<Option<Self>, JobError> {
        Self::found(files, dir, Union::with_samples)
    }

    fn found(
        files: &dyn Files,
        dir: &Path,
        kept: impl FnOnce(Union) -> Union,
    ) -> Result<Option<Self>, JobError> {
        let Some(card) = card_of(files, dir)? else {
            return Ok(None);
        };
        let others = other_journals::read_all(files, dir)?;
        let own = match files.read(&dir.join(JOURNAL)) {
            Err(error) if error.is_missing() => Vec::new(),
            other => other?,
        };
        let mut journals = others.iter().map(|(_, bytes)| bytes).chain([&own]);
        let job = journals.find_map(|journal| job_of(journal));
        let union = job.filter(|_| !others.is_empty()).map(|job| {
            let mut union = kept(Union::new(job, card.station.clone(), &name_of(dir)));
            for (station, bytes) in &others {
                take_all(&mut union, station, bytes);
            }
            union
        });
        Ok(Some(Self {
            card,
            stamp: 0,
            joined: None,
            next_on: None,
            union,
        }))
    }

    /// Begins the own journal of a job that began elsewhere, where there is none yet.
    ///
    /// # Errors
    /// When the disk refuses.
    pub(crate) fn begin_own(
        &mut self,
        files: &Arc<dyn Files>,
        clock: &Arc<dyn Clock>,
        dir: &Path,
    ) -> Result<(), JobError> {
        let path = dir.join(JOURNAL);
        let missing = matches!(files.len(&path), Err(error) if error.is_missing());
        let Some(union) = self.union.as_mut().filter(|_| missing) else {
            return Ok(());
        };
        union.fold();
        let now = clock.now_utc();
        let fact = Fact::Joined(JoinedStation {
            job: union.job().clone(),
            station: self.card.station.clone(),
            letter: self.card.letter.clone(),
            parted: None,
        });
        let text = FactText::of(&fact).map_err(JournalError::from)?;
        let stamp = micros(now).max(union.last_stamp(now) + 1);
        // Under another name first: a journal without its first line would be damaged.
        let begun = dir.join(BEGUN);
        files.remove(&begun)?;
        let mut journal = Journal::create(Arc::clone(files), &begun)?;
        journal.append(&[NewLine {
            at: now,
            beside: Beside {
                stamp: Some(stamp),
                on: None,
            },
            key: None,
            text,
            numbers: 1,
        }])?;
        drop(journal);
        Ok(files.rename(&begun, &path)?)
    }

    /// Takes in an entry of the own journal; hands it back where it is to be folded by itself.
    pub(crate) fn take_own(&mut self, entry: JournalEntry) -> Option<JournalEntry> {
        if let Fact::Joined(joined) = &entry.fact {
            self.joined = Some(joined.clone());
        }
        self.stamp = stamp_after(self.stamp, entry.beside.stamp, entry.at);
        match &mut self.union {
            Some(union) => {
                let own = union.own().clone();
                union.take(&own, entry);
                None
            }
            None => Some(entry),
        }
    }

    /// Folds all journals, where there are several; returns the view.
    ///
    /// # Errors
    /// Where the own journal names another station: somebody else wrote it.
    pub(crate) fn fold(&mut self) -> Result<Option<JobView>, JobError> {
        if let Some(joined) = &self.joined
            && joined.station != self.card.station
        {
            let station = joined.station.clone();
            return Err(StationFault::OtherStation { station }.into());
        }
        let Some(union) = &mut self.union else {
            return Ok(None);
        };
        union.fold();
        Ok(Some(union.view().clone()))
    }

    /// Calls `each` with every fact that was folded, in order, and with the job as it stands with it.
    ///
    /// # Errors
    /// As `each`.
    pub(crate) fn follow<E>(
        &self,
        each: impl FnMut(&JobView, FollowedFact<'_>) -> Result<(), E>,
    ) -> Result<(), E> {
        self.union
            .as_ref()
            .map_or(Ok(()), |union| union.follow(each))
    }

    /// Lets what the others said advance this station's stamps, as far as it is not ahead of its
    /// clock.
    pub(crate) fn follow_stamps(&mut self, now: Timestamp) {
        let last = self.union.as_ref().map_or(0, |union| union.last_stamp(now));
        self.stamp = self.stamp.max(last);
    }

    /// Notes the keys of the requests that this station kept while it was another one, so that a
    /// repeated one is not kept twice.
    ///
    /// # Errors
    /// When the disk refuses.
    pub(crate) fn keys_from_before(
        &self,
        files: &dyn Files,
        dir: &Path,
        keys: &mut Keys,
    ) -> Result<(), JobError> {
        for was in &self.card.was {
            let Some(base) = self.union.as_ref().and_then(|union| union.base_of(was)) else {
                continue;
            };
            let bytes = files.read(&other_journals::path(dir, was))?;
            for entry in sound_lines(&bytes).filter_map(|(text, _)| line::decode(text).ok()) {
                keys.note_before(base, &entry);
            }
        }
        Ok(())
    }

    /// Whether other stations have journals of the job.
    pub(crate) fn has_others(&self) -> bool {
        self.union.is_some()
    }

    /// The number before this station's first one in the view.
    pub(crate) fn base(&self) -> u64 {
        self.union.as_ref().map_or(0, Union::base)
    }

    pub(super) fn next_stamp(&mut self, now: Timestamp) -> u64 {
        self.stamp = micros(now).max(self.stamp + 1);
        self.stamp
    }
}

/// The own journal's name before it has its first line.
const BEGUN: &str = "journal.begun";

/// Takes in all sound lines of another station's journal.
pub(crate) fn take_all(union: &mut Union, station: &StationId, bytes: &[u8]) {
    for (text, envelope) in sound_lines(bytes) {
        match line::decode(text) {
            Ok(entry) => union.take(station, entry),
            Err(_) => union.pass_over(station, envelope.seq, envelope.hash),
        }
    }
}
