//! What lies on a disk in memory: as it is now, and as it would be after a power cut.

use std::collections::BTreeMap;
use std::io;
use std::path::{Component, Path, PathBuf};
use std::sync::Weak;

use crate::seeded::SplitMix64;

/// What a disk writes at once; a torn write loses whole blocks.
const BLOCK: usize = 512;

#[derive(Debug)]
pub(super) struct State {
    pub(super) nodes: Vec<Node>,
    pub(super) locks: BTreeMap<PathBuf, Weak<()>>,
    /// How often the power was cut: a file that was open then is of no use any more.
    pub(super) cuts: u64,
}

#[derive(Debug, Clone)]
pub(super) enum Node {
    File {
        safe: Vec<u8>,
        now: Vec<u8>,
    },
    Folder {
        safe: Names,
        now: Names,
        pending: Vec<Change>,
    },
}

pub(super) type Names = BTreeMap<String, usize>;

/// One change of a folder's names that is not synced, in the order they were made.
#[derive(Debug, Clone)]
pub(super) enum Change {
    Add(String, usize),
    Remove(String),
    Rename { from: String, to: String },
}

const ROOT: usize = 0;

impl Default for State {
    fn default() -> Self {
        Self {
            nodes: vec![Node::folder()],
            locks: BTreeMap::new(),
            cuts: 0,
        }
    }
}

impl Node {
    pub(super) fn folder() -> Self {
        Node::Folder {
            safe: Names::new(),
            now: Names::new(),
            pending: Vec::new(),
        }
    }
}

pub(super) fn what_is_left(safe: &[u8], now: &[u8], chance: &mut SplitMix64) -> Vec<u8> {
    let Some(added) = now.strip_prefix(safe) else {
        // It was cut shorter or written anew: the disk has the one or the other.
        return if chance.one_in(2) {
            safe.to_vec()
        } else {
            now.to_vec()
        };
    };
    let mut left = safe.to_vec();
    left.extend_from_slice(&added[..chance.up_to(added.len())]);
    if left.len() > safe.len() && chance.one_in(4) {
        let start = safe.len() + chance.up_to(left.len() - safe.len() - 1);
        let start = (start / BLOCK * BLOCK).max(safe.len());
        let end = (start + BLOCK).min(left.len());
        left[start..end].fill(0);
    }
    left
}

impl Change {
    pub(super) fn apply(self, names: &mut Names) {
        match self {
            Change::Add(name, node) => drop(names.insert(name, node)),
            Change::Remove(name) => drop(names.remove(&name)),
            Change::Rename { from, to } => {
                if let Some(node) = names.remove(&from) {
                    names.insert(to, node);
                }
            }
        }
    }
}

impl State {
    pub(super) fn find(&self, path: &Path) -> io::Result<usize> {
        let mut at = ROOT;
        for component in path.components() {
            let Component::Normal(name) = component else {
                continue;
            };
            let Node::Folder { now, .. } = &self.nodes[at] else {
                return Err(io::ErrorKind::NotADirectory.into());
            };
            at = *now
                .get(&*name.to_string_lossy())
                .ok_or(io::ErrorKind::NotFound)?;
        }
        Ok(at)
    }

    pub(super) fn parent(&self, path: &Path) -> io::Result<(usize, String)> {
        let name = path.file_name().ok_or(io::ErrorKind::InvalidInput)?;
        let above = self.find(path.parent().unwrap_or(Path::new("")))?;
        Ok((above, name.to_string_lossy().into_owned()))
    }

    pub(super) fn change(&mut self, folder: usize, change: Change) -> io::Result<()> {
        let Node::Folder { now, pending, .. } = &mut self.nodes[folder] else {
            return Err(io::ErrorKind::NotADirectory.into());
        };
        change.clone().apply(now);
        pending.push(change);
        Ok(())
    }

    pub(super) fn sync_folder(&mut self, folder: usize) -> io::Result<()> {
        let Node::Folder { safe, now, pending } = &mut self.nodes[folder] else {
            return Err(io::ErrorKind::NotADirectory.into());
        };
        safe.clone_from(now);
        pending.clear();
        Ok(())
    }

    pub(super) fn add(&mut self, path: &Path, node: Node) -> io::Result<(usize, usize)> {
        let (above, name) = self.parent(path)?;
        let id = self.nodes.len();
        self.nodes.push(node);
        self.change(above, Change::Add(name, id))?;
        Ok((above, id))
    }

    pub(super) fn file(&mut self, node: usize) -> io::Result<(&mut Vec<u8>, &mut Vec<u8>)> {
        match &mut self.nodes[node] {
            Node::File { safe, now } => Ok((safe, now)),
            Node::Folder { .. } => Err(io::ErrorKind::IsADirectory.into()),
        }
    }
}
