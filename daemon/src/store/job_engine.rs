//! The engine file of a job that is open for writing: what stands in the folder, and replacing it.

use std::path::Path;

use benchhand_files::Files;

use crate::store::fact::{Fact, InputKind, JobInput, content_hash};
use crate::store::job::{ENGINE, Job, is_last_engine};
use crate::store::job_error::{Ack, JobError};
use crate::store::view::JobView;

/// The engine file as it stands in the job's folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EngineOnDisk {
    /// Its text.
    pub text: String,
    /// The text's hash.
    pub hash: String,
    /// Whether it is another text than the one that was loaded last.
    pub edited: bool,
}

/// Why an engine file was not replaced.
#[derive(Debug)]
pub enum EngineKept {
    /// Another text stands in the folder than the one that was changed.
    Changed,
    /// The file was edited in the folder, and the edit is not loaded yet.
    Edited,
    /// The journal or the disk refused.
    Job(JobError),
}

impl EngineOnDisk {
    /// Whether a change of the text with the hash `base` may take this text's place. Without one the
    /// change knows the text that was loaded last.
    ///
    /// # Errors
    /// Where another text stands in the folder.
    pub fn seen(&self, base: Option<&str>) -> Result<(), EngineKept> {
        match base {
            Some(base) if base != self.hash => Err(EngineKept::Changed),
            None if self.edited => Err(EngineKept::Edited),
            _ => Ok(()),
        }
    }
}

impl<E: Into<JobError>> From<E> for EngineKept {
    fn from(error: E) -> Self {
        EngineKept::Job(error.into())
    }
}

/// The engine file as it stands in the folder `dir`; where it is missing, the one loaded last.
///
/// # Errors
/// When the disk refuses, the file is no text, or there has never been one.
pub(super) fn on_disk(
    files: &dyn Files,
    dir: &Path,
    view: &JobView,
) -> Result<EngineOnDisk, JobError> {
    let path = dir.join(ENGINE);
    let bytes = match files.read(&path) {
        Err(error) if error.is_missing() => match view.engine() {
            Some(engine) => engine.content.clone().into_bytes(),
            None => return Err(error.into()),
        },
        other => other?,
    };
    Ok(EngineOnDisk {
        hash: content_hash(&bytes),
        edited: !is_last_engine(view, &bytes),
        text: String::from_utf8(bytes).map_err(|_| JobError::NotText(path))?,
    })
}

impl Job {
    /// The engine file as it stands in the folder; where it is missing, the one loaded last.
    ///
    /// # Errors
    /// When the disk refuses, the file is no text, or there has never been one.
    pub fn engine_on_disk(&self) -> Result<EngineOnDisk, JobError> {
        on_disk(self.files(), self.dir(), self.view())
    }

    /// Replaces the engine file, in the folder and in the record. `base` is the hash of the text
    /// that was changed. `None` where it is the text that is loaded already.
    ///
    /// The file is replaced first: if the machine stops between the two, the next opening finds an
    /// edited file and loads it. The other order would find the old file and load that.
    ///
    /// # Errors
    /// Where another text stands in the folder than the one that was changed, or the journal or the
    /// disk refuses. The old text stands in the folder then.
    pub fn replace_engine(
        &mut self,
        text: String,
        base: Option<&str>,
        key: Option<&str>,
    ) -> Result<Option<Ack>, EngineKept> {
        let input = JobInput::new(InputKind::Engine, "engine", text);
        let fact = |input: &JobInput| Fact::Input(input.clone());
        if key.is_some_and(|key| self.kept_under(key).is_some()) {
            return Ok(Some(self.append(fact(&input), key)?));
        }
        let old = self.engine_on_disk()?;
        old.seen(base)?;
        let path = self.dir().join(ENGINE);
        self.files().replace(&path, input.content.as_bytes())?;
        let loaded = self.view().engine().map(|engine| engine.hash.as_str());
        if loaded == Some(&input.hash) {
            return Ok(None);
        }
        match self.append(fact(&input), key) {
            Ok(ack) => {
                self.note_engine_base()?;
                Ok(Some(ack))
            }
            Err(error) => {
                self.files().replace(&path, old.text.as_bytes())?;
                Err(error.into())
            }
        }
    }
}
