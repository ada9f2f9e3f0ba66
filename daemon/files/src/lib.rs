//! The layer between everything that is kept and the disk.
//!
//! This is a seam: tests put a disk that fails on purpose behind it, and so prove that nothing kept
//! is lost. The file layer knows paths, bytes and syncs, and nothing of what the bytes mean.

mod real;

use std::fmt::Debug;
use std::io;
use std::path::{Path, PathBuf};

pub use real::RealFiles;

/// What a store may do with a disk.
///
/// Paths are whole paths. Every error names what was being done and the path.
pub trait Files: Send + Sync + Debug {
    /// Opens a file for appending and creates it where it is missing. A file that was created
    /// is not sure to be there after a power cut before [`Files::sync_dir`] of its folder.
    ///
    /// # Errors
    /// When the disk refuses.
    fn open_append(&self, path: &Path) -> Result<Box<dyn AppendFile>, FileError>;

    /// The whole content of a file.
    ///
    /// # Errors
    /// When the disk refuses; [`FileError::is_missing`] where there is none.
    fn read(&self, path: &Path) -> Result<Vec<u8>, FileError>;

    /// How many bytes the file has that bears this name now.
    ///
    /// # Errors
    /// As for [`Files::read`].
    fn len(&self, path: &Path) -> Result<u64, FileError>;

    /// The last bytes of a file, up to `most` of them.
    ///
    /// # Errors
    /// As for [`Files::read`].
    fn read_end(&self, path: &Path, most: usize) -> Result<Vec<u8>, FileError>;

    /// Bytes of a file from the place `from` on, up to `most` of them; fewer only at the file's end.
    ///
    /// # Errors
    /// As for [`Files::read`].
    fn read_part(&self, path: &Path, from: u64, most: usize) -> Result<Vec<u8>, FileError> {
        let bytes = self.read(path)?;
        let from = usize::try_from(from).unwrap_or(usize::MAX).min(bytes.len());
        let to = from.saturating_add(most).min(bytes.len());
        Ok(bytes[from..to].to_vec())
    }

    /// Puts `bytes` in the place of whatever the file held, so that after a power cut there is
    /// either the old content or the new, whole; synced when this returns.
    ///
    /// # Errors
    /// When the disk refuses; the old content is still there then.
    fn replace(&self, path: &Path, bytes: &[u8]) -> Result<(), FileError>;

    /// Makes sure that the names in a folder are on the disk.
    ///
    /// # Errors
    /// When the disk refuses.
    fn sync_dir(&self, path: &Path) -> Result<(), FileError>;

    /// What lies in a folder, in the order of the names.
    ///
    /// # Errors
    /// When the disk refuses; [`FileError::is_missing`] where there is no such folder.
    fn list(&self, path: &Path) -> Result<Vec<Listed>, FileError>;

    /// Makes a folder and those above it that are missing, synced into the folders above. No
    /// error where it is there already.
    ///
    /// # Errors
    /// When the disk refuses.
    fn create_dir(&self, path: &Path) -> Result<(), FileError>;

    /// Gives a file or folder another name, which must be free; synced when this returns.
    ///
    /// # Errors
    /// When the disk refuses or the new name is taken.
    fn rename(&self, from: &Path, to: &Path) -> Result<(), FileError>;

    /// Removes a file, or a folder with all that is in it. No error where it is missing.
    ///
    /// # Errors
    /// When the disk refuses.
    fn remove(&self, path: &Path) -> Result<(), FileError>;

    /// Takes every right to a file or folder away from all but its owner. What this layer makes has
    /// no others from the first moment on; this is for what was there before. A layer that knows no
    /// owners does nothing.
    ///
    /// # Errors
    /// When the disk refuses.
    fn keep_to_owner(&self, _path: &Path) -> Result<(), FileError> {
        Ok(())
    }

    /// Takes the lock on a file; a missing file is created. Returns `None` at once if another
    /// process holds the lock. The lock ends when the returned value is dropped, and when
    /// its process ends, however that happens.
    ///
    /// # Errors
    /// When the disk refuses.
    fn try_lock(&self, path: &Path) -> Result<Option<Box<dyn Send + Sync>>, FileError>;
}

/// A file that grows at its end.
pub trait AppendFile: Send + Debug {
    /// Adds bytes at the end. They are not safe before [`AppendFile::sync_data`].
    ///
    /// # Errors
    /// When the disk refuses; part of the bytes may have been added then.
    fn append(&mut self, bytes: &[u8]) -> Result<(), FileError>;

    /// Makes sure that all added bytes are on the disk, past the disk's own cache.
    ///
    /// # Errors
    /// The disk refuses. Bytes that were added since the last sync may be there or not.
    fn sync_data(&mut self) -> Result<(), FileError>;

    /// Cuts the file off after `len` bytes.
    ///
    /// # Errors
    /// When the disk refuses.
    fn truncate(&mut self, len: u64) -> Result<(), FileError>;

    /// How many bytes the file has.
    ///
    /// # Errors
    /// When the disk refuses.
    fn len(&self) -> Result<u64, FileError>;

    /// Whether the file has no bytes.
    ///
    /// # Errors
    /// When the disk refuses.
    fn is_empty(&self) -> Result<bool, FileError> {
        Ok(self.len()? == 0)
    }
}

/// One name in a folder.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Listed {
    /// The name, without its folder.
    pub name: String,
    /// Whether it is a folder itself.
    pub is_dir: bool,
}

/// The disk refused.
#[derive(Debug, thiserror::Error)]
#[error("could not {doing} {}: {source}; {}", .path.display(), advice(.source))]
pub struct FileError {
    /// What was being done, as a verb.
    pub doing: &'static str,
    /// To what.
    pub path: PathBuf,
    /// What the system said.
    pub source: io::Error,
}

impl FileError {
    /// What was being done, as a verb, to which path, and what the system said.
    #[must_use]
    pub fn new(doing: &'static str, path: &Path, source: io::Error) -> Self {
        Self {
            doing,
            path: path.to_owned(),
            source,
        }
    }

    /// Whether the file or folder is not there.
    #[must_use]
    pub fn is_missing(&self) -> bool {
        self.source.kind() == io::ErrorKind::NotFound
    }
}

fn advice(error: &io::Error) -> &'static str {
    match error.kind() {
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
            "make room on the disk and try again"
        }
        io::ErrorKind::PermissionDenied => "give this user the right to it, or name another folder",
        io::ErrorKind::ReadOnlyFilesystem => "the disk takes no writes: name a folder elsewhere",
        io::ErrorKind::NotFound => "check the path",
        io::ErrorKind::AlreadyExists => "remove or rename what is there, or choose another name",
        _ => "check the disk and its connection, then try again",
    }
}
