//! A disk that fails on purpose.
//!
//! The disk wraps another disk. It passes every operation on, except those that it was told to
//! fail. The same seed and the same calls give the same faults.

use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use benchhand_files::{AppendFile, FileError, Files, Listed};

use crate::seeded::SplitMix64;

/// An operation on a disk.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Operation {
    /// A file was opened for appending.
    Open,
    /// Bytes were added to a file.
    Append,
    /// What was added to a file was synced.
    Sync,
    /// A file was cut shorter.
    Truncate,
    /// A file's length was asked.
    Measure,
    /// A file was read.
    Read,
    /// A file's content was replaced.
    Replace,
    /// A folder was synced.
    SyncDir,
    /// A folder was listed.
    List,
    /// A folder was made.
    CreateDir,
    /// A file or folder was renamed.
    Rename,
    /// A file or folder was removed.
    Remove,
    /// A lock was asked for.
    Lock,
}

impl Operation {
    fn verb(self) -> &'static str {
        match self {
            Operation::Open => "open",
            Operation::Append | Operation::Replace => "write",
            Operation::Sync => "sync",
            Operation::Truncate => "shorten",
            Operation::Measure => "measure",
            Operation::Read => "read",
            Operation::SyncDir => "sync the folder",
            Operation::List => "list the folder",
            Operation::CreateDir => "make the folder",
            Operation::Rename => "rename",
            Operation::Remove => "remove",
            Operation::Lock => "lock",
        }
    }

    /// Whether the operation takes room on the disk.
    fn takes_room(self) -> bool {
        use Operation::{Append, CreateDir, Open, Replace};
        matches!(self, Append | Replace | CreateDir | Open)
    }
}

/// The way in which an operation fails.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DiskFault {
    /// Nothing is done.
    Refused(io::ErrorKind),
    /// The operation succeeds, but the disk reports a failure.
    DoneAllTheSame(io::ErrorKind),
    /// An append writes only the first few bytes. Other operations fail as with `Refused`.
    Short(io::ErrorKind),
    /// An append writes only the first few bytes, and zeros for the others. Other operations fail
    /// as with `Refused`.
    Torn(io::ErrorKind),
}

impl DiskFault {
    fn kind(self) -> io::ErrorKind {
        match self {
            DiskFault::Refused(kind)
            | DiskFault::DoneAllTheSame(kind)
            | DiskFault::Short(kind)
            | DiskFault::Torn(kind) => kind,
        }
    }
}

/// A disk that fails on purpose. Its clones are the same disk.
#[derive(Debug, Clone)]
pub struct FailingFiles {
    inner: Arc<dyn Files>,
    plan: Arc<Mutex<Plan>>,
}

#[derive(Debug)]
struct Plan {
    chance: SplitMix64,
    done: BTreeMap<Operation, u64>,
    faults: Vec<(Operation, u64, DiskFault)>,
    full: bool,
    one_in: usize,
}

impl FailingFiles {
    /// Wraps `inner`, with no fault planned.
    #[must_use]
    pub fn over(inner: Arc<dyn Files>, seed: u64) -> Self {
        let plan = Plan {
            chance: SplitMix64::new(seed),
            done: BTreeMap::new(),
            faults: Vec::new(),
            full: false,
            one_in: 0,
        };
        Self {
            inner,
            plan: Arc::new(Mutex::new(plan)),
        }
    }

    /// Lets the `nth` operation of this kind fail, counted from 1 from now on.
    pub fn fail(&self, operation: Operation, nth: u64, fault: DiskFault) {
        let mut plan = self.plan();
        let at = plan.done(operation) + nth;
        plan.faults.push((operation, at, fault));
    }

    /// Fills or frees the disk. On a full disk every operation that needs room fails, and an
    /// append writes a part.
    pub fn set_full(&self, full: bool) {
        self.plan().full = full;
    }

    /// Lets one in `times` of all writing operations fail, in a way chosen by the seed. 0 ends
    /// that.
    pub fn fail_one_in(&self, times: usize) {
        self.plan().one_in = times;
    }

    /// Number of times that an operation was called.
    #[must_use]
    pub fn count(&self, operation: Operation) -> u64 {
        self.plan().done(operation)
    }

    fn plan(&self) -> MutexGuard<'_, Plan> {
        self.plan.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn run<T>(
        &self,
        operation: Operation,
        path: &Path,
        act: impl FnOnce() -> Result<T, FileError>,
    ) -> Result<T, FileError> {
        let Some(fault) = self.plan().next(operation) else {
            return act();
        };
        if let DiskFault::DoneAllTheSame(_) = fault {
            act()?;
        }
        Err(failed(operation, path, fault))
    }
}

fn failed(operation: Operation, path: &Path, fault: DiskFault) -> FileError {
    FileError::new(operation.verb(), path, fault.kind().into())
}

impl Plan {
    fn done(&self, operation: Operation) -> u64 {
        self.done.get(&operation).copied().unwrap_or(0)
    }

