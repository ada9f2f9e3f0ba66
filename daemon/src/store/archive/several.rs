//! A job of several stations in an archive: every station's journal stays its own, whoever unpacks it.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::io::{Read, Seek};
use std::path::Path;

use crate::store::Store;
use crate::store::anchor::{ANCHOR, Anchor};
use crate::store::archive::copy::{CopiedAs, chained_anew};
use crate::store::archive::fault::ArchiveFault;
use crate::store::archive::putting::{UnpackedJob, put};
use crate::store::archive::read::ReadArchive;
use crate::store::copied::CopiedJob;
use crate::store::error::StoreError;
use crate::store::fact::Fact;
use crate::store::held_journal::head_of;
use crate::store::job::unfinished;
use crate::store::job_stations::{job_of, take_all};
use crate::store::journal::JOURNAL;
use crate::store::line;
use crate::store::name::check_name;
use crate::store::other_journals::{JournalLine, begins, name_of, sound_lines, station_of};
use crate::store::scan::{lines, scan};
use crate::store::station::{JobId, StationCard, StationId};
use crate::store::union::Union;

/// The journals of a job, by their stations.
pub(super) type Journals<'a> = BTreeMap<StationId, Cow<'a, [u8]>>;

fn damaged(why: impl Into<String>) -> ArchiveFault {
    ArchiveFault::Damaged(why.into())
}

/// The journals in an archive, where they are several stations' or another one's than that of the
/// data folder, whose card is `here`.
///
/// # Errors
/// Where one of them is not whole, sound and of this job, or does not end as the archive says.
pub(super) fn journals_of_several<'a>(
    archive: &'a ReadArchive,
    here: Option<&StationCard>,
) -> Result<Option<Journals<'a>>, ArchiveFault> {
    let own = archive.file(JOURNAL);
    let packer = archive.manifest.station.clone();
    let packer = packer.or_else(|| written_by(own));
    let mut journals = Journals::new();
    for (name, bytes) in &archive.record {
        if let Some(station) = station_of(name) {
            journals.insert(station, Cow::Borrowed(bytes));
        }
    }
    let Some(packer) = packer else {
        // No station wrote it.
        let alone = journals.is_empty();
        return match alone {
            true => Ok(None),
            false => Err(damaged("nobody says whose journal.ndjson is")),
        };
    };
    let is_here = here.is_some_and(|here| here.station == packer);
    if journals.is_empty() && is_here {
        return Ok(None);
    }
    if !own.is_empty() {
        ends_as_said(archive, own)?;
        if journals.insert(packer, Cow::Borrowed(own)).is_some() {
            return Err(damaged("it holds two journals of one station"));
        }
    }
    let all = || journals.values();
    let job = all().find_map(|bytes| job_of(bytes));
    let job = job.ok_or_else(|| damaged("no journal in it says which job it is"))?;
    for (station, bytes) in &journals {
        whole(&job, station, bytes)?;
    }
    match all().any(|bytes| opens(bytes)) {
        true => Ok(Some(journals)),
        false => Err(damaged("the journal that opens the job is missing")),
    }
}

/// The station that a journal says it is of.
fn written_by(journal: &[u8]) -> Option<StationId> {
    let joined = lines(journal).filter_map(|text| match line::decode(text).ok()?.fact {
        Fact::Joined(joined) => Some(joined.station),
        _ => None,
    });
    joined.last()
}

fn opens(journal: &[u8]) -> bool {
    let first = lines(journal).next().map(line::decode);
    matches!(first, Some(Ok(entry)) if matches!(entry.fact, Fact::Opened(_)))
}

fn ends_as_said(archive: &ReadArchive, own: &[u8]) -> Result<(), ArchiveFault> {
    let said = &archive.manifest.end;
    let end = serde_json::from_slice::<Anchor>(archive.file(ANCHOR)).ok();
    match end.as_ref() == Some(said) && anchor_of(own) == *said {
        true => Ok(()),
        false => Err(damaged(format!(
            "{JOURNAL} does not end as the manifest says"
        ))),
    }
}

fn anchor_of(journal: &[u8]) -> Anchor {
    let read = scan(Path::new(JOURNAL), journal, None, |_| Ok(()));
    Anchor {
        seq: read.next_seq - 1,
        hash: read.last_hash,
    }
}

