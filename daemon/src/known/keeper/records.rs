//! The journals of a shop's stations, as whoever carries lines between stations asks the keeper for
//! them: of jobs that are open and of those that are not.

use std::io::{Read, Seek};

use benchhand_wire::Refusal;

use super::Keeper;
use crate::known::refusals::{of_job, of_store};
use crate::store::Store;
use crate::store::archive::putting::UnpackedJob;
use crate::store::fact::ReadingId;
use crate::store::job::Job;
use crate::store::other_journals::JournalLine;
use crate::store::parting::PartedStation;
use crate::store::records::StationHead;
use crate::store::station::{JobId, StationCard, StationId};

impl Keeper {
    /// Makes the data folder a station of a shop, named to people by this letter. Its identity is
    /// drawn once and stays; jobs that are open are opened anew as a station's.
    ///
    /// # Errors
    /// Where another process holds the lock, or the disk refuses.
    pub fn join_shop(&self, letter: Option<&str>) -> Result<StationCard, Refusal> {
        let before = self.station()?;
        let joined = self.writing("joining a shop", |store| {
            store.join_shop(letter).map_err(|e| of_store(&e))
        })?;
        if before.as_ref() != Some(&joined) {
            self.close_open_jobs();
        }
        Ok(joined)
    }

    /// Which station the data folder is; `None` where it never joined a shop.
    ///
    /// # Errors
    /// Where the disk refuses, or what is kept of it is not understood.
    pub fn station(&self) -> Result<Option<StationCard>, Refusal> {
        self.with_store(|store| store.station().map_err(|e| of_store(&e)))
    }

    /// The ends of all journals of all jobs, own ones and others'.
    ///
    /// # Errors
    /// Where the data folder is no station, or the disk refuses.
    pub fn heads(&self) -> Result<Vec<StationHead>, Refusal> {
        self.with_store(|store| {
            let heads = store.heads(|name| self.kept_len(name));
            heads.map_err(|e| of_store(&e))
        })
    }

    /// How this station's own journal of a job ends; `None` where it has none.
    ///
    /// # Errors
    /// Where the data folder is no station, or the disk refuses.
    pub(crate) fn own_head(&self, name: &str) -> Result<Option<StationHead>, Refusal> {
        self.with_store(|store| {
            let head = store.own_head(name, self.kept_len(name));
            head.map_err(|e| of_store(&e))
        })
    }

    /// Lines of a journal after a number, at most so many, synced ones alone.
    ///
    /// # Errors
    /// Where the data folder is no station, there is no such job, or the disk refuses.
    pub fn lines(
        &self,
        job: &JobId,
        station: &StationId,
        after: u64,
        most: usize,
    ) -> Result<Vec<JournalLine>, Refusal> {
        self.with_store(|store| {
            let name = store.job_with(job).map_err(|e| of_store(&e))?;
            let kept = self.kept_len(&name);
            let lines = store.lines(job, station, (after, most), kept);
            lines.map_err(|e| of_store(&e))
        })
    }

    /// The identity of a job in the whole shop; `None` where no journal of it says it.
    ///
    /// # Errors
    /// Where the disk refuses.
    pub(crate) fn job_identity(&self, name: &str) -> Result<Option<JobId>, Refusal> {
        self.with_store(|store| {
            let folder = store.layout().job(name);
            let found = store.identity(&folder);
            found.map_err(|e| of_store(&e.into()))
        })
    }

    /// The name here of the job of that identity.
    ///
    /// # Errors
    /// Where there is none, or the disk refuses.
    pub(crate) fn job_with(&self, job: &JobId) -> Result<String, Refusal> {
        self.with_store(|store| store.job_with(job).map_err(|e| of_store(&e)))
    }

