//! Puts the job of an archive into the data folder, whole or not at all.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::io::{Read, Seek};
use std::path::Path;

use crate::store::Store;
use crate::store::anchor::{ANCHOR, Anchor};
use crate::store::archive::copy::{CopiedAs, chained_anew};
use crate::store::archive::fault::ArchiveFault;
use crate::store::archive::putting::{UnpackedJob, put};
use crate::store::archive::read::{ReadArchive, read};
use crate::store::archive::several::journals_of_several;
use crate::store::copied::CopiedJob;
use crate::store::error::StoreError;
use crate::store::job::{fold, unfinished};
use crate::store::journal::JOURNAL;
use crate::store::name::check_name;
use crate::store::scan::scan;
use crate::store::view::JobView;

/// The record of a job as it is to be written.
struct RecordToPut<'a> {
    view: JobView,
    journal: Cow<'a, [u8]>,
    end: Cow<'a, [u8]>,
}

impl Store {
    /// Unpacks an archive, which is read twice: once to check all of it. With another name than the archive's job has, the job becomes a copy
    /// with an identity of its own. Nothing is changed where this refuses.
    ///
    /// # Errors
    /// When the archive is not whole and sound, the name cannot be one or is taken, or the disk
    /// refuses.
    pub(crate) fn unpack(
        &self,
        from: &mut (impl Read + Seek),
        name: Option<&str>,
    ) -> Result<UnpackedJob, StoreError> {
        self.may_write()?;
        let archive = read(from)?;
        let manifest = archive.manifest.clone();
        check_name("job", &manifest.job)?;
        if let Some(journals) = journals_of_several(&archive, self.station()?.as_ref())? {
            return self.unpack_several(&archive, from, journals, name);
        }
        let view = sound(&manifest.job, archive.file(JOURNAL), &archive)?;
        let RecordToPut { view, journal, end } = match name {
            Some(name) if name != manifest.job => copied(name, &archive)?,
            _ => RecordToPut {
                view,
                journal: Cow::Borrowed(archive.file(JOURNAL)),
                end: Cow::Borrowed(archive.file(ANCHOR)),
            },
        };
        let _making = self.making();
        self.free(view.name())?;
        let dir = self.layout().job(view.name());
        let part = unfinished(&dir, view.name());
        let record = [(JOURNAL, &*journal), (ANCHOR, &*end)];
        let files = &**self.files();
        if let Err(error) = put(files, (&part, &dir), record.into_iter(), &manifest, from) {
            // What cannot be removed now is removed by the next writer.
            let _ = files.remove(&part);
            return Err(error);
        }
        Ok(UnpackedJob { view, manifest })
    }
}

/// The job in an archive, folded, where its record is whole and what the archive says.
fn sound(job: &str, journal: &[u8], archive: &ReadArchive) -> Result<JobView, ArchiveFault> {
    let end = serde_json::from_slice::<Anchor>(archive.file(ANCHOR)).ok();
    if end.as_ref() != Some(&archive.manifest.end) {
        let why = format!("{ANCHOR} does not say what the manifest says");
        return Err(ArchiveFault::Damaged(why));
    }
    folded(job, journal, &archive.manifest.end)
}

/// Folds a journal that must be whole, sound, this job's, and end so.
fn folded(job: &str, journal: &[u8], end: &Anchor) -> Result<JobView, ArchiveFault> {
    let damaged = |why: String| Err(ArchiveFault::Damaged(why));
    let mut view = JobView::default();
    let path = Path::new(job).join(JOURNAL);
    let scan = scan(&path, journal, Some(end), |entry| fold(&mut view, entry));
    if let Some(fault) = scan.record {
        return damaged(fault.to_string());
    }
    if let Some(damage) = scan.damage.first() {
        return damaged(damage.to_string());
    }
    let found = Anchor {
        seq: scan.next_seq - 1,
        hash: scan.last_hash,
    };
    if !scan.torn.is_empty() || found != *end {
        return damaged(format!("{JOURNAL} does not end as the manifest says"));
    }
    match view.name() == job {
        true => Ok(view),
        false => damaged(format!("its journal is that of {:?}", view.name())),
    }
}

/// The record of the same job under a name of its own.
fn copied(name: &str, archive: &ReadArchive) -> Result<RecordToPut<'static>, StoreError> {
    check_name("job", name)?;
    let of = CopiedJob {
        job: archive.manifest.job.clone(),
        seq: archive.manifest.end.seq,
        hash: archive.manifest.end.hash.clone(),
    };
    let copy = CopiedAs {
        name,
        of,
        job: None,
        stations: BTreeMap::new(),
    };
    let journal = chained_anew(archive.file(JOURNAL), &copy);
    let journal = journal.map_err(|error| ArchiveFault::Damaged(error.to_string()))?;
    let path = Path::new(name).join(JOURNAL);
    let read = scan(&path, &journal, None, |_| Ok(()));
    let end = Anchor {
        seq: copy.of.seq,
        hash: read.last_hash,
    };
    let view = folded(name, &journal, &end)?;
    let text = end.text().into_bytes();
    Ok(RecordToPut {
        view,
        journal: Cow::Owned(journal),
        end: Cow::Owned(text),
    })
}
