//! The data folder, and how to find the daemon that works on it.
//!
//! This module knows the handshake file of the local API, `daemon.json`, and no other stored file.

use std::io;
use std::path::{Path, PathBuf};

use benchhand_wire::{Reason, Refusal};
use serde::Deserialize;

/// The file in the data folder that tells where the daemon listens.
const FILE: &str = "daemon.json";

/// The address at which a daemon said it listens. It may have ended since.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub(crate) struct Handshake {
    /// `127.0.0.1:PORT`.
    pub(crate) address: String,
    /// The secret of that daemon's run. It is never sent.
    pub(crate) token: String,
    /// The daemon's process.
    pub(crate) pid: u32,
}

/// The given data folder, or the platform's.
///
/// # Errors
/// No folder is given and the platform names none, as for a user without a home.
pub(crate) fn folder(given: Option<&Path>) -> Result<PathBuf, Refusal> {
    if let Some(given) = given {
        return Ok(given.to_owned());
    }
    directories::ProjectDirs::from("", "", "benchhand")
        .map(|dirs| dirs.data_dir().to_owned())
        .ok_or_else(|| {
            Refusal::new(
                Reason::NotFound,
                "this user has no home folder to keep data in",
            )
            .todo("name a folder with --data DIR or in BENCHHAND_DATA")
        })
}

/// The handshake that the daemon of this folder wrote last. `None` if there is none, or if the
/// file is not understood; a running daemon writes it again.
///
/// # Errors
/// The file is there and this user may not read it.
pub(crate) fn handshake(data: &Path) -> Result<Option<Handshake>, Refusal> {
    let path = data.join(FILE);
    match std::fs::read_to_string(&path) {
        Ok(text) => Ok(serde_json::from_str(&text)
            .inspect_err(|error| tracing::debug!("{}: {error}", path.display()))
            .ok()),
        Err(error) if error.kind() == io::ErrorKind::PermissionDenied => Err(Refusal::new(
            Reason::Unauthorised,
            format!("{} belongs to another user", path.display()),
        )
        .todo("work as the user who runs the daemon, or with a data folder of your own (--data)")),
        Err(_) => Ok(None),
    }
}

/// Reads a text file that the user named.
///
/// # Errors
/// The file is missing, may not be read, or is not UTF-8 text.
pub(crate) fn read_text(path: &Path) -> Result<String, Refusal> {
    let shown = path.display();
    read_bytes(path, "name a text file")
        .and_then(|bytes| {
            String::from_utf8(bytes).map_err(|error| {
                let at = error.utf8_error().valid_up_to();
                Refusal::new(
                    Reason::BadInput,
                    format!("{shown} is not UTF-8 text: byte {at} does not fit"),
                )
                .todo("save it as plain text in UTF-8")
            })
        })
        .map(|text| {
            text.strip_prefix('\u{feff}')
                .map(str::to_owned)
                .unwrap_or(text)
        })
}

/// Reads a file that the user named. `todo` says what to do where it is none.
///
/// # Errors
/// The file is missing or cannot be read.
pub(crate) fn read_bytes(path: &Path, todo: &str) -> Result<Vec<u8>, Refusal> {
    std::fs::read(path).map_err(|error| unread(path, &error, todo))
}

/// Makes sure that a file can be read that the user named. `todo` as for [`read_bytes`].
///
/// # Errors
/// As for [`read_bytes`].
pub(crate) fn readable(path: &Path, todo: &str) -> Result<(), Refusal> {
    let opened = std::fs::File::open(path).and_then(|file| file.metadata());
    match opened {
        Ok(about) if about.is_dir() => {
            let found = format!("{} is a folder", path.display());
            Err(Refusal::new(Reason::BadInput, found).todo(todo))
        }
        Ok(_) => Ok(()),
        Err(error) => Err(unread(path, &error, todo)),
    }
}

fn unread(path: &Path, error: &io::Error, todo: &str) -> Refusal {
    let shown = path.display();
    match error.kind() {
        io::ErrorKind::NotFound => {
            Refusal::new(Reason::NotFound, format!("there is no file {shown}"))
                .todo("check the name; it is looked for from the folder you are in")
        }
        io::ErrorKind::PermissionDenied => Refusal::new(
            Reason::BadInput,
            format!("{shown} may not be read by this user"),
        )
        .todo("change its permissions, or copy it to where you may read it"),
        _ => Refusal::new(Reason::BadInput, format!("{shown} cannot be read: {error}")).todo(todo),
    }
}

/// A file's name as shown in messages.
pub(crate) fn shown(path: &Path) -> String {
    path.display().to_string()
}
