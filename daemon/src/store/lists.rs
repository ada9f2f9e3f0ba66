//! Lists and searches over many jobs, kept in step with the journals.
//!
//! The index has a thread of its own, so that keeping never waits for it. Whatever happens to the
//! index - files that cannot be opened, a panic, a full disk, an answer that does not come - lists
//! and searches are answered, if need be from the journals themselves.

#[cfg(test)]
mod inline;

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::mpsc::{Receiver, Sender, SyncSender, channel, sync_channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use serde_json::Value;

use crate::store::changed::ChangedJobs;
use crate::store::error::StoreError;
use crate::store::fact::ReadingId;
use crate::store::figuring::FiguresThread;
use crate::store::index::{
    EngineRow, GaugeInJob, Index, IndexError, MemoryIndex, ReadingQuery, ReadingRow, SledIndex,
};
use crate::store::many::each_job;
use crate::store::notice::Notice;
use crate::store::reader::Reader;
use crate::store::summary::{JobList, JobSummary};
use crate::store::view::JobView;
use benchhand_files::Files;

/// How long to wait for an answer of the index before the journals are read instead.
const PATIENCE: Duration = Duration::from_secs(2);

/// How long changes are gathered before the index takes them in together. A question does not wait for
/// that. A writer of reading after reading would otherwise share the machine with the index.
const GATHERS: Duration = Duration::from_millis(50);

/// Lists and searches over many jobs.
pub struct Lists {
    reader: Reader,
    /// Takes a message in: on the index's thread, or at once.
    tell: Option<Box<dyn Fn(Message) + Send + Sync>>,
    notices: Arc<Mutex<Vec<Notice>>>,
    thread: Option<JoinHandle<()>>,
    /// Ends before the index.
    figuring: Option<FiguresThread>,
}

enum Message {
    Changed(Box<JobView>, Vec<ReadingId>),
    Anew(String),
    Figures {
        job: String,
        hash: String,
        figures: Value,
    },
    Jobs(SyncSender<Vec<JobSummary>>),
    Engines(SyncSender<Vec<EngineRow>>),
    Gauges(Option<String>, SyncSender<Vec<GaugeInJob>>),
    Search(ReadingQuery, SyncSender<Vec<ReadingRow>>),
}

impl std::fmt::Debug for Lists {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let mut lists = f.debug_struct("Lists");
        lists.field("reader", &self.reader).finish_non_exhaustive()
    }
}

impl Lists {
    /// Begins keeping the index of a store in step with its journals, on a thread of its own.
    pub(crate) fn start(reader: Reader) -> Self {
        let notices = Arc::new(Mutex::new(Vec::new()));
        let (tell, told) = channel();
        let keeper = Keeper {
            reader: reader.clone(),
            notices: Arc::clone(&notices),
        };
        let thread = std::thread::Builder::new().name("index".to_owned());
        // Without the thread nobody receives the messages, and the journals answer.
        let thread = thread.spawn(move || keeper.run(&told)).ok();
        let (ask, say) = (tell.clone(), tell.clone());
        let figuring = FiguresThread::start(
            reader.clone(),
            move || without_figures(&ask),
            move |job, hash, figures| {
                let job = job.to_owned();
                let _ = say.send(Message::Figures { job, hash, figures });
            },
        );
        Self {
            reader,
            // A keeper that has ended receives nothing; then the journals answer.
            tell: Some(Box::new(move |message| drop(tell.send(message)))),
            notices,
            thread,
            figuring: Some(figuring),
        }
    }

    /// Tells the index that a fact changed a job. Returns at once. The changes of one job must be
    /// told in the order in which they were kept.
    pub fn changed(&self, view: &JobView, touched: &[ReadingId]) {
        self.send(Message::Changed(Box::new(view.clone()), touched.to_vec()));
    }

    /// Has the index read a job anew, whose readings have other numbers now. Returns at once.
    pub fn read_anew(&self, job: &str) {
        self.send(Message::Anew(job.to_owned()));
    }

    /// Every job in one line each.
    ///
    /// # Errors
    /// When the folder of the jobs cannot be listed.
    pub fn jobs(&self) -> Result<JobList, StoreError> {
        let names: BTreeSet<String> = self.reader.job_names()?.into_iter().collect();
        let Some(mut jobs) = self.ask(Message::Jobs) else {
            return self.reader.jobs();
        };
        jobs.retain(|job| names.contains(&job.name));
        let known: BTreeSet<&String> = jobs.iter().map(|job| &job.name).collect();
        let unknown = names.iter().filter(|name| !known.contains(name));
        let unknown: Vec<String> = unknown.cloned().collect();
        let mut list = JobList {
            jobs,
            unreadable: Vec::new(),
        };
        for name in unknown {
            self.reader.list(name, &mut list);
        }
        list.jobs.sort_by(|a, b| a.name.cmp(&b.name));
        Ok(list)
    }

