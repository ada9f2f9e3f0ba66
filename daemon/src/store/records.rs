//! The journals of all jobs and stations, line by line, for whoever carries them between stations.
//!
//! Lines go out as they stand and come in as they are; how they travel is not known here.

use std::path::{Path, PathBuf};

use benchhand_files::FileError;

use crate::store::Store;
use crate::store::error::StoreError;
use crate::store::fact::{Fact, InputKind};
use crate::store::job::{ENGINE, JobError, STREAMS, unfinished};
use crate::store::job_stations::job_of;
use crate::store::journal::JOURNAL;
use crate::store::line;
use crate::store::name::check_name;
use crate::store::other_journals::{self, JournalLine};
use crate::store::station::{JobId, StationCard, StationId};
use crate::store::station_fault::StationFault;
use crate::store::taking_lines::{append, hash_at};

/// How a journal ends.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StationHead {
    /// The job.
    pub job: JobId,
    /// The station whose journal it is.
    pub station: StationId,
    /// How many lines it has, at least 1.
    pub number: u64,
    /// The hash of the last one, in hexadecimal.
    pub hash: String,
}

/// What came of lines that were taken in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakenIn {
    /// The job's name here.
    pub name: String,
    /// Whether the job was not here before.
    pub is_new: bool,
}

impl Store {
    /// Makes the data folder a station of a shop, named to people by this letter. A station stays
    /// the one that it is.
    ///
    /// # Errors
    /// When the disk refuses, or the store was opened for reading.
    pub fn join_shop(&self, letter: Option<&str>) -> Result<StationCard, StoreError> {
        self.may_write()?;
        let root = self.layout().root();
        Ok(StationCard::join(&**self.files(), root, letter)?)
    }

    /// Which station the data folder is; `None` where it never joined a shop.
    ///
    /// # Errors
    /// When the disk refuses, or the file that says so says nothing that is understood.
    pub fn station(&self) -> Result<Option<StationCard>, StoreError> {
        Ok(StationCard::read(&**self.files(), self.layout().root())?)
    }

    fn card(&self) -> Result<StationCard, StoreError> {
        let card = self.station()?;
        card.ok_or_else(|| JobError::from(StationFault::NoStation).into())
    }

    /// The ends of all journals of all jobs, own ones and others'. Jobs whose own journal cannot be
    /// read are left out; the list of the jobs names them. `kept` tells for each job how many bytes of
    /// the own journal are kept, where the job is open for writing.
    ///
    /// # Errors
    /// When the data folder is no station, or the disk refuses.
    pub fn heads(
        &self,
        kept: impl Fn(&str) -> Option<u64>,
    ) -> Result<Vec<StationHead>, StoreError> {
        let card = self.card()?;
        let (files, places) = (&**self.files(), &self.places);
        let mut heads = Vec::new();
        for name in self.job_names()? {
            let dir = self.layout().job(&name);
            let mut journals = Vec::new();
            for station in other_journals::stations(files, &dir)? {
                let path = other_journals::path(&dir, &station);
                // Each line of it was synced when it came.
                journals.push((station, places.end(files, &path, Some(u64::MAX))?));
            }
            let own = places.end(files, &dir.join(JOURNAL), kept(&name))?;
            journals.push((card.station.clone(), own));
            let Some(job) = journals.iter().find_map(|(_, end)| end.job.clone()) else {
                continue;
            };
            let sound = journals.into_iter().filter(|(_, end)| end.number > 0);
            heads.extend(sound.map(|(station, end)| StationHead {
                job: job.clone(),
                station,
                number: end.number,
                hash: end.hash,
            }));
        }
        Ok(heads)
    }

