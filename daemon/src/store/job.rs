//! A job's folder: the engine file that a person edits, the journal, the recorded streams.
//!
//! A job that is open for writing holds its view in memory and keeps the view in step with the
//! journal. What a spot or an engine file means is not known here.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::clock::Clock;
use crate::store::fact::{FIRST_STAGE, Fact, InputKind, JobInput, OpenedJob, content_hash};
use crate::store::fold::Stamp;
pub use crate::store::held_journal::StationInJob;
pub use crate::store::job_error::{Ack, JobError};
use crate::store::job_stations::JobStations;
use crate::store::journal::{
    AcceptedDamage, Found, JOURNAL, Journal, JournalError, LineDamage, NewLine, RecordFault,
    Tolerance, Torn,
};
use crate::store::journal_places::JournalPlaces;
use crate::store::keys::Keys;
use crate::store::layout::Layout;
use crate::store::line::{Beside, FactText, JournalEntry, LineFault};
use crate::store::view::JobView;
use crate::store::writing::WritingLine;
pub use crate::store::writing::{WritingBatch, WritingPlace};
use benchhand_files::Files;

/// The engine file's name in a job's folder.
pub const ENGINE: &str = "engine.toml";

/// What the name of a job's folder begins with while the job is being created.
const UNFINISHED: &str = ".new-";

/// The folder of recorded streams in a job's folder.
pub const STREAMS: &str = "streams";

/// What was found when a job was opened.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct JobOpening {
    /// A write that never ended, if there is one.
    pub torn: Option<Torn>,
    /// Damaged lines; a job that is open for writing has none.
    pub damage: Vec<LineDamage>,
    /// Damaged lines that were accepted: the record goes on without them.
    pub known_damage: Vec<LineDamage>,
    /// What is wrong with the record as a whole; nothing where the job is open for writing.
    pub record: Option<RecordFault>,
    /// The state of the engine file.
    pub engine: EngineFile,
}

impl JobOpening {
    /// What is wrong with the record, in words.
    #[must_use]
    pub fn wrong(&self) -> Option<String> {
        let record = self.record.as_ref().map(ToString::to_string);
        record.or_else(|| self.damage.first().map(ToString::to_string))
    }
}

/// The state of the engine file when its job was opened.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum EngineFile {
    /// The file is as it was last loaded.
    #[default]
    Unchanged,
    /// The file was edited and has been loaded, by the fact of this number.
    Loaded(u64),
    /// The file was edited; the job is open for reading, so the edit is not loaded yet.
    NotLoaded,
    /// The file was missing and was restored from the record.
    Restored,
    /// The file was edited and cannot be used; the engine that was loaded last still holds.
    Refused(String),
}

/// The contents of a new job.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct NewJob {
    /// The job's name, and its folder's.
    pub name: String,
    /// What the job is, in the builder's words.
    pub title: Option<String>,
    /// The first stage's name, where it is not [`FIRST_STAGE`].
    pub stage: Option<String>,
    /// The engine file, whole.
    pub engine: String,
    /// The key of the request.
    pub key: Option<String>,
}

/// Checks whether an engine file can be used, and if not, tells why.
pub type EngineCheck = dyn Fn(&str) -> Result<(), String> + Send + Sync;

/// A job that is open for writing.
#[derive(Debug)]
pub struct Job {
    pub(super) files: Arc<dyn Files>,
    pub(super) clock: Arc<dyn Clock>,
    pub(super) dir: PathBuf,
    pub(super) line: WritingLine,
    pub(super) view: JobView,
    pub(super) keys: Keys,
    /// `None` where the data folder is no station of a shop.
    pub(super) stations: Option<JobStations>,
    /// Where the lines of journals stand.
    pub(super) places: Arc<JournalPlaces>,
}