    /// The readings of all jobs that a query asks for.
    ///
    /// # Errors
    /// When the folder of the jobs cannot be listed.
    pub fn search(&self, query: &ReadingQuery) -> Result<Vec<ReadingRow>, StoreError> {
        match self.ask(|answer| Message::Search(query.clone(), answer)) {
            Some(rows) => Ok(rows),
            None => self.reader.search(query),
        }
    }

    /// Every job with its engine, and with its figures where they have been made, in the order of
    /// the names.
    ///
    /// # Errors
    /// When the folder of the jobs cannot be listed.
    pub fn engines(&self) -> Result<Vec<EngineRow>, StoreError> {
        match self.ask(Message::Engines) {
            Some(engines) => Ok(engines),
            None => self.reader.engines(),
        }
    }

    /// What every gauge, or the one of this name, measured in each job, in the order of the jobs'
    /// and then the gauges' names.
    ///
    /// # Errors
    /// When the folder of the jobs cannot be listed.
    pub fn gauge_uses(&self, name: Option<&str>) -> Result<Vec<GaugeInJob>, StoreError> {
        match self.ask(|answer| Message::Gauges(name.map(str::to_owned), answer)) {
            Some(gauges) => Ok(gauges),
            None => self.reader.gauge_uses(name),
        }
    }

    /// Holds figures of a job that were made when its journal ended with the line of this hash.
    /// Returns at once.
    pub fn hold_figures(&self, job: &str, hash: String, figures: Value) {
        let job = job.to_owned();
        self.send(Message::Figures { job, hash, figures });
    }

    /// The messages for a person, each once.
    #[must_use]
    pub fn take_notices(&self) -> Vec<Notice> {
        std::mem::take(&mut *self.notices.lock().unwrap_or_else(PoisonError::into_inner))
    }

    fn ask<T>(&self, message: impl FnOnce(SyncSender<T>) -> Message) -> Option<T> {
        let (answer, answered) = sync_channel(1);
        self.send(message(answer));
        answered.recv_timeout(PATIENCE).ok()
    }

    fn send(&self, message: Message) {
        if let Some(tell) = &self.tell {
            tell(message);
        }
    }
}

