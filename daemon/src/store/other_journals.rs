//! The journals of other stations, which lie beside a job's own: lines kept byte for byte as they
//! came, each held against the one before.
//!
//! They are copies. What a crash or the disk spoiled at the end of one is cut off, and comes again.

use std::path::{Path, PathBuf};

use benchhand_files::{FileError, Files};

use crate::store::fact::{Fact, content_hash};
use crate::store::journal_error::{JournalError, LineDamage};
use crate::store::line::{self, LineFault, NO_LINE};
use crate::store::line_envelope::{LineEnvelope, envelope};
use crate::store::scan::{last_envelope, lines as lines_of};
use crate::store::station::{JobId, StationId};
use crate::store::station_fault::StationFault;

/// The file beside the engine file that says from which loaded engine its text stems.
pub const ENGINE_BASE: &str = "engine.base";

/// The folder of other stations' journals in a job's folder.
pub const STATIONS: &str = "stations";

/// What the name of a journal ends with.
const ENDS: &str = ".ndjson";

/// A line of a journal with its place in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JournalLine {
    /// The place of the line in its journal, counted from 1.
    pub number: u64,
    /// The line's hash, in hexadecimal.
    pub hash: String,
    /// The line, without its line feed.
    pub text: String,
}

/// The journal of a station in a job's folder.
pub(crate) fn path(dir: &Path, station: &StationId) -> PathBuf {
    dir.join(STATIONS).join(format!("{station}{ENDS}"))
}

/// The name of a station's journal in a job's folder.
pub(crate) fn name_of(station: &StationId) -> String {
    format!("{STATIONS}/{station}{ENDS}")
}

/// The station whose journal a file of a job's folder is, by the file's name there.
pub(crate) fn station_of(name: &str) -> Option<StationId> {
    let file = name.strip_prefix(STATIONS)?.strip_prefix('/')?;
    let station = StationId(file.strip_suffix(ENDS)?.to_owned());
    station.is_sound().then_some(station)
}

/// The names in a job's folder of what several stations make of it: their journals, and from which
/// engine the text stems.
///
/// # Errors
/// When the disk refuses.
pub(crate) fn names(files: &dyn Files, dir: &Path) -> Result<Vec<String>, FileError> {
    let stations = stations(files, dir)?.into_iter();
    let mut names: Vec<String> = stations.map(|station| name_of(&station)).collect();
    if files.len(&dir.join(ENGINE_BASE)).is_ok() {
        names.push(ENGINE_BASE.to_owned());
    }
    Ok(names)
}

/// Every journal of another station in a job's folder, in the order of the stations, as far as it is
/// sound.
///
/// # Errors
/// When the disk refuses.
pub(crate) fn read_all(
    files: &dyn Files,
    dir: &Path,
) -> Result<Vec<(StationId, Vec<u8>)>, FileError> {
    let mut journals = Vec::new();
    for station in stations(files, dir)? {
        let mut bytes = files.read(&path(dir, &station))?;
        bytes.truncate(sound_length(&bytes));
        journals.push((station, bytes));
    }
    Ok(journals)
}

/// The stations whose journals lie in a job's folder, in their order.
///
/// # Errors
/// When the disk refuses.
pub(crate) fn stations(files: &dyn Files, dir: &Path) -> Result<Vec<StationId>, FileError> {
    let listed = match files.list(&dir.join(STATIONS)) {
        Err(error) if error.is_missing() => return Ok(Vec::new()),
        other => other?,
    };
    let names = listed.into_iter().filter_map(|listed| {
        let station = StationId(listed.name.strip_suffix(ENDS)?.to_owned());
        station.is_sound().then_some(station)
    });
    let mut stations: Vec<StationId> = names.collect();
    stations.sort();
    Ok(stations)
}

/// The number that the last line of each other station's journal says, and the line's hash.
///
/// # Errors
/// When the disk refuses.
pub(crate) fn ends(
    files: &dyn Files,
    dir: &Path,
) -> Result<Vec<(StationId, u64, String)>, FileError> {
    let mut ends = Vec::new();
    for station in stations(files, dir)? {
        let end = last_envelope(files, &path(dir, &station))?;
        ends.extend(end.map(|(seq, hash)| (station, seq, hash)));
    }
    Ok(ends)
}