impl Job {
    /// Writes a new job into the folder `dir`, which must not exist yet. Everything is written
    /// under another name first, so a job exists whole or not at all.
    pub(crate) fn create(
        files: &Arc<dyn Files>,
        clock: &Arc<dyn Clock>,
        dir: &Path,
        new: NewJob,
    ) -> Result<(), JobError> {
        let unfinished = unfinished(dir, &new.name);
        files.remove(&unfinished)?;
        files.create_dir(&unfinished.join(STREAMS))?;
        files.replace(&unfinished.join(ENGINE), new.engine.as_bytes())?;
        let mut journal = Journal::create(Arc::clone(files), &unfinished.join(JOURNAL))?;
        let mut view = JobView::default();
        let opened = Fact::Opened(OpenedJob {
            job: new.name,
            title: new.title,
            stage: new.stage.unwrap_or_else(|| FIRST_STAGE.to_owned()),
            program: concat!("benchhand ", env!("CARGO_PKG_VERSION")).to_owned(),
            copy_of: None,
        });
        let engine = Fact::Input(JobInput::new(InputKind::Engine, "engine", new.engine));
        for (fact, key) in [(opened, new.key.as_deref()), (engine, None)] {
            view.fits(&fact)?;
            let (at, seq) = (clock.now_utc(), journal.next_seq());
            let new = NewLine {
                at,
                beside: Beside::default(),
                key: key.map(str::to_owned),
                text: FactText::of(&fact).map_err(JournalError::from)?,
                numbers: fact.numbers(),
            };
            journal.append(&[new])?;
            let hash = journal.last_hash().to_owned();
            view.apply_fitting(Stamp { seq, at, hash }, fact);
        }
        files.sync_dir(&unfinished)?;
        Ok(files.rename(&unfinished, dir)?)
    }

    /// Opens a job for writing. An edited engine file is loaded as a new fact where `check` accepts
    /// it.
    pub(crate) fn open(
        files: &Arc<dyn Files>,
        clock: &Arc<dyn Clock>,
        dir: &Path,
        check: &EngineCheck,
    ) -> Result<(Self, JobOpening), JobError> {
        let (mut job, mut opening, _) = Self::open_tolerating(Tolerance::None, files, clock, dir)?;
        job.say_joined()?;
        opening.engine = job.load_engine(check)?;
        job.anchor();
        Ok((job, opening))
    }

    /// Records the damage as accepted, so that the record can go on without what is missing. The
    /// lines themselves stay as they are.
    pub(crate) fn accept_damage(
        files: &Arc<dyn Files>,
        clock: &Arc<dyn Clock>,
        dir: &Path,
        reason: &str,
    ) -> Result<AcceptedDamage, JobError> {
        let (mut job, _, damage) = Self::open_tolerating(Tolerance::Damage, files, clock, dir)?;
        for (line, hash, fault) in damage.named() {
            let reason = format!("{reason} ({fault})");
            job.append(Fact::DamageKnown { line, hash, reason }, None)?;
        }
        job.anchor();
        Ok(damage)
    }

    fn open_tolerating(
        tolerance: Tolerance,
        files: &Arc<dyn Files>,
        clock: &Arc<dyn Clock>,
        dir: &Path,
    ) -> Result<(Self, JobOpening, AcceptedDamage), JobError> {
        let (mut view, mut keys) = (JobView::default(), Keys::default());
        let path = dir.join(JOURNAL);
        let mut stations = JobStations::find(&**files, dir)?;
        if let Some(stations) = &mut stations {
            stations.begin_own(files, clock, dir)?;
        }
        let found = Journal::open(Arc::clone(files), &path, tolerance, |entry| {
            keys.note(&entry);
            let alone = match &mut stations {
                Some(stations) => stations.take_own(entry),
                None => Some(entry),
            };
            alone.map_or(Ok(()), |entry| fold(&mut view, entry))
        })?;
        if let Some(stations) = &mut stations {
            view = stations.fold()?.unwrap_or(view);
            stations.follow_stamps(clock.now_utc());
            keys.base = stations.base();
            stations.keys_from_before(&**files, dir, &mut keys)?;
        }
        let Found {
            journal,
            torn,
            damage,
            known_damage,
            record,
        } = found;
        let (files, clock, dir) = (Arc::clone(files), Arc::clone(clock), dir.to_owned());
        let opening = JobOpening {
            torn,
            known_damage,
            ..JobOpening::default()
        };
        Ok((
            Self {
                files,
                clock,
                dir,
                line: WritingLine::new(journal, view.clone()),
                view,
                keys,
                stations,
                places: Arc::default(),
            },
            opening,
            AcceptedDamage {
                lines: damage,
                record,
            },
        ))
    }

