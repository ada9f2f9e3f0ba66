//! The machine's own disk.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use super::{AppendFile, FileError, Files, Listed};

/// The machine's own disk.
#[derive(Debug, Clone, Copy, Default)]
pub struct RealFiles;

impl Files for RealFiles {
    fn open_append(&self, path: &Path) -> Result<Box<dyn AppendFile>, FileError> {
        let file = owners_own().create(true).append(true).open(path);
        let file = file.map_err(|source| FileError::new("open", path, source))?;
        Ok(Box::new(RealAppend {
            file,
            path: path.to_owned(),
        }))
    }

    fn read(&self, path: &Path) -> Result<Vec<u8>, FileError> {
        fs::read(path).map_err(|source| FileError::new("read", path, source))
    }

    fn len(&self, path: &Path) -> Result<u64, FileError> {
        let found = fs::metadata(path);
        Ok(found
            .map_err(|source| FileError::new("measure", path, source))?
            .len())
    }

    fn read_end(&self, path: &Path, most: usize) -> Result<Vec<u8>, FileError> {
        let read = || {
            let mut file = File::open(path)?;
            let len = file.metadata()?.len();
            let start = len.saturating_sub(most as u64);
            file.seek(SeekFrom::Start(start))?;
            let mut bytes = Vec::new();
            // No more than was asked for, though the file may be growing meanwhile.
            file.take(len - start).read_to_end(&mut bytes)?;
            Ok(bytes)
        };
        read().map_err(|source| FileError::new("read", path, source))
    }

    fn read_part(&self, path: &Path, from: u64, most: usize) -> Result<Vec<u8>, FileError> {
        let read = || {
            let mut file = File::open(path)?;
            file.seek(SeekFrom::Start(from))?;
            let mut bytes = Vec::new();
            file.take(most as u64).read_to_end(&mut bytes)?;
            Ok(bytes)
        };
        read().map_err(|source| FileError::new("read", path, source))
    }

    fn replace(&self, path: &Path, bytes: &[u8]) -> Result<(), FileError> {
        let fault = |source| FileError::new("write", path, source);
        let temporary = temporary_beside(path);
        let written = (|| {
            // A leftover may be readable by others, and keeps its rights when it is opened.
            let _ = fs::remove_file(&temporary);
            let mut file = owners_own().create_new(true).write(true).open(&temporary)?;
            file.write_all(bytes)?;
            file.sync_all()?;
            fs::rename(&temporary, path)
        })();
        if written.is_err() {
            // The first error is the one worth telling; a leftover is overwritten next time.
            let _ = fs::remove_file(&temporary);
        }
        written.map_err(fault)?;
        self.sync_dir(parent(path))
    }

    fn sync_dir(&self, path: &Path) -> Result<(), FileError> {
        sync_folder(path).map_err(|source| FileError::new("sync the folder", path, source))
    }

    fn list(&self, path: &Path) -> Result<Vec<Listed>, FileError> {
        let fault = |source| FileError::new("list the folder", path, source);
        let mut names = Vec::new();
        for entry in fs::read_dir(path).map_err(fault)? {
            let entry = entry.map_err(fault)?;
            let is_dir = entry.file_type().map_err(fault)?.is_dir();
            // What is kept has printable names; anything else in the folder is not the store's.
            if let Ok(name) = entry.file_name().into_string() {
                names.push(Listed { name, is_dir });
            }
        }
        names.sort();
        Ok(names)
    }

    fn create_dir(&self, path: &Path) -> Result<(), FileError> {
        if path.is_dir() || path.as_os_str().is_empty() {
            return Ok(());
        }
        let above = parent(path);
        if above != path {
            self.create_dir(above)?;
        }
        match create_folder(path) {
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists && path.is_dir() => {}
            other => other.map_err(|source| FileError::new("make the folder", path, source))?,
        }
        self.sync_dir(above)
    }

