//! Writes a backup, file after file, while others may go on writing.

use std::io::Write;
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use tar::Builder;

use super::manifest::{
    BackedUpJob, BackupManifest, FOLDERS, FORMAT, MANIFEST, MANIFEST_HASH, SHOP, is_mark,
    is_of_backup,
};
use super::progress::BackupProgress;
use crate::store::anchor::{ANCHOR, Anchor};
use crate::store::archive::entries::{FilePieces, header};
use crate::store::archive::manifest::PackedFile;
use crate::store::archive::pack::{Beside, beside};
use crate::store::error::StoreError;
use crate::store::fact::content_hash;
use crate::store::journal::JOURNAL;
use crate::store::other_journals;
use crate::store::reader::Reader;
use crate::store::scan::scan;
use crate::store::station::STATION;
use benchhand_files::{FileError, Files};

/// Writes the whole data folder to `out`: every job as its last whole line has it, the gauge
/// register, the shop's profiles, routes and name. A damaged record is written as it is and told in
/// the manifest.
///
/// # Errors
/// When the disk refuses, or a file shrinks or goes away meanwhile. What is in `out` then is no
/// backup.
pub(crate) fn back_up(
    reader: &Reader,
    now: Timestamp,
    out: impl Write,
    told: &mut dyn FnMut(BackupProgress<'_>),
) -> Result<BackupManifest, StoreError> {
    let root = reader.layout().root().to_owned();
    let files = &**reader.files();
    let jobs = reader.job_names()?;
    let shop = shops_own(files, &root)?;
    let mut total = 0;
    for job in &jobs {
        total += job_bytes(files, &reader.layout().job(job))?;
    }
    for name in &shop {
        total += files.len(&root.join(name))?;
    }
    let mut writing = Writing {
        to: Builder::new(out),
        root,
        files,
        listed: Vec::new(),
        done: 0,
        total,
        told,
    };
    let mut backed_up = Vec::new();
    for job in jobs {
        backed_up.push(writing.job(&job)?);
    }
    for name in &shop {
        writing.file(name)?;
    }
    writing.finished(BackupManifest {
        format: FORMAT,
        program: concat!("benchhand ", env!("CARGO_PKG_VERSION")).to_owned(),
        made: now.to_string(),
        jobs: backed_up,
        files: Vec::new(),
    })
}

/// The shop's own files: register, profiles, routes, name and mark.
fn shops_own(files: &dyn Files, root: &Path) -> Result<Vec<String>, StoreError> {
    let mut names = Vec::new();
    for folder in FOLDERS {
        let listed = match files.list(&root.join(folder)) {
            Err(error) if error.is_missing() => continue,
            other => other?,
        };
        let plain = listed.into_iter().filter(|one| !one.is_dir);
        let named = plain.map(|one| format!("{folder}/{}", one.name));
        names.extend(named.filter(|name| is_of_backup(name)));
    }
    if files.len(&root.join(STATION)).is_ok() {
        names.push(STATION.to_owned());
    }
    let text = match files.read(&root.join(SHOP)) {
        Err(error) if error.is_missing() => return Ok(names),
        other => other?,
    };
    names.push(SHOP.to_owned());
    #[derive(serde::Deserialize)]
    struct Shop {
        mark: Option<String>,
    }
    // What cannot be read names no mark.
    let shop = std::str::from_utf8(&text).ok();
    let shop = shop.and_then(|text| toml::from_str::<Shop>(text).ok());
    let mark = shop.and_then(|shop| shop.mark).filter(|mark| is_mark(mark));
    names.extend(mark.filter(|mark| files.len(&root.join(mark)).is_ok()));
    Ok(names)
}

/// How many bytes a job's files have now.
fn job_bytes(files: &dyn Files, dir: &Path) -> Result<u64, StoreError> {
    let beside = beside(files, dir)?;
    let mut bytes = match files.len(&dir.join(JOURNAL)) {
        Err(error) if error.is_missing() => 0,
        other => other?,
    };
    let stations = other_journals::names(files, dir)?;
    for name in beside.names.iter().chain(&stations).chain(&beside.streams) {
        bytes += files.len(&dir.join(name))?;
    }
    Ok(bytes)
}

/// A backup that is being written.
struct Writing<'a, W: Write> {
    to: Builder<W>,
    root: PathBuf,
    files: &'a dyn Files,
    listed: Vec<PackedFile>,
    done: u64,
    total: u64,
    told: &'a mut dyn FnMut(BackupProgress<'_>),
}

