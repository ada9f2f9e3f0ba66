//! Reads an archive and believes nothing that it does not say of itself and keep.

use std::collections::BTreeMap;

use tar::Archive;

use crate::store::anchor::ANCHOR;
use crate::store::archive::fault::ArchiveFault;
use crate::store::archive::manifest::{
    ArchiveManifest, MANIFEST, PackedFile, PackedStreams, is_of_job, stream_of,
};
use crate::store::journal::JOURNAL;

/// The size of a tar's blocks, bytes (POSIX.1-2017, `pax`, ustar interchange format).
const BLOCK: u64 = 512;

/// How many bytes of zeros end a tar at least (the same).
const END: usize = 2 * BLOCK as usize;

/// An archive whose every file is what its manifest says.
#[derive(Debug)]
pub(crate) struct ReadArchive<'a> {
    /// What it says of itself.
    pub manifest: ArchiveManifest,
    /// The bytes of its files, by name.
    pub files: BTreeMap<String, &'a [u8]>,
}

impl ReadArchive<'_> {
    /// The bytes of a file, none where it is not there.
    pub(crate) fn file(&self, name: &str) -> &[u8] {
        self.files.get(name).copied().unwrap_or_default()
    }
}

/// Reads an archive whole. The record in it is not looked at.
///
/// # Errors
/// Where it is no archive of a job, or anything in it is not as its manifest says.
pub(crate) fn read(bytes: &[u8]) -> Result<ReadArchive<'_>, ArchiveFault> {
    let entries = entries(bytes)?;
    let ((first, text), rest) = entries
        .split_first()
        .ok_or_else(|| ArchiveFault::Strange("it is empty".to_owned()))?;
    if first != MANIFEST {
        return Err(ArchiveFault::Strange(format!(
            "it begins with {first:?} and not with {MANIFEST:?}"
        )));
    }
    let manifest = ArchiveManifest::read(text)?;
    let listed = listed(&manifest)?;
    let mut files = BTreeMap::new();
    for (name, bytes) in rest {
        let said = listed.get(name.as_str());
        let said = said
            .ok_or_else(|| ArchiveFault::entry(name, "its manifest does not name such a file"))?;
        if said.length != bytes.len() as u64 {
            let why = format!(
                "it has {} bytes and its manifest says {}",
                bytes.len(),
                said.length
            );
            return Err(ArchiveFault::entry(name, &why));
        }
        if **said != PackedFile::of(name, bytes) {
            let why = format!("the bytes of {name} give another hash than its manifest says");
            return Err(ArchiveFault::Damaged(why));
        }
        if files.insert(name.clone(), *bytes).is_some() {
            return Err(ArchiveFault::entry(name, "it stands there twice"));
        }
    }
    match listed.keys().find(|name| !files.contains_key(**name)) {
        Some(missing) => Err(ArchiveFault::Damaged(format!("{missing} is missing"))),
        None => Ok(ReadArchive { manifest, files }),
    }
}

/// The files that a manifest names, each of which an archive may hold.
fn listed(manifest: &ArchiveManifest) -> Result<BTreeMap<&str, &PackedFile>, ArchiveFault> {
    let (mut listed, mut folded) = (BTreeMap::new(), BTreeMap::new());
    for file in &manifest.files {
        let name = file.name.as_str();
        if !is_of_job(name) {
            return Err(ArchiveFault::entry(name, "no file of a job is called so"));
        }
        if manifest.streams == PackedStreams::LeftOut && stream_of(name).is_some() {
            let why = "its manifest says that streams were left out";
            return Err(ArchiveFault::entry(name, why));
        }
        listed.insert(name, file);
        // Not every file system tells capital letters apart.
        if folded.insert(name.to_ascii_lowercase(), name).is_some() {
            return Err(ArchiveFault::entry(name, "its manifest names it twice"));
        }
    }
    // Of a job of several stations, who packed it may have said nothing.
    let needed: &[&str] = match manifest.station {
        None => &[JOURNAL, ANCHOR],
        Some(_) => &[],
    };
    match needed.iter().find(|n| !listed.contains_key(**n)) {
        Some(missing) => Err(ArchiveFault::Damaged(format!("{missing} is missing"))),
        None => Ok(listed),
    }
}

/// The entries of a tar in their order, each with its bytes.
fn entries(bytes: &[u8]) -> Result<Vec<(String, &[u8])>, ArchiveFault> {
    let strange = |_| ArchiveFault::Strange("it does not begin as one".to_owned());
    let cut_off = || ArchiveFault::Damaged("its end is missing".to_owned());
    let (mut all, mut end) = (Vec::new(), 0_u64);
    let mut archive = Archive::new(bytes);
    // Raw: what an entry says of the next one, such as a longer name, is itself refused.
    for entry in archive.entries().map_err(strange)?.raw(true) {
        let entry = entry.map_err(|error| {
            let left = (bytes.len() as u64).saturating_sub(end);
            match all.last() {
                None => strange(error),
                Some(_) if left < BLOCK => cut_off(),
                Some((name, _)) => {
                    ArchiveFault::Damaged(format!("what follows on {name} cannot be read: {error}"))
                }
            }
        })?;
        let name = String::from_utf8_lossy(&entry.path_bytes()).into_owned();
        if !entry.header().entry_type().is_file() {
            return Err(ArchiveFault::entry(&name, "it is no plain file"));
        }
        if name != MANIFEST && !is_of_job(&name) {
            return Err(ArchiveFault::entry(&name, "no file of a job is called so"));
        }
        let (begin, size) = (entry.raw_file_position(), entry.size());
        let here = usize::try_from(begin).ok().zip(usize::try_from(size).ok());
        let content = here.and_then(|(begin, size)| bytes.get(begin..begin.checked_add(size)?));
        all.push((name, content.ok_or_else(cut_off)?));
        end = begin + size.next_multiple_of(BLOCK);
    }
    let tail = usize::try_from(end).ok().and_then(|end| bytes.get(end..));
    match tail {
        Some(tail) if tail.len() >= END && tail.iter().all(|byte| *byte == 0) => Ok(all),
        _ => Err(cut_off()),
    }
}
