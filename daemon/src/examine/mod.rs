//! Looks at the machine: what it tells of itself, and what is to be said of it.
//!
//! Everything is read below one root, so that tests can look at a made-up machine. Nothing is
//! started, opened or changed here; whether a port can be opened is the drivers' to say.

pub(crate) mod daytime;
pub(crate) mod folders;
pub(crate) mod latency;
pub(crate) mod ports;
pub(crate) mod processes;
pub(crate) mod space;

use std::path::{Path, PathBuf};

use benchhand_wire::{MachineFinding, MachinePart, MachineState};

/// The files by which a machine tells of itself: `proc`, `sys`, `etc` and `dev` below one root.
#[derive(Debug, Clone)]
pub(crate) struct MachineTree {
    root: PathBuf,
}

impl MachineTree {
    /// The machine on which this process runs.
    pub(crate) fn of_this_machine() -> MachineTree {
        MachineTree {
            root: PathBuf::from("/"),
        }
    }

    /// The place of an absolute path of the machine.
    pub(crate) fn at(&self, path: &str) -> PathBuf {
        self.root.join(path.trim_start_matches('/'))
    }

    /// A file's text without the blanks around it, if the file can be read.
    pub(crate) fn text(&self, path: &str) -> Option<String> {
        let bytes = std::fs::read(self.at(path)).ok()?;
        Some(String::from_utf8_lossy(&bytes).trim().to_owned())
    }

    /// What lies in a folder, in order of name; nothing where the folder is not there.
    pub(crate) fn listed(&self, path: &str) -> Vec<String> {
        let entries = std::fs::read_dir(self.at(path)).into_iter().flatten();
        let names = entries.filter_map(|entry| entry.ok()?.file_name().into_string().ok());
        let mut names: Vec<String> = names.collect();
        names.sort();
        names
    }
}

/// The user on whose behalf this process runs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct MachineUser {
    /// The user's number.
    pub(crate) id: u32,
}

impl MachineUser {
    /// The user of this process; `None` where the system does not number its users.
    pub(crate) fn of_this_process() -> Option<MachineUser> {
        #[cfg(unix)]
        {
            Some(MachineUser {
                id: rustix::process::geteuid().as_raw(),
            })
        }
        #[cfg(not(unix))]
        None
    }

    /// The user's name by the machine's list of users.
    pub(crate) fn name(&self, tree: &MachineTree) -> Option<String> {
        let users = tree.text("/etc/passwd")?;
        let lines = users.lines().map(|line| line.split(':'));
        lines
            .map(|mut line| (line.next(), line.nth(1)))
            .find(|(_, id)| id.and_then(|id| id.parse().ok()) == Some(self.id))
            .and_then(|(name, _)| name.map(str::to_owned))
    }
}

/// A finding with nothing to do.
pub(crate) fn fine(about: MachinePart, found: impl Into<String>) -> MachineFinding {
    finding(about, MachineState::Fine, found, "")
}

/// A finding, and what to do next.
pub(crate) fn finding(
    about: MachinePart,
    state: MachineState,
    found: impl Into<String>,
    todo: impl Into<String>,
) -> MachineFinding {
    MachineFinding {
        about,
        state,
        found: found.into(),
        todo: todo.into(),
    }
}

/// The nearest folder of a path that is there: the path itself, or one above it.
pub(crate) fn nearest_there(path: &Path) -> Option<&Path> {
    path.ancestors().find(|above| above.is_dir())
}

#[cfg(test)]
pub(crate) mod made_up {
    //! A machine that a test makes up.

    use super::MachineTree;

    /// A made-up machine; its files go with it.
    #[derive(Debug)]
    pub(crate) struct MadeUpMachine {
        folder: tempfile::TempDir,
    }

    impl MadeUpMachine {
        /// A machine without any file.
        pub(crate) fn empty() -> MadeUpMachine {
            MadeUpMachine {
                folder: tempfile::tempdir().expect("a folder"),
            }
        }

        /// The same with one more file.
        pub(crate) fn with(self, path: &str, text: &str) -> MadeUpMachine {
            let path = self.tree().at(path);
            std::fs::create_dir_all(path.parent().expect("a folder")).expect("made");
            std::fs::write(path, text).expect("written");
            self
        }

        /// A process of this number and name, started by these words.
        pub(crate) fn running(self, id: u32, name: &str, words: &[&str]) -> MadeUpMachine {
            self.with(&format!("/proc/{id}/comm"), &format!("{name}\n"))
                .with(
                    &format!("/proc/{id}/cmdline"),
                    &format!("{}\0", words.join("\0")),
                )
        }

        /// Its files.
        pub(crate) fn tree(&self) -> MachineTree {
            MachineTree {
                root: self.folder.path().to_owned(),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_user_is_named_by_the_machine_s_list() {
        let machine = made_up::MadeUpMachine::empty().with(
            "/etc/passwd",
            "root:x:0:0::/root:/bin/sh\nanna:x:1000:1000:Anna:/home/anna:/bin/sh\n",
        );
        let user = |id| MachineUser { id };
        assert_eq!(user(1000).name(&machine.tree()).as_deref(), Some("anna"));
        assert_eq!(user(7).name(&machine.tree()), None);
    }
}
