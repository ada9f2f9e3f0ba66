//! A disk in memory that forgets what was not synced when its power is cut.
//!
//! It is meaner than most disks. Any part of what was appended and not synced may survive, with
//! a block of zeros in it, and each folder may have forgotten its latest names. It deliberately
//! keeps one promise that real file systems keep too: a rename is there whole or not at all.

mod state;

use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use self::state::{Change, Node, State, what_is_left};
use benchhand_files::{AppendFile, FileError, Files, Listed};

use crate::seeded::SplitMix64;

/// A disk in memory. Its clones are the same disk.
#[derive(Debug, Clone, Default)]
pub struct MemoryDisk {
    state: Arc<Mutex<State>>,
}

impl MemoryDisk {
    /// An empty disk with its root folder.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Cuts the power. `seed` decides what is left of everything that was not synced. Files that
    /// were open give errors from now on; locks are free.
    pub fn cut_power(&self, seed: u64) {
        let mut chance = SplitMix64::new(seed);
        let mut state = self.state();
        state.cuts += 1;
        state.locks.clear();
        for node in &mut state.nodes {
            match node {
                Node::File { safe, now } => {
                    *safe = what_is_left(safe, now, &mut chance);
                    now.clone_from(safe);
                }
                Node::Folder { safe, now, pending } => {
                    let kept = chance.up_to(pending.len());
                    for change in pending.drain(..).take(kept) {
                        change.apply(safe);
                    }
                    now.clone_from(safe);
                }
            }
        }
    }

    /// Changes one byte of a file for good, as a failing disk does in silence.
    ///
    /// # Panics
    /// When there is no such file or byte: that is a mistake in the test.
    pub fn rot(&self, path: &Path, offset: usize, byte: u8) {
        let mut state = self.state();
        let found = state.find(path).expect("a file to rot");
        let Node::File { safe, now } = &mut state.nodes[found] else {
            panic!("{} is a folder", path.display());
        };
        for content in [safe, now] {
            if let Some(place) = content.get_mut(offset) {
                *place = byte;
            }
        }
    }

    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn with<T>(
        &self,
        doing: &'static str,
        path: &Path,
        act: impl FnOnce(&mut State) -> io::Result<T>,
    ) -> Result<T, FileError> {
        act(&mut self.state()).map_err(|source| FileError::new(doing, path, source))
    }
}

impl Files for MemoryDisk {
    fn open_append(&self, path: &Path) -> Result<Box<dyn AppendFile>, FileError> {
        let (node, cuts) = self.with("open", path, |state| {
            let node = match state.find(path) {
                Err(error) if error.kind() == io::ErrorKind::NotFound => {
                    state
                        .add(
                            path,
                            Node::File {
                                safe: Vec::new(),
                                now: Vec::new(),
                            },
                        )?
                        .1
                }
                other => other?,
            };
            state.file(node)?;
            Ok((node, state.cuts))
        })?;
        Ok(Box::new(MemoryAppend {
            disk: self.clone(),
            path: path.to_owned(),
            node,
            cuts,
        }))
    }

    fn read(&self, path: &Path) -> Result<Vec<u8>, FileError> {
        self.with("read", path, |state| {
            let node = state.find(path)?;
            Ok(state.file(node)?.1.clone())
        })
    }

    fn len(&self, path: &Path) -> Result<u64, FileError> {
        self.with("measure", path, |state| {
            let node = state.find(path)?;
            Ok(state.file(node)?.1.len() as u64)
        })
    }

    fn read_end(&self, path: &Path, most: usize) -> Result<Vec<u8>, FileError> {
        let mut bytes = self.read(path)?;
        Ok(bytes.split_off(bytes.len().saturating_sub(most)))
    }

    fn replace(&self, path: &Path, bytes: &[u8]) -> Result<(), FileError> {
        self.with("write", path, |state| {
            let (above, _) = state.add(
                path,
                Node::File {
                    safe: bytes.to_vec(),
                    now: bytes.to_vec(),
                },
            )?;
            state.sync_folder(above)
        })
    }

    fn sync_dir(&self, path: &Path) -> Result<(), FileError> {
        self.with("sync the folder", path, |state| {
            let folder = state.find(path)?;
            state.sync_folder(folder)
        })
    }

    fn list(&self, path: &Path) -> Result<Vec<Listed>, FileError> {
        self.with("list the folder", path, |state| {
            match &state.nodes[state.find(path)?] {
                Node::File { .. } => Err(io::ErrorKind::NotADirectory.into()),
                Node::Folder { now, .. } => Ok(now
                    .iter()
                    .map(|(name, node)| Listed {
                        name: name.clone(),
                        is_dir: matches!(state.nodes[*node], Node::Folder { .. }),
                    })
                    .collect()),
            }
        })
    }

    fn create_dir(&self, path: &Path) -> Result<(), FileError> {
        if let Some(above) = path.parent() {
            self.create_dir(above)?;
        }
        self.with("make the folder", path, |state| match state.find(path) {
            Ok(node) if matches!(state.nodes[node], Node::Folder { .. }) => Ok(()),
            Ok(_) => Err(io::ErrorKind::AlreadyExists.into()),
            Err(_) => {
                let (above, _) = state.add(path, Node::folder())?;
                state.sync_folder(above)
            }
        })
    }