    /// Lines of a journal after a number, at most so many; synced ones alone. Empty where there are
    /// none. `kept` is how many bytes of the own journal are kept, where the job is open for writing.
    ///
    /// # Errors
    /// When the data folder is no station, there is no such job, or the disk refuses.
    pub fn lines(
        &self,
        job: &JobId,
        station: &StationId,
        (after, most): (u64, usize),
        kept: Option<u64>,
    ) -> Result<Vec<JournalLine>, StoreError> {
        let card = self.card()?;
        let dir = self.layout().job(&self.job_with(job)?);
        let (path, kept) = match *station == card.station {
            true => (dir.join(JOURNAL), kept),
            false => (other_journals::path(&dir, station), Some(u64::MAX)),
        };
        let lines = self
            .places
            .lines(&**self.files(), &path, kept, (after, most));
        Ok(lines?)
    }

    /// How the own journal of a job ends; `None` where it has none. `kept` is its length in bytes as
    /// far as it is acknowledged, where the job is open.
    ///
    /// # Errors
    /// When the data folder is no station, or the disk refuses.
    pub fn own_head(
        &self,
        name: &str,
        kept: Option<u64>,
    ) -> Result<Option<StationHead>, StoreError> {
        let station = self.card()?.station;
        let path = self.layout().job(name).join(JOURNAL);
        let end = self.places.end(&**self.files(), &path, kept)?;
        let (number, hash) = (end.number, end.hash);
        Ok(end.job.filter(|_| number > 0).map(|job| StationHead {
            job,
            station,
            number,
            hash,
        }))
    }

    /// The name here of the job with this identity.
    ///
    /// # Errors
    /// When there is none, or the disk refuses.
    pub fn job_with(&self, job: &JobId) -> Result<String, StoreError> {
        if !job.is_sound() {
            return Err(JobError::from(StationFault::BadIdentity(job.0.clone())).into());
        }
        if let Some(name) = self.known_job(job) {
            return Ok(name);
        }
        for name in self.job_names()? {
            let dir = self.layout().job(&name);
            let found = self.identity(&dir)?;
            if let Some(found) = found {
                self.note_job(found, &name);
            }
        }
        self.known_job(job)
            .ok_or_else(|| JobError::from(StationFault::NoJob(job.clone())).into())
    }

    /// The identity of the job in a folder; `None` where no journal there says it.
    ///
    /// # Errors
    /// When the disk refuses.
    pub(crate) fn identity(&self, dir: &Path) -> Result<Option<JobId>, FileError> {
        let files = &**self.files();
        match files.read(&dir.join(JOURNAL)) {
            Err(error) if error.is_missing() => {}
            other => {
                if let Some(job) = job_of(&other?) {
                    return Ok(Some(job));
                }
            }
        }
        let others = other_journals::read_all(files, dir)?;
        Ok(others.iter().find_map(|(_, bytes)| job_of(bytes)))
    }

    /// Takes in lines of another station's journal of a job that is not open: they are on the disk
    /// when this returns `Ok`. Lines that are there already are passed over. The first lines of a
    /// job that is not here are those of the journal that opens it.
    ///
    /// # Errors
    /// When the data folder is no station, the disk refuses, or a line does not follow on those that
    /// are there.
    pub fn take_in(
        &self,
        job: &JobId,
        station: &StationId,
        lines: &[JournalLine],
    ) -> Result<TakenIn, StoreError> {
        self.may_write()?;
        let card = self.card()?;
        let refuse = |fault: StationFault| -> StoreError { JobError::from(fault).into() };
        if !station.is_sound() {
            return Err(refuse(StationFault::BadIdentity(station.0.clone())));
        }
        if *station == card.station {
            let station = station.clone();
            return Err(refuse(StationFault::Own { station }));
        }
        let _making = self.making();
        match self.job_with(job) {
            Ok(name) => {
                let dir = self.layout().job(&name);
                let (files, journal) = (&**self.files(), (job, station));
                append(files, &self.places, &dir, journal, lines)?.map_err(refuse)?;
                Ok(TakenIn {
                    name,
                    is_new: false,
                })
            }
            Err(StoreError::Job(JobError::Station(StationFault::NoJob(_)))) => {
                let name = self.take_up(job, station, lines)?;
                Ok(TakenIn { name, is_new: true })
            }
            Err(error) => Err(error),
        }
    }

