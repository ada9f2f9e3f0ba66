//! Reads jobs without a lock and without an index.

use std::convert::Infallible;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use serde_json::Value;

use crate::store::anchor::Anchor;
use crate::store::error::StoreError;
use crate::store::held_journal::head_of;
use crate::store::index::{
    Digests, EngineRow, GaugeInJob, JobEntry, MemoryIndex, ReadingQuery, ReadingRow, in_order,
};
use crate::store::job::{ENGINE, EngineFile, JobError, JobOpening, fold, is_last_engine};
use crate::store::job_engine::{self, EngineOnDisk};
use crate::store::job_stations::{JobStations, card_of};
use crate::store::journal::{JOURNAL, JournalError, Torn, Verified};
use crate::store::layout::Layout;
use crate::store::line::JournalEntry;
use crate::store::many::each_job;
use crate::store::name::check_name;
use crate::store::other_journals;
use crate::store::scan;
use crate::store::summary::{JobList, JobSummary};
use crate::store::view::JobView;
use benchhand_files::Files;

/// The reading half of a store.
#[derive(Debug, Clone)]
pub struct Reader {
    layout: Layout,
    files: Arc<dyn Files>,
    digests: Digests,
}

impl Reader {
    /// A reader of a data folder, which need not exist.
    #[must_use]
    pub fn new(layout: Layout, files: Arc<dyn Files>) -> Self {
        Self {
            layout,
            files,
            digests: Digests::default(),
        }
    }

    /// The same reader, with digests of engines and jobs made by `digests`.
    #[must_use]
    pub(crate) fn with_digests(self, digests: Digests) -> Self {
        Self { digests, ..self }
    }

    /// Where everything lies.
    #[must_use]
    pub fn layout(&self) -> &Layout {
        &self.layout
    }

    /// The file layer that everything is read through.
    #[must_use]
    pub fn files(&self) -> &Arc<dyn Files> {
        &self.files
    }

    /// Every job's name, in the order of the names.
    ///
    /// # Errors
    /// When the disk refuses. A data folder that is not there has no jobs.
    pub fn job_names(&self) -> Result<Vec<String>, StoreError> {
        let listed = match self.files.list(&self.layout.jobs()) {
            Err(error) if error.is_missing() => return Ok(Vec::new()),
            other => other?,
        };
        let names = listed
            .into_iter()
            .filter(|listed| listed.is_dir)
            .map(|listed| listed.name);
        Ok(names
            .filter(|name| check_name("job", name).is_ok())
            .collect())
    }

    /// Reads a job and returns what was found. Of a damaged record everything readable is read.
    ///
    /// # Errors
    /// When there is no such job or the disk refuses.
    pub fn view(&self, name: &str) -> Result<(JobView, JobOpening), StoreError> {
        Ok(read(&*self.files, &self.job_dir(name)?)?)
    }

    /// A job's engine file as it stands in the folder. Nothing is loaded.
    ///
    /// # Errors
    /// When there is no such job, the disk refuses, or the file is no text.
    pub fn engine_on_disk(&self, name: &str) -> Result<EngineOnDisk, StoreError> {
        let (view, _) = self.view(name)?;
        let found = job_engine::on_disk(&*self.files, &self.job_dir(name)?, &view);
        found.map_err(StoreError::Job)
    }

    /// Refuses a job whose engine file is nowhere, or is no text. Opening it for writing would find that
    /// only after a torn end was taken off the record, and a refused request changes nothing.
    pub(crate) fn has_engine(&self, dir: &Path) -> Result<(), StoreError> {
        let there = self.files.read(&dir.join(ENGINE));
        if matches!(&there, Ok(bytes) if str::from_utf8(bytes).is_ok()) {
            return Ok(());
        }
        // What is wrong with the record, or came from another station, opening knows better.
        match (read(&*self.files, dir), card_of(&*self.files, dir)) {
            (Ok((view, _)), Ok(None)) => {
                let found = job_engine::on_disk(&*self.files, dir, &view);
                found.map(drop).map_err(StoreError::Job)
            }
            _ => Ok(()),
        }
    }

    /// Every fact of a job's journal as it was written, with the samples of every reading.
    ///
    /// # Errors
    /// When there is no such job, a line is damaged, or the disk refuses.
    pub fn entries(&self, name: &str) -> Result<Vec<JournalEntry>, StoreError> {
        Ok(entries(&*self.files, &self.job_dir(name)?)?)
    }

