//! The entries of a tar, one after another and each in pieces, so that no file is held as a whole
//! because it is packed or unpacked.

use std::io::{self, Read, Seek, SeekFrom};
use std::path::Path;

use tar::{Archive, Entry, EntryType, Header};

use crate::store::archive::fault::ArchiveFault;
use benchhand_files::Files;

/// The size of a tar's blocks, bytes (POSIX.1-2017, `pax`, ustar interchange format).
pub(crate) const BLOCK: u64 = 512;

/// How many bytes of zeros end a tar at least (the same).
pub(crate) const END: u64 = 2 * BLOCK;

/// How many bytes of a file are in memory at a time.
pub(crate) const CHUNK: usize = 1 << 20;

/// The header of a plain file without owner and time.
pub(crate) fn header(name: &str, length: u64) -> io::Result<Header> {
    let mut header = Header::new_ustar();
    header.set_entry_type(EntryType::Regular);
    header.set_path(name)?;
    header.set_size(length);
    header.set_mode(0o600);
    header.set_mtime(0);
    header.set_uid(0);
    header.set_gid(0);
    header.set_cksum();
    Ok(header)
}

/// A file's first bytes, read piece by piece and hashed on the way.
pub(crate) struct FilePieces<'a> {
    files: &'a dyn Files,
    path: &'a Path,
    at: u64,
    length: u64,
    ready: io::Cursor<Vec<u8>>,
    hash: blake3::Hasher,
}

impl<'a> FilePieces<'a> {
    /// The first `length` bytes of a file.
    pub(crate) fn new(files: &'a dyn Files, path: &'a Path, length: u64) -> Self {
        Self {
            files,
            path,
            at: 0,
            length,
            ready: io::Cursor::new(Vec::new()),
            hash: blake3::Hasher::new(),
        }
    }

    /// BLAKE3 of what was read, in hexadecimal.
    pub(crate) fn hash(&self) -> String {
        self.hash.finalize().to_hex().to_string()
    }
}

impl Read for FilePieces<'_> {
    fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
        if self.at < self.length && self.ready.position() >= self.ready.get_ref().len() as u64 {
            let most = (self.length - self.at).min(CHUNK as u64);
            let most = usize::try_from(most).unwrap_or(CHUNK);
            let piece = self.files.read_part(self.path, self.at, most);
            let piece = piece.map_err(|error| io::Error::new(error.source.kind(), error))?;
            if piece.is_empty() {
                return Err(io::Error::new(
                    io::ErrorKind::UnexpectedEof,
                    "it became shorter while it was read",
                ));
            }
            self.at += piece.len() as u64;
            self.hash.update(&piece);
            self.ready = io::Cursor::new(piece);
        }
        self.ready.read(to)
    }
}

/// Hands every entry to `take` with its name and the place of its content. Returns where the last one
/// ends.
///
/// # Errors
/// Where it is no tar of plain files, or `take` refuses.
pub(crate) fn each_entry<R: Read + Seek>(
    from: &mut R,
    mut take: impl FnMut(&str, &mut Entry<'_, &mut R>, u64) -> Result<(), ArchiveFault>,
) -> Result<u64, ArchiveFault> {
    let strange = |_| ArchiveFault::Strange("it does not begin as one".to_owned());
    let length = from.seek(SeekFrom::End(0)).map_err(strange)?;
    from.seek(SeekFrom::Start(0)).map_err(strange)?;
    let mut archive = Archive::new(from);
    let (mut end, mut last) = (0, String::new());
    // Raw: what an entry says of the next one, such as a longer name, is itself refused.
    for entry in archive.entries().map_err(strange)?.raw(true) {
        let mut entry = entry.map_err(|error| match last.is_empty() {
            true => strange(error),
            false if length.saturating_sub(end) < BLOCK => cut_off(),
            false => {
                ArchiveFault::Damaged(format!("what follows on {last} cannot be read: {error}"))
            }
        })?;
        let name = String::from_utf8_lossy(&entry.path_bytes()).into_owned();
        if !entry.header().entry_type().is_file() {
            return Err(ArchiveFault::entry(&name, "it is no plain file"));
        }
        let at = entry.raw_file_position();
        let size = entry.size();
        // A size that no file has must not come to nothing by its rounding.
        let after = size.checked_next_multiple_of(BLOCK);
        end = after
            .and_then(|size| at.checked_add(size))
            .ok_or_else(cut_off)?;
        take(&name, &mut entry, at)?;
        last = name;
    }
    match last.is_empty() {
        true => Err(ArchiveFault::Strange("it is empty".to_owned())),
        false => Ok(end),
    }
}

/// Something is missing at the end.
pub(crate) fn cut_off() -> ArchiveFault {
    ArchiveFault::Damaged("its end is missing".to_owned())
}

fn unread(name: &str, error: &io::Error) -> ArchiveFault {
    ArchiveFault::Damaged(format!("{name} cannot be read: {error}"))
}

/// An entry's bytes, all of them.
///
/// # Errors
/// Where they cannot be read.
pub(crate) fn whole(name: &str, entry: &mut impl Read) -> Result<Vec<u8>, ArchiveFault> {
    let mut bytes = Vec::new();
    entry
        .read_to_end(&mut bytes)
        .map_err(|error| unread(name, &error))?;
    Ok(bytes)
}

/// Reads an entry piece by piece. Returns its length and its hash.
///
/// # Errors
/// Where it cannot be read, or `take` refuses.
pub(crate) fn in_pieces(
    name: &str,
    entry: &mut impl Read,
    mut take: impl FnMut(&[u8]) -> Result<(), ArchiveFault>,
) -> Result<(u64, String), ArchiveFault> {
    let (mut hash, mut length, mut piece) = (blake3::Hasher::new(), 0, vec![0; CHUNK]);
    loop {
        let count = entry
            .read(&mut piece)
            .map_err(|error| unread(name, &error))?;
        if count == 0 {
            return Ok((length, hash.finalize().to_hex().to_string()));
        }
        hash.update(&piece[..count]);
        take(&piece[..count])?;
        length += count as u64;
    }
}

/// Refuses a tail, from `end` on, that is none of a tar's.
///
/// # Errors
/// Where it is too short, or holds anything.
pub(crate) fn only_zeros(from: &mut (impl Read + Seek), end: u64) -> Result<(), ArchiveFault> {
    let length = from.seek(SeekFrom::End(0)).map_err(|_| cut_off())?;
    let tail = length.checked_sub(end).ok_or_else(cut_off)?;
    if tail < END {
        return Err(cut_off());
    }
    from.seek(SeekFrom::Start(end)).map_err(|_| cut_off())?;
    let mut zeros = true;
    let tail = &mut from.take(tail);
    in_pieces("the end", tail, |piece| {
        zeros &= piece.iter().all(|byte| *byte == 0);
        Ok(())
    })?;
    match zeros {
        true => Ok(()),
        false => Err(ArchiveFault::Damaged(
            "something follows on its end".to_owned(),
        )),
    }
}
