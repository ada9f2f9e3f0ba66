//! Lines of another station are put behind those that are held of its journal.

use std::path::Path;

use benchhand_files::{FileError, Files};

use crate::store::journal_places::JournalPlaces;
use crate::store::other_journals::{JournalLine, STATIONS, begins, new_lines, path};
use crate::store::station::{JobId, StationId};
use crate::store::station_fault::StationFault;

/// Takes in lines of another station: those that are new are appended and synced. Returns them.
///
/// # Errors
/// When the disk refuses, or a line does not follow on what is there.
pub(crate) fn append<'a>(
    files: &dyn Files,
    places: &JournalPlaces,
    dir: &Path,
    (job, station): (&JobId, &StationId),
    lines: &'a [JournalLine],
) -> Result<Result<&'a [JournalLine], StationFault>, FileError> {
    let path = path(dir, station);
    // Every line of it was synced when it came; what follows the last sound one was not.
    let end = places.end(files, &path, Some(u64::MAX))?;
    let there = files.len(&path).is_ok();
    let at = |number: u64| hash_at(files, places, &path, number);
    let new = match new_lines(station, (end.number, &end.hash), lines, at) {
        Ok(new) => new,
        Err(fault) => return Ok(Err(fault)),
    };
    let Some(first) = new.first() else {
        return Ok(Ok(new));
    };
    if end.number == 0
        && let Err(fault) = begins(job, station, first)
    {
        return Ok(Err(fault));
    }
    if !there {
        files.create_dir(&dir.join(STATIONS))?;
    }
    let mut file = files.open_append(&path)?;
    if file.len()? > end.len {
        file.truncate(end.len)?;
    }
    let mut text = String::new();
    for line in new {
        text.push_str(&line.text);
        text.push('\n');
    }
    file.append(text.as_bytes())?;
    file.sync_data()?;
    if !there {
        files.sync_dir(&dir.join(STATIONS))?;
        files.sync_dir(dir)?;
    }
    Ok(Ok(new))
}

/// The hash of the line of this number; `None` where the disk does not give it.
pub(crate) fn hash_at(
    files: &dyn Files,
    places: &JournalPlaces,
    path: &Path,
    number: u64,
) -> Option<String> {
    let lines = places.lines(files, path, Some(u64::MAX), (number - 1, 1));
    lines.ok()?.pop().map(|line| line.hash)
}