    /// Checks every line of a job's journal and that each follows on the one before.
    ///
    /// # Errors
    /// Names the first line that is not what was once written.
    pub fn verify(&self, name: &str) -> Result<Verified, StoreError> {
        let dir = self.job_dir(name)?;
        let others = other_journals::verify(&*self.files, &dir)?;
        match scan::verify(&*self.files, &dir.join(JOURNAL)) {
            Err(JournalError::Files(error)) if error.is_missing() && others => {
                Ok(Verified::default())
            }
            other => Ok(other?),
        }
    }

    /// Every job in one line each, read from the journals.
    ///
    /// # Errors
    /// When the folder of the jobs cannot be listed; a job that cannot be read is no error.
    pub fn jobs(&self) -> Result<JobList, StoreError> {
        let mut list = JobList::default();
        let names = self.job_names()?;
        let read = |name: &str| {
            let (view, opening) = self.listed_with_damage(name)?;
            Ok::<_, StoreError>(JobSummary::of(&view).with_damage(opening.wrong()))
        };
        let Ok(()) = each_job(&names, read, |name, job| {
            match job {
                Ok(summary) => list.jobs.push(summary),
                Err(error) => list.unreadable.push((name.to_owned(), error)),
            }
            Ok::<(), Infallible>(())
        });
        list.jobs.sort_by(|a, b| a.name.cmp(&b.name));
        list.unreadable.sort_by(|a, b| a.0.cmp(&b.0));
        Ok(list)
    }

    /// Adds a job to a list.
    pub(crate) fn list(&self, name: String, list: &mut JobList) {
        match self.view(&name) {
            Ok((view, opening)) => {
                let summary = JobSummary::of(&view).with_damage(opening.wrong());
                list.jobs.push(summary);
            }
            Err(error) => list.unreadable.push((name, error)),
        }
    }

    /// The readings of all jobs that a query asks for, read from the journals, in the order of
    /// their times, jobs and numbers. Jobs that cannot be read are passed over; the list of the
    /// jobs names them.
    ///
    /// # Errors
    /// When the folder of the jobs cannot be listed.
    pub fn search(&self, query: &ReadingQuery) -> Result<Vec<ReadingRow>, StoreError> {
        let wanted = |name: &String| query.job.as_ref().is_none_or(|job| job == name);
        let names: Vec<_> = self.job_names()?.into_iter().filter(wanted).collect();
        Ok(in_order(self.of_each(&names, |index| index.find(query))))
    }

    /// What every gauge, or the one of this name, measured in each job, read from the journals,
    /// in the order of the jobs' and then the gauges' names.
    ///
    /// # Errors
    /// When the folder of the jobs cannot be listed.
    pub fn gauge_uses(&self, name: Option<&str>) -> Result<Vec<GaugeInJob>, StoreError> {
        let names = self.job_names()?;
        let mut gauges = self.of_each(&names, |index| index.uses_of(name));
        gauges.sort_by(|a, b| (&a.job, &a.gauge).cmp(&(&b.job, &b.gauge)));
        Ok(gauges)
    }

    /// Every job with its engine, read from the journals, in the order of the names. No figures are
    /// made.
    ///
    /// # Errors
    /// When the folder of the jobs cannot be listed.
    pub fn engines(&self) -> Result<Vec<EngineRow>, StoreError> {
        let names = self.job_names()?;
        let mut engines = self.of_each(&names, MemoryIndex::engine_rows);
        engines.sort_by(|a, b| a.summary.name.cmp(&b.summary.name));
        Ok(engines)
    }

    /// Makes the figures of a job from its journal; returns them with the hash of its last line.
    ///
    /// # Errors
    /// When there is no such job or the disk refuses.
    pub fn figures(&self, name: &str) -> Result<(String, Value), StoreError> {
        let (view, _) = self.view(name)?;
        let hash = view.head().map(|head| head.hash.clone());
        Ok((hash.unwrap_or_default(), (self.digests.figures)(&view)))
    }

    /// What an index of each of these jobs alone would find, in no order. Jobs that cannot be read
    /// are left out.
    fn of_each<T: Send>(
        &self,
        names: &[String],
        find: impl Fn(&MemoryIndex) -> Vec<T> + Sync,
    ) -> Vec<T> {
        let read = |name: &str| {
            let (view, entry) = self.listed_entry(name).ok()?;
            let mut index = MemoryIndex::default();
            index.hold(&entry, &ReadingRow::all_of(&view));
            Some(find(&index))
        };
        let mut all = Vec::new();
        let Ok(()) = each_job(names, read, |_, found| {
            all.extend(found.into_iter().flatten());
            Ok::<(), Infallible>(())
        });
        all
    }

