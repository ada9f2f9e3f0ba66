//! From which loaded engine file the text in a job's folder stems, where several stations load engine
//! files.
//!
//! Another station's engine file takes the place of the text in the folder only where nobody edited
//! that text. An edit stays, is loaded at the next opening, and says on which engine it rests.

use std::path::Path;

use benchhand_files::{FileError, Files};
use serde::{Deserialize, Serialize};

use crate::store::fact::content_hash;
use crate::store::job::{ENGINE, Job};
use crate::store::job_error::JobError;
use crate::store::other_journals::ENGINE_BASE;
use crate::store::station::{FactRef, StationId};

/// The loaded engine file from which a text stems.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct EngineBase {
    /// BLAKE3 of its text, in hexadecimal.
    hash: String,
    /// The number of the fact in its journal.
    seq: u64,
    /// The station of that journal, where it is not this one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    station: Option<StationId>,
}

impl EngineBase {
    pub(crate) fn new(hash: &str, at: FactRef) -> Self {
        Self {
            hash: hash.to_owned(),
            seq: at.seq,
            station: at.station,
        }
    }

    /// What the file in the folder `dir` says; nothing where it cannot be read.
    pub(crate) fn read(files: &dyn Files, dir: &Path) -> Option<Self> {
        let bytes = files.read(&dir.join(ENGINE_BASE)).ok()?;
        serde_json::from_slice(&bytes).ok()
    }

    /// The same after this station's own numbers have become others.
    pub(crate) fn moved(self, own: impl Fn(u64) -> FactRef) -> Self {
        match self.station {
            None => Self::new(&self.hash, own(self.seq)),
            Some(_) => self,
        }
    }

    /// Writes it into a file of this path.
    ///
    /// # Errors
    /// When the disk refuses.
    pub(crate) fn write_to(&self, files: &dyn Files, path: &Path) -> Result<(), FileError> {
        files.replace(path, serde_json::json!(self).to_string().as_bytes())
    }

    /// Writes it where it says something new.
    ///
    /// # Errors
    /// When the disk refuses.
    pub(crate) fn write(&self, files: &dyn Files, dir: &Path) -> Result<(), FileError> {
        if Self::read(files, dir).as_ref() == Some(self) {
            return Ok(());
        }
        self.write_to(files, &dir.join(ENGINE_BASE))
    }
}

impl Job {
    /// The engine that holds, as the base of a text; `None` where one station alone has a journal.
    fn present_base(&self) -> Option<EngineBase> {
        let engine = self.view().engine()?;
        let at = self.reference(engine.seq)?;
        Some(EngineBase::new(&engine.hash, at))
    }

    /// Notes that the text in the folder is the engine that holds now.
    pub(super) fn note_engine_base(&self) -> Result<(), JobError> {
        match self.present_base() {
            Some(base) => Ok(base.write(self.files(), self.dir())?),
            None => Ok(()),
        }
    }

    /// The engine on which an edit of the file in the folder rests, where that is known.
    pub(super) fn edited_on(&self) -> Option<FactRef> {
        self.present_base()?;
        let EngineBase { seq, station, .. } = EngineBase::read(self.files(), self.dir())?;
        Some(FactRef { station, seq })
    }

    /// Puts the engine that holds into the folder, where nobody edited the text that stands there.
    /// `before` is the hash of the engine that held before, where the folder does not say.
    pub(super) fn follow_engine(&mut self, before: Option<&str>) -> Result<(), JobError> {
        let (Some(base), Some(engine)) = (self.present_base(), self.view().engine()) else {
            return Ok(());
        };
        let (files, path) = (self.files(), self.dir().join(ENGINE));
        let known = EngineBase::read(files, self.dir()).map(|base| base.hash);
        let known = known.as_deref().or(before);
        match files.read(&path) {
            Ok(bytes) => {
                let there = content_hash(&bytes);
                if there != engine.hash {
                    if known != Some(&there) {
                        return Ok(());
                    }
                    files.replace(&path, engine.content.as_bytes())?;
                }
            }
            Err(error) if error.is_missing() => {
                files.replace(&path, engine.content.as_bytes())?;
            }
            Err(error) => return Err(error.into()),
        }
        Ok(base.write(files, self.dir())?)
    }
}