/// Makes sure that a journal is whole, sound, and of this job and station.
fn whole(job: &JobId, station: &StationId, bytes: &[u8]) -> Result<(), ArchiveFault> {
    let mut sound = 0;
    for (number, (text, envelope)) in (1..).zip(sound_lines(bytes)) {
        sound += text.len() + 1;
        if number > 1 {
            continue;
        }
        let first = JournalLine {
            number,
            hash: envelope.hash.to_owned(),
            text: String::from_utf8_lossy(text).into_owned(),
        };
        begins(job, station, &first).map_err(|fault| damaged(fault.to_string()))?;
    }
    match sound == bytes.len() && sound > 0 {
        true => Ok(()),
        false => Err(damaged(format!(
            "the journal of the station {station} is not as it was written"
        ))),
    }
}

impl Store {
    /// Unpacks a job of several stations. This data folder becomes a station where it is none, since
    /// each of the journals has one.
    pub(super) fn unpack_several(
        &self,
        archive: &ReadArchive,
        from: &mut (impl Read + Seek),
        mut journals: Journals<'_>,
        name: Option<&str>,
    ) -> Result<UnpackedJob, StoreError> {
        let (manifest, files) = (archive.manifest.clone(), &**self.files());
        let name = name.unwrap_or(&manifest.job);
        check_name("job", name)?;
        let _making = self.making();
        self.free(name)?;
        if name != manifest.job {
            journals = copied(&journals, &manifest.job, name)?;
        }
        let job = journals.values().find_map(|bytes| job_of(bytes));
        let job = job.ok_or_else(|| damaged("no journal in it says which job it is"))?;
        if let Ok(existing) = self.job_with(&job) {
            let name = name.to_owned();
            return Err(StoreError::JobExists { name, existing });
        }
        let card = self.join_shop(None)?;
        let mut union = Union::new(job, card.station.clone(), name);
        for (station, bytes) in &journals {
            take_all(&mut union, station, bytes);
        }
        union.fold();
        let own = journals.get(&card.station).map(|own| anchor_of(own).text());
        let mut record: Vec<(String, &[u8])> = Vec::new();
        for (station, bytes) in &journals {
            let file = match *station == card.station {
                true => JOURNAL.to_owned(),
                false => name_of(station),
            };
            record.push((file, bytes));
        }
        record.extend(own.iter().map(|end| (ANCHOR.to_owned(), end.as_bytes())));
        let dir = self.layout().job(name);
        let part = unfinished(&dir, name);
        let record = record.iter().map(|(name, bytes)| (name.as_str(), *bytes));
        if let Err(error) = put(files, (&part, &dir), record, &manifest, from) {
            // What cannot be removed now is removed by the next writer.
            let _ = files.remove(&part);
            return Err(error);
        }
        let view = union.view().clone();
        Ok(UnpackedJob { view, manifest })
    }
}

/// The journals of a copy: the same facts in the same order, of stations that are nobody else's. The
/// copy is no job of the shop, and none of its journals is sent.
fn copied(journals: &Journals<'_>, job: &str, name: &str) -> Result<Journals<'static>, StoreError> {
    let mut drawn = Vec::new();
    for _ in journals {
        drawn.push(StationId::draw().map_err(|e| damaged(e.to_string()))?);
    }
    // In the order of those that they stand for, as the order of facts may rest on it.
    drawn.sort();
    let ends = journals.iter();
    let ends: Vec<_> = ends
        .map(|(station, bytes)| (station, anchor_of(bytes)))
        .collect();
    let ends = ends.iter();
    let (seq, hash) = head_of(ends.map(|(station, end)| (*station, end.seq, end.hash.as_str())));
    let job = job.to_owned();
    let mut copy = CopiedAs {
        name,
        of: CopiedJob { job, seq, hash },
        job: None,
        stations: journals.keys().cloned().zip(drawn).collect(),
    };
    let anew = |copy: &CopiedAs<'_>, bytes: &[u8]| {
        chained_anew(bytes, copy).map_err(|error| damaged(error.to_string()))
    };
    let opener = journals.values().find(|bytes| opens(bytes));
    let opener = opener.ok_or_else(|| damaged("the journal that opens the job is missing"))?;
    copy.job = job_of(&anew(&copy, opener)?);
    let mut all = Journals::new();
    for (station, bytes) in journals {
        let bytes = anew(&copy, bytes)?;
        if let Some(new) = copy.stations.get(station) {
            all.insert(new.clone(), Cow::Owned(bytes));
        }
    }
    Ok(all)
}