    /// Reads a job whose name was listed, with what an index takes in of it.
    pub(crate) fn listed_entry(&self, name: &str) -> Result<(JobView, JobEntry), StoreError> {
        let (view, opening) = self.listed_with_damage(name)?;
        let mut entry = JobEntry::of(&view, self.digests.engine);
        entry.summary.damage = opening.wrong();
        Ok((view, entry))
    }

    /// The function that makes an engine's digest.
    pub(crate) fn digests(&self) -> Digests {
        self.digests
    }

    /// Reads a job whose name was listed, with what was found.
    pub(crate) fn listed_with_damage(
        &self,
        name: &str,
    ) -> Result<(JobView, JobOpening), StoreError> {
        Ok(read(&*self.files, &self.layout.job(name))?)
    }

    /// The number and the hash of the last fact of a listed job, from the end of its journal alone.
    pub(crate) fn end(&self, name: &str) -> Result<Option<(u64, String)>, StoreError> {
        Ok(end(&*self.files, &self.layout.job(name))?)
    }

    /// A job's folder.
    pub(crate) fn job_dir(&self, name: &str) -> Result<PathBuf, StoreError> {
        check_name("job", name)?;
        let known = self.job_names()?;
        if known.iter().any(|there| there == name) {
            return Ok(self.layout.job(name));
        }
        Err(StoreError::NoJob {
            name: name.to_owned(),
            jobs: self.layout.jobs(),
            known,
        })
    }
}

/// Reads a job without a lock and without changing anything.
///
/// # Errors
/// When the disk refuses. Damaged lines are no error here: everything that can be read is.
fn read(files: &dyn Files, dir: &Path) -> Result<(JobView, JobOpening), JobError> {
    let path = dir.join(JOURNAL);
    let mut view = JobView::default();
    let anchor = Anchor::read(files, dir);
    let mut stations = JobStations::find(files, dir)?;
    let elsewhere = stations.as_ref().is_some_and(JobStations::has_others);
    let bytes = match files.read(&path) {
        Err(error) if error.is_missing() && elsewhere => Vec::new(),
        other => other?,
    };
    let mut scan = scan::scan(&path, &bytes, anchor.as_ref(), |entry| {
        let alone = match &mut stations {
            Some(stations) => stations.take_own(entry),
            None => Some(entry),
        };
        alone.map_or(Ok(()), |entry| fold(&mut view, entry))
    });
    if let Some(stations) = &mut stations {
        view = stations.fold()?.unwrap_or(view);
    }
    if bytes.is_empty() && elsewhere {
        // This station has said nothing of the job yet.
        scan.record = None;
    }
    let bytes = scan.torn.len();
    let torn = (bytes > 0).then_some(Torn {
        bytes,
        set_aside: None,
    });
    let engine = match files.read(&dir.join(ENGINE)) {
        Ok(bytes) if is_last_engine(&view, &bytes) => EngineFile::Unchanged,
        Ok(_) => EngineFile::NotLoaded,
        Err(error) if error.is_missing() => EngineFile::NotLoaded,
        Err(error) => return Err(error.into()),
    };
    Ok((
        view,
        JobOpening {
            torn,
            damage: scan.damage,
            known_damage: scan.known_damage,
            record: scan.record,
            engine,
        },
    ))
}

/// The number and the hash of the last fact of a job, from the ends of its journals alone.
fn end(files: &dyn Files, dir: &Path) -> Result<Option<(u64, String)>, JobError> {
    let own = dir.join(JOURNAL);
    let card = card_of(files, dir)?;
    let mut ends = match &card {
        Some(_) => other_journals::ends(files, dir)?,
        None => Vec::new(),
    };
    let Some(card) = card.filter(|_| !ends.is_empty()) else {
        return Ok(scan::end(files, &own)?);
    };
    match scan::last_envelope(files, &own) {
        Err(error) if error.is_missing() => {}
        other => ends.extend(other?.map(|(seq, hash)| (card.station, seq, hash))),
    }
    ends.sort();
    let ends = ends.iter();
    let ends = ends.map(|(station, seq, hash)| (station, *seq, hash.as_str()));
    Ok(Some(head_of(ends)))
}

/// Every entry of a job's journal, whole, with the samples that each reading rests on.
///
/// # Errors
/// When the disk refuses, or names the first line that is damaged.
fn entries(files: &dyn Files, dir: &Path) -> Result<Vec<JournalEntry>, JobError> {
    let path = dir.join(JOURNAL);
    let mut entries = Vec::new();
    let scan = scan::scan(&path, &files.read(&path)?, None, |entry| {
        entries.push(entry);
        Ok(())
    });
    match scan.damage.into_iter().next() {
        Some(damage) => Err(JournalError::Damaged(Box::new(damage)).into()),
        None => Ok(entries),
    }
}
