//! Reads an archive and believes nothing that it does not say of itself and keep.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{Read, Seek};

use crate::store::anchor::ANCHOR;
use crate::store::archive::entries::{cut_off, each_entry, in_pieces, only_zeros, whole};
use crate::store::archive::fault::ArchiveFault;
use crate::store::archive::manifest::{
    ArchiveManifest, MANIFEST, PackedFile, PackedStreams, is_of_job, stream_of,
};
use crate::store::journal::JOURNAL;
use crate::store::other_journals::station_of;

/// An archive whose every file is what its manifest says.
#[derive(Debug)]
pub(crate) struct ReadArchive {
    /// What it says of itself.
    pub manifest: ArchiveManifest,
    /// The bytes of its journals and of how the own one ends, by name. Its other files stay where they
    /// are.
    pub record: BTreeMap<String, Vec<u8>>,
}

impl ReadArchive {
    /// The bytes of a file of the record, none where it is not there.
    pub(crate) fn file(&self, name: &str) -> &[u8] {
        self.record.get(name).map(Vec::as_slice).unwrap_or_default()
    }
}

/// Whether a file is held when an archive is read.
pub(crate) fn is_of_record(name: &str) -> bool {
    [JOURNAL, ANCHOR].contains(&name) || station_of(name).is_some()
}

/// Reads an archive from its beginning to its end. What the record in it says is not looked at.
///
/// # Errors
/// Where it is no archive of a job, or anything in it is not as its manifest says.
pub(crate) fn read(from: &mut (impl Read + Seek)) -> Result<ReadArchive, ArchiveFault> {
    let mut read: Option<ReadArchive> = None;
    let (mut listed, mut seen) = (BTreeMap::new(), BTreeSet::new());
    let end = each_entry(from, |name, entry, _| {
        let Some(archive) = &mut read else {
            if name != MANIFEST {
                return Err(ArchiveFault::Strange(format!(
                    "it begins with {name:?} and not with {MANIFEST:?}"
                )));
            }
            let size = entry.size();
            let text = whole(name, entry)?;
            if text.len() as u64 != size {
                return Err(cut_off());
            }
            let manifest = ArchiveManifest::read(&text)?;
            listed = files_of(&manifest)?;
            read = Some(ReadArchive {
                manifest,
                record: BTreeMap::new(),
            });
            return Ok(());
        };
        if !is_of_job(name) {
            return Err(ArchiveFault::entry(name, "no file of a job is called so"));
        }
        let said = listed.get(name);
        let said = said
            .ok_or_else(|| ArchiveFault::entry(name, "its manifest does not name such a file"))?;
        if said.length != entry.size() {
            let why = format!(
                "it has {} bytes and its manifest says {}",
                entry.size(),
                said.length
            );
            return Err(ArchiveFault::entry(name, &why));
        }
        let mut held = is_of_record(name).then(Vec::new);
        let (length, blake3) = in_pieces(name, entry, |piece| {
            if let Some(held) = &mut held {
                held.extend_from_slice(piece);
            }
            Ok(())
        })?;
        let found = PackedFile {
            name: name.to_owned(),
            length,
            blake3,
        };
        if found.length != said.length {
            return Err(cut_off());
        }
        if found != *said {
            let why = format!("the bytes of {name} give another hash than its manifest says");
            return Err(ArchiveFault::Damaged(why));
        }
        if !seen.insert(name.to_owned()) {
            return Err(ArchiveFault::entry(name, "it stands there twice"));
        }
        if let Some(held) = held {
            archive.record.insert(name.to_owned(), held);
        }
        Ok(())
    })?;
    only_zeros(from, end)?;
    match listed.keys().find(|name| !seen.contains(*name)) {
        Some(missing) => Err(ArchiveFault::Damaged(format!("{missing} is missing"))),
        None => read.ok_or_else(|| ArchiveFault::Strange("it is empty".to_owned())),
    }
}

/// The files that a manifest names, each of which an archive may hold.
fn files_of(manifest: &ArchiveManifest) -> Result<BTreeMap<String, PackedFile>, ArchiveFault> {
    let (mut listed, mut folded) = (BTreeMap::new(), BTreeSet::new());
    for file in &manifest.files {
        let name = file.name.as_str();
        if !is_of_job(name) {
            return Err(ArchiveFault::entry(name, "no file of a job is called so"));
        }
        if manifest.streams == PackedStreams::LeftOut && stream_of(name).is_some() {
            let why = "its manifest says that streams were left out";
            return Err(ArchiveFault::entry(name, why));
        }
        listed.insert(name.to_owned(), file.clone());
        // Not every file system tells capital letters apart.
        if !folded.insert(name.to_ascii_lowercase()) {
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