    /// Takes in lines of another station's journal: they are on the disk, and shown where the job is
    /// open, when this returns `Ok`. Lines that are there already are passed over. Returns the job's
    /// name here.
    ///
    /// # Errors
    /// Where the data folder is no station, the disk refuses, or a line does not follow on those
    /// that are there.
    pub fn take_in(
        &self,
        job: &JobId,
        station: &StationId,
        lines: &[JournalLine],
    ) -> Result<String, Refusal> {
        self.writing("lines of another station", |store| {
            let closed = || store.take_in(job, station, lines).map_err(|e| of_store(&e));
            let Ok(name) = store.job_with(job) else {
                let name = closed()?.name;
                self.tell_lists_whole(&name);
                return Ok(name);
            };
            let changed = self.with_either(&name, |open| match open {
                Some(open) => {
                    let changed = open.take_in(station, lines);
                    changed.map(Some).map_err(|e| of_job(&e))
                }
                None => closed().map(|_| None),
            })?;
            match changed {
                Some(changed) => self.tell_lists(&name, &changed),
                None => self.tell_lists_whole(&name),
            }
            Ok(name)
        })
    }

    /// Takes back this station's own later lines, after its data folder was restored from a backup.
    /// Returns the job's name here.
    ///
    /// # Errors
    /// As for [`Keeper::take_in`], and where the own journal has another line at one of the numbers.
    pub fn take_back(&self, job: &JobId, lines: &[JournalLine]) -> Result<String, Refusal> {
        self.writing("own lines that come back", |store| {
            // What is open does not know of them.
            self.close_open_jobs();
            let back = store.take_back(job, lines).map_err(|e| of_store(&e))?;
            self.tell_lists_whole(&back.name);
            Ok(back.name)
        })
    }

    /// Unpacks an archive. The data folder becomes a station where a job of several is unpacked.
    ///
    /// # Errors
    /// Where the archive is not whole and sound, its name is taken, or the disk refuses.
    pub(crate) fn unpack(
        &self,
        archive: &mut (impl Read + Seek),
        name: Option<&str>,
    ) -> Result<UnpackedJob, Refusal> {
        let before = self.station()?;
        let unpacked = self.writing("unpacking a job", |store| {
            store.unpack(archive, name).map_err(|e| of_store(&e))
        })?;
        if before != self.station()? {
            self.close_open_jobs();
        }
        Ok(unpacked)
    }

    /// Makes the data folder a new station, as another machine goes on as the one that it was. `shared`
    /// says for each job up to which line its own journal stays the old station's. Every job is closed
    /// meanwhile.
    ///
    /// # Errors
    /// Where a route runs here, an own journal is damaged, or the disk refuses.
    pub(crate) fn part_ways(&self, shared: &[(JobId, u64)]) -> Result<PartedStation, Refusal> {
        let part = |store: &Store| store.part_ways(shared).map_err(|e| of_store(&e));
        let Some(held) = &self.held else {
            return self.writing("becoming a new station", part);
        };
        let parted = held.jobs.with_none_open(|| part(&held.store))?;
        // Readings have other numbers now.
        for name in held.store.job_names().map_err(|e| of_store(&e))? {
            held.lists.read_anew(&name);
        }
        Ok(parted)
    }

    /// Whoever kept something in a job's journal has `told` called with the job's name, each time
    /// after it is on the disk. It must return at once.
    pub fn on_kept(&self, told: impl Fn(&str) + Send + Sync + 'static) {
        // One listener is enough; a second one is not heard of.
        let _ = self.told.set(Box::new(told));
    }

    pub(super) fn tell_kept(&self, job: &str) {
        if let Some(told) = self.told.get() {
            told(job);
        }
    }

    /// Tells the index of a job that is not open, whole.
    fn tell_lists_whole(&self, job: &str) {
        if let Some(held) = &self.held
            && let Ok((view, _)) = held.store.view(job)
        {
            let all: Vec<ReadingId> = view.readings().map(|reading| reading.id).collect();
            held.lists.changed(&view, &all);
        }
    }

    /// Works on a job that is open, or on what is on the disk of one that is not.
    fn with_either<T>(
        &self,
        name: &str,
        work: impl FnOnce(Option<&mut Job>) -> Result<T, Refusal>,
    ) -> Result<T, Refusal> {
        match &self.held {
            Some(held) => held.jobs.with_either(name, work),
            None => work(None),
        }
    }

    /// How many bytes of a job's own journal are kept, where it is open.
    fn kept_len(&self, name: &str) -> Option<u64> {
        let held = self.held.as_ref()?;
        held.jobs.if_open(name, Job::kept_len)
    }

    /// Closes every open job; the next who asks opens it anew.
    fn close_open_jobs(&self) {
        if let Some(held) = &self.held {
            held.jobs.close_all();
        }
    }
}
