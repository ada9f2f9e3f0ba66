//! A job as one file: packs it, and takes one in.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use benchhand_wire::{
    JobPacked, JobUnpacked, LARGEST_ARCHIVE, PackJob, Reason, Refusal, UnpackJob,
};

use super::{Answers, Desk};
use crate::known::refusals::of_store;
use crate::known::shown;
use crate::store::anchor::Anchor;
use crate::store::archive::manifest::PackedStreams;
use crate::store::archive::pack::PackedJob;
use crate::store::summary::JobSummary;

impl Desk {
    /// A job's archive, as of its last acknowledged fact.
    pub(crate) fn packed(&self, ask: &PackJob) -> Result<PackedJob, Refusal> {
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
            let reader = store.reader();
            let packed = reader.pack(&ask.job, end.as_ref(), streams, LARGEST_ARCHIVE);
            packed.map_err(|error| of_store(&error))
        })
    }
}

impl Answers<PackJob> for Desk {
    fn answer(&self, ask: PackJob, _: Option<&str>) -> Result<JobPacked, Refusal> {
        let packed = self.packed(&ask)?;
        let end = packed.manifest.end;
        Ok(JobPacked {
            archive: STANDARD.encode(&packed.bytes),
            bytes: packed.bytes.len() as u64,
            files: packed.manifest.files.len() as u64,
            seq: end.seq,
            head: end.hash,
            streams_left_out: packed.streams_left_out as u64,
            foreign: packed.foreign,
        })
    }
}

impl Answers<UnpackJob> for Desk {
    fn answer(&self, ask: UnpackJob, _: Option<&str>) -> Result<JobUnpacked, Refusal> {
        let archive = STANDARD.decode(&ask.archive).map_err(|error| {
            let found = format!("{} did not come as base64: {error}", ask.file);
            Refusal::new(Reason::BadInput, found)
        })?;
        if let Some(name) = &ask.name {
            super::jobs::may_be_called(name)?;
        }
        let unpacked = self.keeper.unpack(&archive, ask.name.as_deref());
        let unpacked = unpacked.map_err(|refusal| told_of(refusal, &ask.file))?;
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