/// Checks the journals of other stations in a job's folder; returns whether there are any.
///
/// # Errors
/// When the disk refuses, or names the first line that is not what was once written.
pub(crate) fn verify(files: &dyn Files, dir: &Path) -> Result<bool, JournalError> {
    let stations = stations(files, dir)?;
    for station in &stations {
        let path = path(dir, station);
        let bytes = files.read(&path)?;
        let sound = sound_length(&bytes);
        let rest = bytes.get(sound..).unwrap_or_default();
        // What follows the last line feed is being written, or comes again.
        if let Some(end) = rest.iter().position(|byte| *byte == b'\n') {
            let (text, before) = (&rest[..end], bytes.get(..sound).unwrap_or_default());
            return Err(JournalError::Damaged(Box::new(LineDamage {
                path,
                line: lines_of(before).count() + 1,
                fault: line::decode(text).err().unwrap_or(LineFault::NotWhole),
                hash: content_hash(text),
            })));
        }
    }
    Ok(!stations.is_empty())
}

/// The lines of a journal with what they say of their place, up to the first that is not as it was
/// written or does not follow on the one before.
pub(crate) fn sound_lines(bytes: &[u8]) -> impl Iterator<Item = (&[u8], LineEnvelope<'_>)> {
    sound_lines_behind(NO_LINE, bytes)
}

/// The same of lines that follow on the line of this hash.
pub(crate) fn sound_lines_behind<'a>(
    before: &'a str,
    bytes: &'a [u8],
) -> impl Iterator<Item = (&'a [u8], LineEnvelope<'a>)> {
    let whole = bytes.iter().rposition(|byte| *byte == b'\n');
    let whole = bytes.get(..whole.map_or(0, |at| at + 1));
    let mut before = before;
    lines_of(whole.unwrap_or_default()).map_while(move |text| {
        let envelope = envelope(text)?;
        let follows = envelope.prev == before;
        before = envelope.hash;
        follows.then_some((text, envelope))
    })
}

/// How many bytes of a journal are sound lines.
pub(crate) fn sound_length(bytes: &[u8]) -> usize {
    sound_lines(bytes).map(|(text, _)| text.len() + 1).sum()
}

/// Holds lines against a journal that has so many lines and ends with this hash, and returns those
/// that are new. `at` gives the hash of a line that is there.
///
/// # Errors
/// Where lines are missing between, one is not sound, or another one stands at its number.
pub(crate) fn new_lines<'a>(
    station: &StationId,
    (held, last): (u64, &str),
    lines: &'a [JournalLine],
    at: impl Fn(u64) -> Option<String>,
) -> Result<&'a [JournalLine], StationFault> {
    let known = lines.iter().take_while(|line| line.number <= held);
    let known = known.count();
    let (known, new) = lines.split_at(known);
    for line in known {
        let number = line.number;
        if at(number).is_some_and(|hash| hash != line.hash) {
            let station = station.clone();
            return Err(StationFault::Forked { station, number });
        }
    }
    let (mut expected, mut before) = (held + 1, last);
    for new in new {
        let (found, station) = (new.number, station.clone());
        if found != expected {
            return Err(StationFault::Gap { expected, found });
        }
        let sound = envelope(new.text.as_bytes());
        let sound = sound.filter(|one| one.hash == new.hash && one.prev == before);
        if sound.is_none() || new.text.contains('\n') {
            let number = found;
            return Err(StationFault::NotSound { station, number });
        }
        expected += 1;
        before = &new.hash;
    }
    Ok(new)
}

/// Makes sure that a journal begins as one of this job and station.
///
/// # Errors
/// Where it does not.
pub(crate) fn begins(
    job: &JobId,
    station: &StationId,
    first: &JournalLine,
) -> Result<(), StationFault> {
    let sound = match line::decode(first.text.as_bytes()).map(|entry| entry.fact) {
        Ok(Fact::Opened(_)) => first.hash == job.0,
        Ok(Fact::Joined(joined)) => joined.job == *job && joined.station == *station,
        Ok(_) => false,
        // A newer program may have begun it in a way of its own.
        Err(_) => true,
    };
    let station = station.clone();
    match sound {
        true => Ok(()),
        false => Err(StationFault::OfAnother { station }),
    }
}