impl Drop for Lists {
    fn drop(&mut self) {
        // The index ends when nobody can send it anything any more.
        self.figuring = None;
        self.tell = None;
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

/// The state of the thread that keeps the index.
struct Keeper {
    reader: Reader,
    notices: Arc<Mutex<Vec<Notice>>>,
}

impl Keeper {
    fn run(&self, told: &Receiver<Message>) {
        let mut index = self.open();
        let mut changed = ChangedJobs::default();
        while let Ok(message) = told.recv() {
            let until = Instant::now() + GATHERS;
            let mut next = Some(message);
            while let Some(message) = next {
                self.take(&mut index, &mut changed, message);
                let left = until.saturating_duration_since(Instant::now());
                next = told.recv_timeout(left).ok();
            }
            self.take_in(&mut index, &mut changed);
        }
    }

    /// Notes a change, or answers a question from an index that is in step.
    fn take(&self, index: &mut Box<dyn Index>, changed: &mut ChangedJobs, message: Message) {
        match message {
            Message::Changed(view, touched) => changed.add(*view, touched),
            Message::Anew(job) => {
                self.take_in(index, changed);
                if let Err(error) = self.put_anew(&mut **index, &job) {
                    *index = self.in_memory(&error);
                }
            }
            question => {
                self.take_in(index, changed);
                if let Err(error) = answer(&mut **index, &question) {
                    *index = self.in_memory(&error);
                    // The answer comes from what was just read.
                    let _ = answer(&mut **index, &question);
                }
            }
        }
    }

    /// Brings the index in step with the jobs that changed.
    fn take_in(&self, index: &mut Box<dyn Index>, changed: &mut ChangedJobs) {
        if let Err(error) = changed.put_into(&mut **index, self.reader.digests().engine) {
            // What is read then holds the changes already.
            *index = self.in_memory(&error);
        }
    }

    fn put_anew(&self, index: &mut dyn Index, job: &str) -> Result<(), IndexError> {
        match self.reader.listed_entry(job) {
            Ok((view, entry)) => index.put(&entry, &ReadingRow::all_of(&view)),
            // A job that cannot be read is in no list; opening the job tells why.
            Err(_) => index.forget(job),
        }
    }

    fn note(&self, notice: Notice) {
        self.notices
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .push(notice);
    }

    fn open(&self) -> Box<dyn Index> {
        let dir = self.reader.layout().index();
        let error = match self.open_on_disk(&dir) {
            Ok(index) => return Box::new(index),
            Err(error) => error,
        };
        let files = self.reader.files();
        if let Err(reason) = set_aside(&**files, &dir) {
            return self.in_memory(&IndexError(reason.to_string()));
        }
        match self.open_on_disk(&dir) {
            Ok(index) => {
                self.note(Notice::BegunAnew { reason: error.0 });
                Box::new(index)
            }
            Err(error) => self.in_memory(&error),
        }
    }

    fn open_on_disk(&self, dir: &Path) -> Result<SledIndex, IndexError> {
        let mut index = SledIndex::open(dir)?;
        self.reconcile(&mut index)?;
        Ok(index)
    }

    fn in_memory(&self, error: &IndexError) -> Box<dyn Index> {
        self.note(Notice::InMemory {
            reason: error.0.clone(),
        });
        let mut index = MemoryIndex::default();
        // An index in memory refuses nothing.
        let _ = self.reconcile(&mut index);
        Box::new(index)
    }

    /// Brings an index in step with the journals: jobs with a last line that the index does not
    /// know are read again, jobs that no longer exist are forgotten.
    fn reconcile(&self, index: &mut impl Index) -> Result<(), IndexError> {
        let Ok(names) = self.reader.job_names() else {
            return Ok(());
        };
        let known = index.jobs()?;
        for gone in known.iter().filter(|job| !names.contains(&job.name)) {
            index.forget(&gone.name)?;
            self.note(Notice::Gone {
                job: gone.name.clone(),
            });
        }
        let known: BTreeMap<&str, &JobSummary> =
            known.iter().map(|job| (job.name.as_str(), job)).collect();
        let in_step = |name: &String| {
            let Some(known) = known.get(name.as_str()) else {
                return false;
            };
            let end = self.reader.end(name).ok().flatten();
            end.is_some_and(|(seq, hash)| known.seq == seq && known.hash == hash)
        };
        let behind: Vec<String> = names.into_iter().filter(|name| !in_step(name)).collect();
        let read = |name: &str| {
            // A job that cannot be read is in no list; opening the job tells why.
            let (view, entry) = self.reader.listed_entry(name).ok()?;
            Some((entry, ReadingRow::all_of(&view)))
        };
        each_job(&behind, read, |name, read| {
            let Some((entry, rows)) = read else {
                return Ok(());
            };
            let found = entry.summary.seq;
            if let Some(known) = known.get(name).filter(|known| known.seq > found) {
                let (job, known) = (name.to_owned(), known.seq);
                self.note(Notice::Shortened { job, known, found });
            }
            index.put(&entry, &rows)
        })
    }
}

/// The jobs that have an engine and no figures.
fn without_figures(ask: &Sender<Message>) -> Vec<String> {
    let (answer, answered) = sync_channel(1);
    let _ = ask.send(Message::Engines(answer));
    // The index may have to be built before it answers.
    let engines: Vec<EngineRow> = answered.recv().unwrap_or_default();
    let lacks = |row: &EngineRow| row.engine.is_some() && row.figures.is_none();
    let lacking = engines.into_iter().filter(lacks);
    lacking.map(|row| row.summary.name).collect()
}

fn answer(index: &mut dyn Index, message: &Message) -> Result<(), IndexError> {
    match message {
        // Changes of one job are collected and put in together.
        Message::Changed(..) | Message::Anew(_) => {}
        Message::Figures { job, hash, figures } => index.hold_figures(job, hash, figures)?,
        // The caller may have given up waiting.
        Message::Jobs(answer) => drop(answer.try_send(index.jobs()?)),
        Message::Engines(answer) => drop(answer.try_send(index.engines()?)),
        Message::Gauges(name, answer) => drop(answer.try_send(index.gauge_uses(name.as_deref())?)),
        Message::Search(query, answer) => drop(answer.try_send(index.search(query)?)),
    }
    Ok(())
}

/// Puts a folder that cannot be used out of the way, in place of the one set aside before.
fn set_aside(files: &dyn Files, dir: &Path) -> Result<(), benchhand_files::FileError> {
    let aside = dir.with_file_name("index.broken");
    files.remove(&aside)?;
    match files.rename(dir, &aside) {
        Err(error) if error.is_missing() => Ok(()),
        other => other,
    }
}
