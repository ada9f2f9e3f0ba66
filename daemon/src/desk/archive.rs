//! A job as one file: packs it, and takes one in.

use std::fs::File;
use std::io::{BufReader, BufWriter, Cursor, Read, Seek, Write};
use std::path::Path;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use benchhand_wire::{
    Ask as _, JobPacked, JobUnpacked, LARGEST_ARCHIVE, PackJob, Reason, Refusal, UnpackJob,
};
use serde_json::Value;

use super::long_work::{Counted, WorkProgress};
use super::{Answers, Desk};
use crate::known::refusals::of_store;
use crate::known::shown;
use crate::store::anchor::Anchor;
use crate::store::archive::manifest::PackedStreams;
use crate::store::archive::pack::Packing;
use crate::store::fact::content_hash;
use crate::store::summary::JobSummary;

impl Desk {
    /// A job that is to be packed, as of its last acknowledged fact.
    pub(crate) fn packing(&self, ask: &PackJob) -> Result<Packing, Refusal> {
        self.packing_followed(ask, &WorkProgress::default())
    }

    fn packing_followed(&self, ask: &PackJob, progress: &WorkProgress) -> Result<Packing, Refusal> {
        let (view, _) = self.keeper.view(&ask.job)?;
        let mut end = view.head().map(|head| Anchor {
            seq: head.seq,
            hash: head.hash.clone(),
        });
        // Of several journals the own one grows meanwhile.
        if let (Some(_), Some(end)) = (self.keeper.station()?, &mut end)
            && let Some(own) = self.keeper.own_head(&ask.job)?
        {
            end.hash = own.hash;
        }
        let streams = match ask.without_streams {
            true => PackedStreams::LeftOut,
            false => PackedStreams::Packed,
        };
        self.keeper.with_store(|store| {
            progress.begins("reading its files", 0);
            let read = |bytes| progress.add(bytes);
            let packing = store
                .reader()
                .packing(&ask.job, end.as_ref(), streams, &read);
            packing.map_err(|error| of_store(&error))
        })
    }

    /// Writes a job's archive.
    ///
    /// # Errors
    /// Where the disk refuses, or a file is not as it was. What is in `out` then is no archive.
    pub(crate) fn write_packed(&self, packing: &Packing, out: impl Write) -> Result<(), Refusal> {
        let written = packing.write(self.keeper.files(), out);
        written.map_err(|error| of_store(&error))
    }

    /// Takes a job in from bytes that came by a form, once for each key.
    ///
    /// # Errors
    /// As for the request.
    pub(crate) fn take_in_sent(
        &self,
        (file, bytes): (&str, &[u8]),
        name: Option<&str>,
        key: &str,
    ) -> Result<String, Refusal> {
        let path = UnpackJob::PATH;
        let request = format!("{path} form {file:?} {name:?} {}", content_hash(bytes));
        let take = || {
            let taken = self.take_in(&mut Cursor::new(bytes), file, name)?;
            Ok(Value::String(taken.summary.name))
        };
        let print = blake3::hash(request.as_bytes());
        let job = self.repeats.once(key, print, Box::new(take))?;
        Ok(job.as_str().unwrap_or_default().to_owned())
    }

    fn take_in(
        &self,
        archive: &mut (impl Read + Seek),
        file: &str,
        name: Option<&str>,
    ) -> Result<JobUnpacked, Refusal> {
        if let Some(name) = name {
            super::jobs::may_be_called(name)?;
        }
        let unpacked = self.keeper.unpack(archive, name);
        let unpacked = unpacked.map_err(|refusal| told_of(refusal, file))?;
        let view = unpacked.view;
        // The index knows a job's readings once they are told, and only of a job that is open.
        if self.keeper.view(view.name()).is_ok() {
            let touched: Vec<u64> = view.readings().map(|reading| reading.id).collect();
            self.keeper.tell_lists(view.name(), &touched);
        }
        let copy_of = shown::copy_of(&view);
        let files = unpacked.manifest.files.len() as u64;
        let summary = JobSummary::of(&view);
        let title = summary.title.clone().unwrap_or_default();
        Ok(JobUnpacked {
            summary: shown::job(&summary, title, &self.keeper.layout()),
            files,
            without_streams: unpacked.manifest.streams == PackedStreams::LeftOut,
            copy_of,
        })
    }
}