    fn rename(&self, from: &Path, to: &Path) -> Result<(), FileError> {
        let fault = |source| FileError::new("rename", from, source);
        if to.exists() {
            let taken = io::Error::new(
                io::ErrorKind::AlreadyExists,
                format!("{} is there already", to.display()),
            );
            return Err(fault(taken));
        }
        fs::rename(from, to).map_err(fault)?;
        self.sync_dir(parent(to))?;
        if parent(from) != parent(to) {
            self.sync_dir(parent(from))?;
        }
        Ok(())
    }

    fn remove(&self, path: &Path) -> Result<(), FileError> {
        let gone = match fs::symlink_metadata(path) {
            Ok(found) if found.is_dir() => fs::remove_dir_all(path),
            Ok(_) => fs::remove_file(path),
            Err(error) => Err(error),
        };
        match gone {
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(()),
            other => other.map_err(|source| FileError::new("remove", path, source)),
        }
    }

    #[cfg(unix)]
    fn keep_to_owner(&self, path: &Path) -> Result<(), FileError> {
        use std::os::unix::fs::{MetadataExt, PermissionsExt};
        let keep = || {
            let found = fs::symlink_metadata(path)?;
            // A link has no rights of its own, and what it leads to may be anyone's. A folder with
            // the sticky bit is shared by many users.
            let shared = found.is_dir() && found.mode() & 0o1000 != 0;
            if found.file_type().is_symlink() || shared || found.mode() & 0o077 == 0 {
                return Ok(());
            }
            fs::set_permissions(path, fs::Permissions::from_mode(found.mode() & 0o700))
        };
        keep().map_err(|source| FileError::new("keep to its owner", path, source))
    }

    fn try_lock(&self, path: &Path) -> Result<Option<Box<dyn Send + Sync>>, FileError> {
        let fault = |source| FileError::new("lock", path, source);
        let file = owners_own()
            .create(true)
            .truncate(false)
            .read(true)
            .write(true)
            .open(path)
            .map_err(fault)?;
        match file.try_lock() {
            Ok(()) => Ok(Some(Box::new(file))),
            Err(TryLockError::WouldBlock) => Ok(None),
            Err(TryLockError::Error(source)) => Err(fault(source)),
        }
    }
}

#[derive(Debug)]
struct RealAppend {
    file: File,
    path: PathBuf,
}

impl RealAppend {
    fn fault(&self, doing: &'static str) -> impl Fn(io::Error) -> FileError {
        let path = self.path.clone();
        move |source| FileError::new(doing, &path, source)
    }
}

impl AppendFile for RealAppend {
    fn append(&mut self, bytes: &[u8]) -> Result<(), FileError> {
        self.file.write_all(bytes).map_err(self.fault("write"))
    }

    fn sync_data(&mut self) -> Result<(), FileError> {
        self.file.sync_data().map_err(self.fault("sync"))
    }

    fn truncate(&mut self, len: u64) -> Result<(), FileError> {
        // Windows shortens no file that was opened for appending alone.
        let shorten = match cfg!(windows) {
            true => OpenOptions::new()
                .write(true)
                .open(&self.path)
                .and_then(|file| file.set_len(len)),
            false => self.file.set_len(len),
        };
        shorten.map_err(self.fault("shorten"))
    }

    fn len(&self) -> Result<u64, FileError> {
        Ok(self.file.metadata().map_err(self.fault("measure"))?.len())
    }
}

/// Opens files that, where they are created, nobody but their owner can read or write.
fn owners_own() -> OpenOptions {
    let options = OpenOptions::new();
    #[cfg(unix)]
    let options = {
        let mut options = options;
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
        options
    };
    options
}

/// Makes a folder that nobody but its owner can enter.
fn create_folder(path: &Path) -> io::Result<()> {
    let builder = fs::DirBuilder::new();
    #[cfg(unix)]
    let builder = {
        let mut builder = builder;
        std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
        builder
    };
    builder.create(path)
}

fn parent(path: &Path) -> &Path {
    match path.parent() {
        Some(above) if above.as_os_str().is_empty() => Path::new("."),
        Some(above) => above,
        None => path,
    }
}