    fn rename(&self, from: &Path, to: &Path) -> Result<(), FileError> {
        self.with("rename", from, |state| {
            let node = state.find(from)?;
            if state.find(to).is_ok() {
                return Err(io::ErrorKind::AlreadyExists.into());
            }
            let ((old, from), (new, to)) = (state.parent(from)?, state.parent(to)?);
            if old == new {
                state.change(old, Change::Rename { from, to })?;
            } else {
                state.change(new, Change::Add(to, node))?;
                state.sync_folder(new)?;
                state.change(old, Change::Remove(from))?;
            }
            state.sync_folder(old)
        })
    }

    fn remove(&self, path: &Path) -> Result<(), FileError> {
        self.with("remove", path, |state| {
            if state.find(path).is_err() {
                return Ok(());
            }
            let (above, name) = state.parent(path)?;
            state.change(above, Change::Remove(name))
        })
    }

    fn try_lock(&self, path: &Path) -> Result<Option<Box<dyn Send + Sync>>, FileError> {
        self.with("lock", path, |state| {
            if state.find(path).is_err() {
                state.add(
                    path,
                    Node::File {
                        safe: Vec::new(),
                        now: Vec::new(),
                    },
                )?;
            }
            if state
                .locks
                .get(path)
                .is_some_and(|held| held.strong_count() > 0)
            {
                return Ok(None);
            }
            let held = Arc::new(());
            state.locks.insert(path.to_owned(), Arc::downgrade(&held));
            Ok(Some(Box::new(held) as Box<dyn Send + Sync>))
        })
    }
}

#[derive(Debug)]
struct MemoryAppend {
    disk: MemoryDisk,
    path: PathBuf,
    node: usize,
    cuts: u64,
}

impl MemoryAppend {
    fn with<T>(
        &self,
        doing: &'static str,
        act: impl FnOnce(&mut Vec<u8>, &mut Vec<u8>) -> T,
    ) -> Result<T, FileError> {
        self.disk.with(doing, &self.path, |state| {
            if state.cuts != self.cuts {
                return Err(io::Error::other(
                    "the power was cut since the file was opened",
                ));
            }
            let (safe, now) = state.file(self.node)?;
            Ok(act(safe, now))
        })
    }
}

impl AppendFile for MemoryAppend {
    fn append(&mut self, bytes: &[u8]) -> Result<(), FileError> {
        self.with("write", |_, now| now.extend_from_slice(bytes))
    }

    fn sync_data(&mut self) -> Result<(), FileError> {
        self.with("sync", |safe, now| safe.clone_from(now))
    }

    fn truncate(&mut self, len: u64) -> Result<(), FileError> {
        self.with("shorten", |_, now| {
            now.truncate(usize::try_from(len).unwrap_or(usize::MAX))
        })
    }

    fn len(&self) -> Result<u64, FileError> {
        self.with("measure", |_, now| now.len() as u64)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn content_after_cut(seed: u64) -> Vec<u8> {
        let disk = MemoryDisk::new();
        let path = Path::new("/journal");
        let mut file = disk.open_append(path).unwrap();
        disk.sync_dir(Path::new("/")).unwrap();
        file.append(b"kept").unwrap();
        file.sync_data().unwrap();
        file.append(b"-perhaps").unwrap();
        disk.cut_power(seed);
        assert!(
            file.append(b"more").is_err(),
            "a file opened before the cut still writes"
        );
        disk.read(path).unwrap()
    }

    #[test]
    fn a_cut_keeps_what_was_synced_and_some_of_the_rest() {
        let left: Vec<_> = (0..200).map(content_after_cut).collect();
        assert!(left.iter().all(|content| content.starts_with(b"kept")));
        assert!(left.iter().any(|content| content == b"kept"));
        assert!(left.iter().any(|content| content == b"kept-perhaps"));
        assert!(
            left.iter().any(|content| content.contains(&0)),
            "no block was ever torn"
        );
    }

    #[test]
    fn a_name_that_was_not_synced_can_be_gone_after_a_cut() {
        let gone = (0..50).filter(|seed| {
            let disk = MemoryDisk::new();
            disk.open_append(Path::new("/new"))
                .unwrap()
                .sync_data()
                .unwrap();
            disk.cut_power(*seed);
            disk.read(Path::new("/new")).is_err()
        });
        assert!((1..50).contains(&gone.count()));
    }

    #[test]
    fn a_replaced_file_is_there_whole_after_a_cut() {
        for seed in 0..50 {
            let disk = MemoryDisk::new();
            disk.replace(Path::new("/engine.toml"), b"old").unwrap();
            disk.replace(Path::new("/engine.toml"), b"new").unwrap();
            disk.cut_power(seed);
            assert_eq!(disk.read(Path::new("/engine.toml")).unwrap(), b"new");
        }
    }
}
