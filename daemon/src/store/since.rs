//! How much was kept of a job since a moment that is known by how its journals ended then.
//!
//! Of several journals no single hash can be found again: their common one changes with whichever
//! line comes next. So what is to be found again notes the end of each.

use std::path::Path;

use benchhand_files::Files;

use crate::store::error::StoreError;
use crate::store::job_error::JobError;
use crate::store::job_stations::card_of;
use crate::store::journal::{JOURNAL, JournalError};
use crate::store::other_journals::{self, sound_lines};
use crate::store::parting_steps::PARTED;
use crate::store::reader::Reader;
use crate::store::scan::scan;
use crate::store::station::StationId;

/// How the journal of one station of several ended at some moment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JournalMark {
    /// The station.
    pub station: StationId,
    /// The hash of the last line, in hexadecimal.
    pub hash: String,
}

/// The hashes of a journal's lines.
struct LinesKept {
    /// Whose they are; `None` where the data folder is no station.
    station: Option<StationId>,
    hashes: Vec<String>,
}

impl LinesKept {
    /// How many lines stand up to the one of this hash.
    fn up_to(&self, hash: &str) -> Option<usize> {
        let at = self.hashes.iter().position(|one| one == hash)?;
        Some(at + 1)
    }
}

impl Reader {
    /// How the journal of each station of a job ends; empty where one alone has one.
    ///
    /// # Errors
    /// When there is no such job, a line is damaged, or the disk refuses.
    pub fn journal_marks(&self, name: &str) -> Result<Vec<JournalMark>, StoreError> {
        let all = kept(&**self.files(), &self.job_dir(name)?)?;
        if all.len() < 2 {
            return Ok(Vec::new());
        }
        let mark = |one: LinesKept| {
            Some(JournalMark {
                hash: one.hashes.last()?.clone(),
                station: one.station?,
            })
        };
        Ok(all.into_iter().filter_map(mark).collect())
    }

    /// How many lines were kept, at all stations of a job, since its journals ended as `marks` say, or
    /// where there are none, since the line of this hash; `None` where the record has no such line.
    ///
    /// # Errors
    /// When there is no such job, a line is damaged, or the disk refuses.
    pub fn kept_since(
        &self,
        name: &str,
        hash: &str,
        marks: &[JournalMark],
    ) -> Result<Option<u64>, StoreError> {
        let (files, dir) = (&**self.files(), self.job_dir(name)?);
        let all = kept(files, &dir)?;
        let lines: usize = all.iter().map(|one| one.hashes.len()).sum();
        let of_mark = |mark: &JournalMark| {
            let of = all
                .iter()
                .find(|one| one.station.as_ref() == Some(&mark.station));
            of.and_then(|one| one.up_to(&mark.hash))
        };
        let before = match marks {
            [] => all.iter().find_map(|one| one.up_to(hash)),
            marks => marks.iter().map(of_mark).sum(),
        };
        // What this machine wrote under the name of a station that it is no more has other hashes now.
        let before = match before {
            Some(before) => Some(before),
            None => before_parting(files, &dir, &all, hash, marks)?,
        };
        Ok(before.map(|before| lines.saturating_sub(before) as u64))
    }
}

/// How many lines stood up to those that were named, where the own one of them was written before this
/// folder became a new station.
fn before_parting(
    files: &dyn Files,
    dir: &Path,
    all: &[LinesKept],
    hash: &str,
    marks: &[JournalMark],
) -> Result<Option<usize>, StoreError> {
    for listed in files.list(dir)? {
        let old = listed.name.strip_prefix(PARTED);
        let Some(old) = old.and_then(|rest| rest.strip_suffix(".txt")) else {
            continue;
        };
        let bytes = files.read(&dir.join(&listed.name))?;
        let of_old = LinesKept {
            station: Some(StationId(old.to_owned())),
            hashes: hashes(&bytes),
        };
        let up_to = |mark: &JournalMark| {
            let own = of_old.station.as_ref() == Some(&mark.station);
            let mut of = all
                .iter()
                .filter(|one| one.station.as_ref() == Some(&mark.station));
            match own {
                true => of_old.up_to(&mark.hash),
                false => of.find_map(|one| one.up_to(&mark.hash)),
            }
        };
        let before = match marks {
            [] => of_old.up_to(hash),
            marks => marks.iter().map(up_to).sum(),
        };
        if before.is_some() {
            return Ok(before);
        }
    }
    Ok(None)
}

fn hashes(bytes: &[u8]) -> Vec<String> {
    sound_lines(bytes)
        .map(|(_, envelope)| envelope.hash.to_owned())
        .collect()
}

/// The lines of every journal of a job, the own one first.
fn kept(files: &dyn Files, dir: &Path) -> Result<Vec<LinesKept>, StoreError> {
    let others = other_journals::read_all(files, dir)?;
    let card = card_of(files, dir)?;
    let path = dir.join(JOURNAL);
    let own = match files.read(&path) {
        Err(error) if error.is_missing() && !others.is_empty() => None,
        other => Some(other?),
    };
    let mut all = Vec::new();
    if let Some(bytes) = own {
        let mut hashes = Vec::new();
        let scanned = scan(&path, &bytes, None, |entry| {
            hashes.push(entry.hash);
            Ok(())
        });
        if let Some(damage) = scanned.damage.into_iter().next() {
            let damaged = JournalError::Damaged(Box::new(damage));
            return Err(JobError::from(damaged).into());
        }
        all.push(LinesKept {
            station: card.map(|card| card.station),
            hashes,
        });
    }
    let others = others.into_iter().map(|(station, bytes)| LinesKept {
        station: Some(station),
        hashes: hashes(&bytes),
    });
    all.extend(others);
    Ok(all)
}