fn temporary_beside(path: &Path) -> PathBuf {
    let mut name = std::ffi::OsString::from(".");
    name.push(path.file_name().unwrap_or_default());
    name.push(".new");
    path.with_file_name(name)
}

#[cfg(unix)]
fn sync_folder(path: &Path) -> io::Result<()> {
    File::open(path)?.sync_all()
}

/// A system that cannot open a folder as a file writes names through by itself.
#[cfg(not(unix))]
fn sync_folder(_path: &Path) -> io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn replacing_leaves_the_new_content_and_no_other_file() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("engine.toml");
        RealFiles.replace(&path, b"old").unwrap();
        RealFiles.replace(&path, b"new").unwrap();
        assert_eq!(RealFiles.read(&path).unwrap(), b"new");
        let names = RealFiles.list(folder.path()).unwrap();
        assert_eq!(
            names,
            [Listed {
                name: "engine.toml".into(),
                is_dir: false
            }]
        );
    }

    #[test]
    fn the_end_of_a_file_is_read_alone() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("journal");
        RealFiles.replace(&path, b"0123456789").unwrap();
        assert_eq!(RealFiles.read_end(&path, 3).unwrap(), b"789");
        assert_eq!(RealFiles.read_end(&path, 30).unwrap(), b"0123456789");
    }

    #[test]
    fn a_name_that_is_taken_is_not_written_over() {
        let folder = tempfile::tempdir().unwrap();
        let (from, to) = (folder.path().join("a"), folder.path().join("b"));
        RealFiles.replace(&from, b"a").unwrap();
        RealFiles.replace(&to, b"b").unwrap();
        let error = RealFiles.rename(&from, &to).unwrap_err();
        assert!(error.to_string().contains("is there already"), "{error}");
        assert_eq!(RealFiles.read(&to).unwrap(), b"b");
    }

    #[test]
    fn a_second_lock_is_refused_until_the_first_is_dropped() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("lock");
        let first = RealFiles.try_lock(&path).unwrap();
        assert!(first.is_some());
        assert!(RealFiles.try_lock(&path).unwrap().is_none());
        drop(first);
        assert!(RealFiles.try_lock(&path).unwrap().is_some());
    }

    #[test]
    #[cfg(unix)]
    fn what_is_made_is_the_owners_alone_and_what_was_there_becomes_so() {
        use std::os::unix::fs::PermissionsExt;
        let rights = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
        let top = tempfile::tempdir().unwrap();
        let folder = top.path().join("a/b");
        let [kept, added, lock] = ["kept", "added", "lock"].map(|name| folder.join(name));
        RealFiles.create_dir(&folder).unwrap();
        // A leftover of an earlier write, readable by all.
        fs::write(folder.join(".kept.new"), b"").unwrap();
        RealFiles.replace(&kept, b"x").unwrap();
        RealFiles.open_append(&added).unwrap();
        let _held = RealFiles.try_lock(&lock).unwrap();
        assert_eq!(
            (rights(&top.path().join("a")), rights(&folder)),
            (0o700, 0o700)
        );
        for file in [&kept, &added, &lock] {
            assert_eq!(rights(file), 0o600, "{}", file.display());
        }

        for (path, before) in [(&kept, 0o644), (&folder, 0o755)] {
            fs::set_permissions(path, fs::Permissions::from_mode(before)).unwrap();
            RealFiles.keep_to_owner(path).unwrap();
            assert_eq!(rights(path), before & 0o700);
        }
        // Shared by many users, as /tmp is.
        fs::set_permissions(&folder, fs::Permissions::from_mode(0o1777)).unwrap();
        RealFiles.keep_to_owner(&folder).unwrap();
        assert_eq!(rights(&folder), 0o777);
    }

    #[test]
    fn a_missing_file_says_its_path_and_what_to_do() {
        let error = RealFiles.read(Path::new("/nowhere/at/all")).unwrap_err();
        assert!(error.is_missing());
        assert!(
            error
                .to_string()
                .starts_with("could not read /nowhere/at/all: "),
            "{error}"
        );
        assert!(error.to_string().ends_with("; check the path"), "{error}");
    }
}