impl Answers<PackJob> for Desk {
    fn answer(&self, ask: PackJob, _: Option<&str>) -> Result<JobPacked, Refusal> {
        let work = self.works.begin(ask.work.as_deref())?;
        let out = ask.path.as_deref().map(empty_file).transpose()?;
        let packing = self.packing_followed(&ask, work.progress())?;
        let bytes = packing.length();
        work.progress().begins("writing the file", bytes);
        let archive = match out {
            Some(mut file) => {
                let to = Counted::new(&mut file, work.progress());
                self.write_packed(&packing, BufWriter::with_capacity(1 << 20, to))?;
                let path = ask.path.as_deref().unwrap_or_default();
                file.sync_all().map_err(|error| unusable(path, &error))?;
                None
            }
            None => {
                let fits = packing.at_most(LARGEST_ARCHIVE);
                fits.map_err(|fault| of_store(&fault.into()))?;
                // Encoded as it is written, so that it is held once.
                let room = bytes.div_ceil(3).saturating_mul(4);
                let text = String::with_capacity(usize::try_from(room).unwrap_or(0));
                let mut to = base64::write::EncoderStringWriter::from_consumer(text, &STANDARD);
                self.write_packed(&packing, Counted::new(&mut to, work.progress()))?;
                Some(to.into_inner())
            }
        };
        let end = packing.manifest.end;
        Ok(JobPacked {
            archive,
            bytes,
            files: packing.manifest.files.len() as u64,
            seq: end.seq,
            head: end.hash,
            streams_left_out: packing.streams_left_out as u64,
            foreign: packing.foreign,
        })
    }
}

impl Answers<UnpackJob> for Desk {
    fn answer(&self, ask: UnpackJob, _: Option<&str>) -> Result<JobUnpacked, Refusal> {
        let UnpackJob {
            archive,
            path,
            file,
            name,
            work,
        } = ask;
        let name = name.as_deref();
        let work = self.works.begin(work.as_deref())?;
        match (archive, path) {
            (Some(archive), None) => {
                let bytes = STANDARD.decode(&archive).map_err(|error| {
                    let found = format!("{file} did not come as base64: {error}");
                    Refusal::new(Reason::BadInput, found)
                })?;
                drop(archive);
                let length = bytes.len() as u64;
                let mut from = taken_from(Cursor::new(bytes), length, work.progress());
                self.take_in(&mut from, &file, name)
            }
            (None, Some(path)) => {
                whole_path(&path)?;
                let from = File::open(&path).map_err(|error| unusable(&path, &error))?;
                let length = from.metadata().map_or(0, |about| about.len());
                let mut from = taken_from(BufReader::new(from), length, work.progress());
                self.take_in(&mut from, &file, name)
            }
            _ => Err(
                Refusal::new(Reason::BadInput, "which file is meant is not said")
                    .expected("the archive itself, or its path on this machine"),
            ),
        }
    }
}

/// An archive of `length` bytes, which is read twice: checked first, then taken in.
fn taken_from<T>(from: T, length: u64, progress: &WorkProgress) -> Counted<'_, T> {
    progress.begins(
        "checking the file, then taking it in",
        length.saturating_mul(2),
    );
    Counted::new(from, progress)
}

/// An empty file, to be filled.
fn empty_file(path: &str) -> Result<File, Refusal> {
    whole_path(path)?;
    let refused = |error: std::io::Error| unusable(path, &error);
    let file = File::options().append(true).open(path).map_err(refused)?;
    match file.metadata().map_err(refused)?.len() {
        0 => Ok(file),
        _ => {
            let found = format!("{path} holds something already; it was left as it is");
            Err(Refusal::new(Reason::Conflict, found).todo("make an empty file and name that"))
        }
    }
}

/// Another program may stand in another folder.
fn whole_path(path: &str) -> Result<(), Refusal> {
    match Path::new(path).is_absolute() {
        true => Ok(()),
        false => {
            let found = format!("{path:?} is no whole path");
            Err(Refusal::new(Reason::BadInput, found).expected("one that begins at the root"))
        }
    }
}

fn unusable(path: &str, error: &std::io::Error) -> Refusal {
    let reason = match error.kind() {
        std::io::ErrorKind::NotFound => Reason::NotFound,
        _ => Reason::Storage,
    };
    Refusal::new(reason, format!("{path} cannot be used: {error}"))
}

/// The refusal with the file's name, and with the way on where a name is taken.
fn told_of(refusal: Refusal, file: &str) -> Refusal {
    let todo = match refusal.reason {
        Reason::Conflict => {
            "give the job another name with --as: it becomes a copy that says whose it is"
        }
        Reason::Damaged => "take another copy of the file, or pack the job anew",
        _ => return refusal,
    };
    let found = format!("{file}: {}", refusal.found);
    Refusal { found, ..refusal }.todo(todo)
}