    /// The job as it stands, with the facts that are in line to be written.
    #[must_use]
    pub fn view(&self) -> &JobView {
        &self.view
    }

    /// Notes beside the journal how it ends. What the anchor would show is found less often where
    /// the disk refuses, and nothing else rests on it.
    fn anchor(&self) {
        let Some(anchor) = self.line.anchor() else {
            return;
        };
        let _ = anchor.write(&*self.files, &self.dir);
    }

    /// Whether something else wrote to the journal, so that the job must be opened again.
    #[must_use]
    pub fn is_foreign(&self) -> bool {
        self.line.is_foreign()
    }

    pub(super) fn files(&self) -> &dyn Files {
        &*self.files
    }

    /// The job's folder.
    #[must_use]
    pub fn dir(&self) -> &Path {
        &self.dir
    }

    /// The number of the fact that was kept under a request's key, if one was.
    #[must_use]
    pub fn kept_under(&self, key: &str) -> Option<u64> {
        self.keys.seq(key)
    }

    /// Keeps an input if it differs from the last one under its name. Returns the acknowledgement
    /// if it was kept.
    ///
    /// # Errors
    /// As for [`Job::append`].
    pub fn load(&mut self, input: JobInput) -> Result<Option<Ack>, JobError> {
        let last = self.view.input(input.kind, &input.name);
        if last.is_some_and(|last| last.hash == input.hash) {
            return Ok(None);
        }
        self.append(Fact::Input(input), None).map(Some)
    }

    /// Reads the engine file again and loads it where a person edited it and `check` accepts it.
    ///
    /// # Errors
    /// When the disk refuses or the file is no text.
    pub fn load_engine(&mut self, check: &EngineCheck) -> Result<EngineFile, JobError> {
        self.follow_engine(None)?;
        let path = self.dir.join(ENGINE);
        let bytes = match self.files.read(&path) {
            Err(error) if error.is_missing() => {
                let Some(engine) = self.view.engine() else {
                    // The line that loads it comes from another station.
                    return match self.begins_elsewhere() {
                        true => Ok(EngineFile::Unchanged),
                        false => Err(error.into()),
                    };
                };
                self.files.replace(&path, engine.content.as_bytes())?;
                return Ok(EngineFile::Restored);
            }
            other => other?,
        };
        if is_last_engine(&self.view, &bytes) {
            return Ok(EngineFile::Unchanged);
        }
        let text = String::from_utf8(bytes).map_err(|_| JobError::NotText(path))?;
        if let Err(why) = check(&text) {
            return Ok(EngineFile::Refused(why));
        }
        let input = JobInput::new(InputKind::Engine, "engine", text);
        self.rest_on(self.edited_on());
        let loaded = self.append(Fact::Input(input), None)?.seq;
        self.note_engine_base()?;
        Ok(EngineFile::Loaded(loaded))
    }
}

impl Drop for Job {
    fn drop(&mut self) {
        // What stands in the file is not what this job knows.
        if !self.is_foreign() {
            self.anchor();
        }
    }
}

pub(crate) fn is_last_engine(view: &JobView, bytes: &[u8]) -> bool {
    view.engine()
        .is_some_and(|engine| engine.hash == content_hash(bytes))
}

/// The folder in which a job is made before it is whole.
pub(crate) fn unfinished(dir: &Path, name: &str) -> PathBuf {
    dir.with_file_name(format!("{UNFINISHED}{name}"))
}

/// Removes what is left of jobs whose creation never ended. Remains that cannot be removed do no
/// harm: no job has such a name.
pub(crate) fn remove_unfinished(files: &dyn Files, layout: &Layout) {
    let listed = files.list(&layout.jobs()).unwrap_or_default();
    for left in listed
        .iter()
        .filter(|listed| listed.name.starts_with(UNFINISHED))
    {
        let _ = files.remove(&layout.jobs().join(&left.name));
    }
}

pub(crate) fn fold(view: &mut JobView, entry: JournalEntry) -> Result<(), LineFault> {
    let JournalEntry {
        seq,
        at,
        hash,
        fact,
        ..
    } = entry;
    view.apply(Stamp { seq, at, hash }, fact)
        .map(drop)
        .map_err(LineFault::Contradicts)
}