    fn next(&mut self, operation: Operation) -> Option<DiskFault> {
        let count = self.done.entry(operation).or_default();
        *count += 1;
        let now = *count;
        if self.full && operation.takes_room() {
            return Some(DiskFault::Short(io::ErrorKind::StorageFull));
        }
        let planned = self
            .faults
            .iter()
            .position(|(what, at, _)| (*what, *at) == (operation, now));
        if let Some(planned) = planned {
            return Some(self.faults.swap_remove(planned).2);
        }
        self.by_chance(operation)
    }

    fn by_chance(&mut self, operation: Operation) -> Option<DiskFault> {
        use Operation::{Append, CreateDir, Rename, Replace, Sync, SyncDir, Truncate};
        let writes = matches!(
            operation,
            Append | CreateDir | Rename | Replace | Sync | SyncDir | Truncate
        );
        if !writes || !self.chance.one_in(self.one_in) {
            return None;
        }
        let kind = if operation.takes_room() && self.chance.one_in(2) {
            io::ErrorKind::StorageFull
        } else {
            io::ErrorKind::Other
        };
        let faults = [
            DiskFault::Refused(kind),
            DiskFault::DoneAllTheSame(kind),
            DiskFault::Short(kind),
            DiskFault::Torn(kind),
        ];
        Some(faults[self.chance.up_to(faults.len() - 1)])
    }
}

impl Files for FailingFiles {
    fn open_append(&self, path: &Path) -> Result<Box<dyn AppendFile>, FileError> {
        let inner = self.run(Operation::Open, path, || self.inner.open_append(path))?;
        Ok(Box::new(FailingAppend {
            inner,
            files: self.clone(),
            path: path.to_owned(),
        }))
    }

    fn read(&self, path: &Path) -> Result<Vec<u8>, FileError> {
        self.run(Operation::Read, path, || self.inner.read(path))
    }

    fn len(&self, path: &Path) -> Result<u64, FileError> {
        self.run(Operation::Measure, path, || self.inner.len(path))
    }

    fn read_end(&self, path: &Path, most: usize) -> Result<Vec<u8>, FileError> {
        self.run(Operation::Read, path, || self.inner.read_end(path, most))
    }

    fn replace(&self, path: &Path, bytes: &[u8]) -> Result<(), FileError> {
        self.run(Operation::Replace, path, || self.inner.replace(path, bytes))
    }

    fn sync_dir(&self, path: &Path) -> Result<(), FileError> {
        self.run(Operation::SyncDir, path, || self.inner.sync_dir(path))
    }

    fn list(&self, path: &Path) -> Result<Vec<Listed>, FileError> {
        self.run(Operation::List, path, || self.inner.list(path))
    }

    fn create_dir(&self, path: &Path) -> Result<(), FileError> {
        self.run(Operation::CreateDir, path, || self.inner.create_dir(path))
    }

    fn rename(&self, from: &Path, to: &Path) -> Result<(), FileError> {
        self.run(Operation::Rename, from, || self.inner.rename(from, to))
    }

    fn remove(&self, path: &Path) -> Result<(), FileError> {
        self.run(Operation::Remove, path, || self.inner.remove(path))
    }

    fn try_lock(&self, path: &Path) -> Result<Option<Box<dyn Send + Sync>>, FileError> {
        self.run(Operation::Lock, path, || self.inner.try_lock(path))
    }
}

#[derive(Debug)]
struct FailingAppend {
    inner: Box<dyn AppendFile>,
    files: FailingFiles,
    path: PathBuf,
}

impl AppendFile for FailingAppend {
    fn append(&mut self, bytes: &[u8]) -> Result<(), FileError> {
        let (fault, part) = {
            let mut plan = self.files.plan();
            let Some(fault) = plan.next(Operation::Append) else {
                drop(plan);
                return self.inner.append(bytes);
            };
            (fault, plan.chance.up_to(bytes.len().saturating_sub(1)))
        };
        match fault {
            DiskFault::Refused(_) => {}
            DiskFault::DoneAllTheSame(_) => self.inner.append(bytes)?,
            DiskFault::Short(_) => self.inner.append(&bytes[..part])?,
            DiskFault::Torn(_) => {
                let mut torn = bytes.to_vec();
                torn[part..].fill(0);
                self.inner.append(&torn)?;
            }
        }
        Err(failed(Operation::Append, &self.path, fault))
    }

    fn sync_data(&mut self) -> Result<(), FileError> {
        let (files, path) = (self.files.clone(), self.path.clone());
        files.run(Operation::Sync, &path, || self.inner.sync_data())
    }

    fn truncate(&mut self, len: u64) -> Result<(), FileError> {
        let (files, path) = (self.files.clone(), self.path.clone());
        files.run(Operation::Truncate, &path, || self.inner.truncate(len))
    }

    fn len(&self) -> Result<u64, FileError> {
        self.files
            .run(Operation::Measure, &self.path, || self.inner.len())
    }
}