impl<W: Write> Writing<'_, W> {
    /// A job: its record up to the last whole line, and what lies beside it.
    fn job(&mut self, job: &str) -> Result<BackedUpJob, StoreError> {
        let name = |file: &str| format!("jobs/{job}/{file}");
        let dir = self.root.join(name(""));
        // The anchor first: it never knows more than the journal that is read after it.
        let anchor = Anchor::read(self.files, &dir);
        let path = dir.join(JOURNAL);
        let beside = beside(self.files, &dir)?;
        let stations = other_journals::names(self.files, &dir)?;
        let mut journal = match self.files.read(&path) {
            // A job of which this station has said nothing.
            Err(error) if error.is_missing() && !stations.is_empty() => {
                return self.others_alone(job, &beside, &stations);
            }
            other => other?,
        };
        let scan = scan(&path, &journal, anchor.as_ref(), |_| Ok(()));
        let wrong = scan.record.map(|fault| fault.to_string());
        let wrong = wrong.or_else(|| scan.damage.first().map(ToString::to_string));
        let end = Anchor {
            seq: scan.next_seq.saturating_sub(1),
            hash: scan.last_hash,
        };
        match &wrong {
            // Who mends it wants all of it.
            Some(_) => {
                if let Ok(bytes) = self.files.read(&dir.join(ANCHOR)) {
                    self.bytes(&name(ANCHOR), &bytes)?;
                }
            }
            None => {
                journal.truncate(usize::try_from(scan.sound_len).unwrap_or(usize::MAX));
                self.bytes(&name(ANCHOR), end.text().as_bytes())?;
            }
        }
        self.bytes(&name(JOURNAL), &journal)?;
        drop(journal);
        for file in beside.names.iter().chain(&stations).chain(&beside.streams) {
            self.file(&name(file))?;
        }
        Ok(BackedUpJob {
            job: job.to_owned(),
            end,
            damage: wrong,
        })
    }

    /// A job of which other stations alone have journals.
    fn others_alone(
        &mut self,
        job: &str,
        beside: &Beside,
        stations: &[String],
    ) -> Result<BackedUpJob, StoreError> {
        for file in beside.names.iter().chain(stations).chain(&beside.streams) {
            self.file(&format!("jobs/{job}/{file}"))?;
        }
        Ok(BackedUpJob {
            job: job.to_owned(),
            end: Anchor::of_nothing(),
            damage: None,
        })
    }

    /// A file as long as it is now; one that grows meanwhile is cut there.
    fn file(&mut self, name: &str) -> Result<(), StoreError> {
        let path = self.root.join(name);
        let length = self.files.len(&path)?;
        let mut content = FilePieces::new(self.files, &path, length);
        let fault = |error| FileError::new("back up", &path, error);
        (self.told)(BackupProgress {
            done: self.done,
            total: self.total,
            doing: name,
        });
        let header = header(name, length).map_err(fault)?;
        self.to.append(&header, &mut content).map_err(fault)?;
        let hash = content.hash();
        self.entered(name, length, hash);
        Ok(())
    }

    /// A file of these bytes.
    fn bytes(&mut self, name: &str, bytes: &[u8]) -> Result<(), StoreError> {
        self.raw(name, bytes)?;
        self.entered(name, bytes.len() as u64, content_hash(bytes));
        Ok(())
    }

    fn raw(&mut self, name: &str, bytes: &[u8]) -> Result<(), StoreError> {
        let fault = |error| FileError::new("back up", Path::new(name), error);
        let header = header(name, bytes.len() as u64).map_err(fault)?;
        self.to.append(&header, bytes).map_err(fault)?;
        Ok(())
    }

    fn entered(&mut self, name: &str, length: u64, blake3: String) {
        self.done += length;
        (self.told)(BackupProgress {
            done: self.done,
            total: self.total,
            doing: name,
        });
        self.listed.push(PackedFile {
            name: name.to_owned(),
            length,
            blake3,
        });
    }

    /// Writes the manifest, its hash, and the end.
    fn finished(mut self, manifest: BackupManifest) -> Result<BackupManifest, StoreError> {
        let manifest = BackupManifest {
            files: std::mem::take(&mut self.listed),
            ..manifest
        };
        let fault = |error| FileError::new("back up", Path::new(MANIFEST), error);
        let mut text = serde_json::to_vec_pretty(&manifest).map_err(|e| fault(e.into()))?;
        text.push(b'\n');
        self.raw(MANIFEST, &text)?;
        self.raw(MANIFEST_HASH, content_hash(&text).as_bytes())?;
        let mut out = self.to.into_inner().map_err(fault)?;
        out.flush().map_err(fault)?;
        Ok(manifest)
    }
}
