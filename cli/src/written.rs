//! Writes the files that a command makes: whole or not at all, and over nothing unless asked.

use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use benchhand_wire::{Reason, Refusal};

/// Writes a file. With `force` it replaces an existing file.
///
/// # Errors
/// A file is there already, or the disk refuses. Then nothing has changed.
pub(crate) fn whole(path: &Path, bytes: &[u8], force: bool) -> Result<(), Refusal> {
    free(path, force)?;
    let part = beside(path)?;
    let written = part_written(&part, bytes).and_then(|()| named(&part, path, force));
    let cleared = match std::fs::remove_file(&part) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
        _ => Ok(()),
    };
    match written {
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => Err(taken(path)),
        other => other.and(cleared).map_err(|error| refused(path, &error)),
    }
}

/// Writes a file piece by piece, as `fill` does. With `force` it replaces an existing file.
///
/// # Errors
/// As [`whole`], or as `fill`. Then nothing has changed.
pub(crate) fn streamed<T>(
    path: &Path,
    force: bool,
    fill: impl FnOnce(&mut io::BufWriter<std::fs::File>) -> Result<T, Refusal>,
) -> Result<T, Refusal> {
    free(path, force)?;
    let part = beside(path)?;
    let write = || {
        let file = std::fs::File::create(&part).map_err(|error| refused(path, &error))?;
        let mut file = io::BufWriter::with_capacity(1 << 20, file);
        let filled = fill(&mut file)?;
        let file = file
            .into_inner()
            .map_err(|error| refused(path, error.error()))?;
        file.sync_all().map_err(|error| refused(path, &error))?;
        named(&part, path, force).map_err(|error| match error.kind() {
            io::ErrorKind::AlreadyExists => taken(path),
            _ => refused(path, &error),
        })?;
        Ok(filled)
    };
    let written = write();
    // The part is no longer needed: the file has its own name by now, or it was not written.
    let _ = std::fs::remove_file(&part);
    written
}

/// Has `fill` write into an empty file under another name, which then gets its own. With `force` it takes
/// the place of one that is there.
///
/// # Errors
/// As [`whole`], or as `fill`. Then nothing has changed.
pub(crate) fn filled<T>(
    path: &Path,
    force: bool,
    fill: impl FnOnce(&Path) -> Result<T, Refusal>,
) -> Result<T, Refusal> {
    streamed(path, force, |file| {
        // Another program opens it by its name.
        let part = beside(path)?;
        let filled = fill(&part).map_err(|refusal| Refusal {
            found: refusal
                .found
                .replace(&*part.to_string_lossy(), &path.to_string_lossy()),
            ..refusal
        })?;
        file.flush().map_err(|error| refused(path, &error))?;
        Ok(filled)
    })
}

/// Refuses where a file is there already.
///
/// # Errors
/// A file is there, and it may not be written over.
pub(crate) fn free(path: &Path, force: bool) -> Result<(), Refusal> {
    match path.try_exists() {
        Ok(true) if !force => Err(taken(path)),
        Ok(true) if path.is_dir() => Err(Refusal::new(
            Reason::BadInput,
            format!("{} is a folder", path.display()),
        )
        .todo("name a file in it")),
        Ok(_) => Ok(()),
        Err(error) => Err(refused(path, &error)),
    }
}

/// Makes a folder with these files: all of them, or no folder.
///
/// # Errors
/// The folder holds something already, or the disk refuses. Then nothing has changed.
pub(crate) fn folder<'a>(
    out: &Path,
    files: impl IntoIterator<Item = (&'a str, &'a [u8])>,
) -> Result<(), Refusal> {
    if !is_free(out).map_err(|error| refused(out, &error))? {
        let found = format!(
            "{} holds something already; it was left as it is",
            out.display()
        );
        return Err(
            Refusal::new(Reason::Conflict, found).todo("name a folder that is not there yet")
        );
    }
    let part = beside(out)?;
    let fill = || {
        std::fs::create_dir(&part)?;
        for (name, bytes) in files {
            std::fs::write(part.join(name), bytes)?;
        }
        std::fs::rename(&part, out)
    };
    fill().map_err(|error| {
        // The half-written folder is of no use: the error says all that there is to know.
        let _ = std::fs::remove_dir_all(&part);
        refused(out, &error)
    })
}

/// Whether a folder can be made here: nothing is there, or an empty folder.
fn is_free(out: &Path) -> io::Result<bool> {
    match std::fs::read_dir(out) {
        Ok(mut listed) => Ok(listed.next().is_none()),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(true),
        Err(error) if error.kind() == io::ErrorKind::NotADirectory => Ok(false),
        Err(error) => Err(error),
    }
}

/// The name under which a file is written before it is whole: in the same folder, so that it can be
/// renamed.
pub(crate) fn beside(path: &Path) -> Result<PathBuf, Refusal> {
    let name = path.file_name().ok_or_else(|| {
        Refusal::new(
            Reason::BadInput,
            format!("{} names no file", path.display()),
        )
        .todo("name a file, such as build.html")
    })?;
    let mut part = std::ffi::OsString::from(".");
    part.push(name);
    part.push(format!(".{}.part", std::process::id()));
    Ok(path.with_file_name(part))
}

fn part_written(part: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut options = std::fs::OpenOptions::new();
    let mut file = options.write(true).create(true).truncate(true).open(part)?;
    file.write_all(bytes)?;
    file.sync_all()
}

/// Gives a file that is whole its name.
pub(crate) fn named(part: &Path, path: &Path, force: bool) -> io::Result<()> {
    if force {
        return std::fs::rename(part, path);
    }
    // A hard link is refused where a file of that name exists. A rename would replace that file.
    match std::fs::hard_link(part, path) {
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => Err(error),
        // Not every file system has hard links.
        Err(_) if !path.exists() => std::fs::rename(part, path),
        other => other,
    }
}

fn taken(path: &Path) -> Refusal {
    Refusal::new(
        Reason::Conflict,
        format!("{} is there already; it was left as it is", path.display()),
    )
    .todo("name another file, or give --force to write over it")
}

/// The disk's refusal.
pub(crate) fn refused(path: &Path, error: &io::Error) -> Refusal {
    let reason = match error.kind() {
        io::ErrorKind::NotFound => Reason::NotFound,
        _ => Reason::Storage,
    };
    Refusal::new(
        reason,
        format!("{} cannot be written: {error}", path.display()),
    )
    .todo("name a file in a folder that is there and that you may write to")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_that_is_there_is_left_unless_forced() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("build.html");
        whole(&path, b"first", false).expect("written");
        let refusal = whole(&path, b"second", false).expect_err("it is there");
        assert_eq!(refusal.reason, Reason::Conflict);
        assert_eq!(std::fs::read(&path).expect("there"), b"first");
        whole(&path, b"third", true).expect("forced");
        assert_eq!(std::fs::read(&path).expect("there"), b"third");
        let left = std::fs::read_dir(folder.path()).expect("listed").count();
        assert_eq!(left, 1, "no part of it is left over");
    }

    #[test]
    fn a_folder_that_is_not_there_is_said() {
        let folder = tempfile::tempdir().expect("a folder");
        let refusal = whole(&folder.path().join("no/build.html"), b"x", false).expect_err("no");
        assert_eq!(refusal.reason, Reason::NotFound);
    }
}