    /// Makes the folder of a job that began at another station, whole or not at all.
    fn take_up(
        &self,
        job: &JobId,
        station: &StationId,
        lines: &[JournalLine],
    ) -> Result<String, StoreError> {
        let refuse = |fault: StationFault| -> StoreError { JobError::from(fault).into() };
        let not_opened = || refuse(StationFault::NotOpened(job.clone()));
        let first = lines.first().ok_or_else(not_opened)?;
        let Ok(Fact::Opened(opened)) = line::decode(first.text.as_bytes()).map(|one| one.fact)
        else {
            return Err(not_opened());
        };
        check_name("job", &opened.job)?;
        let name = self.free_name(&opened.job, job)?;
        let (files, dir) = (&**self.files(), self.layout().job(&name));
        let made: PathBuf = unfinished(&dir, &name);
        files.remove(&made)?;
        files.create_dir(&made.join(STREAMS))?;
        append(files, &self.places, &made, (job, station), lines)?.map_err(refuse)?;
        let engine = lines.iter().find_map(|line| {
            match line::decode(line.text.as_bytes()).map(|one| one.fact) {
                Ok(Fact::Input(input)) if input.kind == InputKind::Engine => Some(input.content),
                _ => None,
            }
        });
        if let Some(engine) = engine {
            files.replace(&made.join(ENGINE), engine.as_bytes())?;
        }
        files.sync_dir(&made)?;
        files.rename(&made, &dir)?;
        self.note_job(job.clone(), &name);
        Ok(name)
    }

    /// The job's own name where it is free here; else with the beginning of its identity.
    fn free_name(&self, name: &str, job: &JobId) -> Result<String, StoreError> {
        if self.free(name).is_ok() {
            return Ok(name.to_owned());
        }
        let digits: String = job.0.chars().take(6).collect();
        let room = name.get(..name.len().min(57)).unwrap_or(name);
        let other = format!("{room}-{digits}");
        check_name("job", &other)?;
        self.free(&other)?;
        Ok(other)
    }

    /// Takes back this station's own later lines of a job that is not open, after its data folder
    /// was restored from a backup: they are on the disk when this returns `Ok`.
    ///
    /// # Errors
    /// As for [`Store::take_in`], and where the own journal has another line at one of the numbers.
    pub fn take_back(&self, job: &JobId, lines: &[JournalLine]) -> Result<TakenIn, StoreError> {
        self.may_write()?;
        let card = self.card()?;
        let _making = self.making();
        let refuse = |fault: StationFault| -> StoreError { JobError::from(fault).into() };
        let (name, is_new) = match self.job_with(job) {
            Ok(name) => (name, false),
            Err(StoreError::Job(JobError::Station(StationFault::NoJob(_)))) => {
                let name = self.take_up(job, &card.station, lines)?;
                let dir = self.layout().job(&name);
                let files = &**self.files();
                let came = other_journals::path(&dir, &card.station);
                files.rename(&came, &dir.join(JOURNAL))?;
                return Ok(TakenIn { name, is_new: true });
            }
            Err(error) => return Err(error),
        };
        let dir = self.layout().job(&name);
        let path = dir.join(JOURNAL);
        let (files, places) = (&**self.files(), &self.places);
        let end = places.end(files, &path, None)?;
        let held = end.number;
        let at = |number: u64| hash_at(files, places, &path, number);
        let new = other_journals::new_lines(&card.station, (held, &end.hash), lines, at);
        let new = new.map_err(refuse)?;
        if let (0, Some(first)) = (held, new.first()) {
            other_journals::begins(job, &card.station, first).map_err(refuse)?;
        }
        let mut text = String::new();
        for line in new {
            text.push_str(&line.text);
            text.push('\n');
        }
        let mut file = self.files().open_append(&path)?;
        // What a write left that never ended was never acknowledged, or it comes with these lines.
        if file.len()? > end.len {
            file.truncate(end.len)?;
        }
        file.append(text.as_bytes())?;
        file.sync_data()?;
        self.files().sync_dir(&dir)?;
        Ok(TakenIn { name, is_new })
    }
}
