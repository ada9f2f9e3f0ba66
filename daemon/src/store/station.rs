//! Which station wrote a line: the identity of a job and of a station, and the data folder's own.
//!
//! A shop may have several stations, each with journals of its own. A data folder that never joined
//! a shop has no identity, and its journals say nothing of one.

use std::path::Path;

use benchhand_files::{FileError, Files};
use serde::{Deserialize, Serialize};

/// The file in the data folder that says which station it is.
pub const STATION: &str = "station.json";

/// How many bits of a number in a view are the number in its station's journal; the bits above say
/// which station. Both together are below 2^53, which every reader of JSON holds exactly.
const NUMBER_BITS: u32 = 30;

/// How many places there are for stations.
const PLACES: u64 = 1 << 23;

/// The identity of a job in the whole shop: the hash of its opening line, in hexadecimal.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct JobId(pub String);

/// The identity of a station: 32 hexadecimal digits, drawn once.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct StationId(pub String);

impl JobId {
    /// Whether this can be the identity of a job.
    #[must_use]
    pub fn is_sound(&self) -> bool {
        self.0.len() == 64 && is_hex(&self.0)
    }
}

impl StationId {
    /// Whether this can be the identity of a station. A file is named by it, so nothing else may be.
    #[must_use]
    pub fn is_sound(&self) -> bool {
        self.0.len() == 32 && is_hex(&self.0)
    }

    /// The station's place among the numbers of a view, from 1; the station that opened a job has 0
    /// there. It follows from the identity alone, so it stays whoever joins later.
    pub(crate) fn place(&self) -> u64 {
        let hash = blake3::hash(self.0.as_bytes());
        let first = hash.as_bytes().iter().take(8);
        let number = first.fold(0, |sum: u64, byte| (sum << 8) | u64::from(*byte));
        1 + number % (PLACES - 1)
    }

    /// A new identity.
    ///
    /// # Errors
    /// Where the machine gives no random bytes.
    pub(crate) fn draw() -> Result<Self, std::io::Error> {
        let mut bytes = [0_u8; 16];
        getrandom::fill(&mut bytes).map_err(std::io::Error::other)?;
        let digits = bytes.iter().map(|byte| format!("{byte:02x}"));
        Ok(Self(digits.collect()))
    }
}

impl std::fmt::Display for StationId {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::fmt::Display for JobId {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

fn is_hex(text: &str) -> bool {
    text.bytes()
        .all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b))
}

/// The place after this one, where two stations have the same.
pub(crate) fn next_place(place: u64) -> u64 {
    1 + place % (PLACES - 1)
}

/// The number before the first one of the station at this place.
pub(crate) fn base_of(place: u64) -> u64 {
    place << NUMBER_BITS
}

/// The number before the first one of the station that a number of a view belongs to.
pub(crate) fn base_in(number: u64) -> u64 {
    (number >> NUMBER_BITS) << NUMBER_BITS
}

/// The first number that is not one of the station with this base.
pub(crate) fn base_after(base: u64) -> u64 {
    base + (1 << NUMBER_BITS)
}

/// A fact, by the station that wrote it and its number in that station's journal.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct FactRef {
    /// The station; `None` where it is the one of the line that names the fact.
    pub station: Option<StationId>,
    /// The number.
    pub seq: u64,
}

/// Which station a data folder is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StationCard {
    /// Its identity.
    pub station: StationId,
    /// By what it is named to people: a letter that the shop gave it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub letter: Option<String>,
    /// The stations that this one was before another machine wrote under their name, oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub was: Vec<StationId>,
}

impl StationCard {
    /// Which station the data folder `root` is; `None` where it never joined a shop.
    ///
    /// # Errors
    /// Where the disk refuses, or the file says nothing that is understood: a guess would write
    /// lines as somebody else.
    pub fn read(files: &dyn Files, root: &Path) -> Result<Option<Self>, FileError> {
        let path = root.join(STATION);
        let bytes = match files.read(&path) {
            Err(error) if error.is_missing() => return Ok(None),
            other => other?,
        };
        let bad = |why: String| {
            let why = std::io::Error::new(std::io::ErrorKind::InvalidData, why);
            FileError::new("read", &path, why)
        };
        let card: StationCard = serde_json::from_slice(&bytes).map_err(|e| bad(e.to_string()))?;
        match card.station.is_sound() {
            true => Ok(Some(card)),
            false => Err(bad("it names no station".to_owned())),
        }
    }

    /// Makes the data folder `root` a station, or gives the station that it is another letter. The
    /// identity stays once it is drawn.
    ///
    /// # Errors
    /// Where the disk refuses.
    pub(crate) fn join(
        files: &dyn Files,
        root: &Path,
        letter: Option<&str>,
    ) -> Result<Self, FileError> {
        let before = Self::read(files, root)?;
        let station = match &before {
            Some(card) => card.station.clone(),
            None => Self::drawn(root)?,
        };
        let kept = before.as_ref().and_then(|card| card.letter.clone());
        let was = before.as_ref().map(|card| card.was.clone());
        let card = Self {
            station,
            letter: letter.map(str::to_owned).or(kept),
            was: was.unwrap_or_default(),
        };
        if before.as_ref() != Some(&card) {
            card.write(files, root)?;
        }
        Ok(card)
    }

    /// The card of the new station that this one becomes, which has no letter yet. It is not kept.
    pub(crate) fn becoming(&self, new: StationId) -> Self {
        let mut was = self.was.clone();
        was.push(self.station.clone());
        Self {
            station: new,
            letter: None,
            was,
        }
    }

    pub(crate) fn drawn(root: &Path) -> Result<StationId, FileError> {
        StationId::draw().map_err(|e| FileError::new("draw", &root.join(STATION), e))
    }

    pub(crate) fn write(&self, files: &dyn Files, root: &Path) -> Result<(), FileError> {
        let text = serde_json::json!(self).to_string();
        files.replace(&root.join(STATION), text.as_bytes())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use benchhand_testbed::disk::MemoryDisk;

    #[test]
    fn a_station_is_drawn_once_and_keeps_its_letter() {
        let (disk, root) = (MemoryDisk::new(), Path::new("/data"));
        disk.create_dir(root).unwrap();
        assert_eq!(StationCard::read(&disk, root).unwrap(), None);
        let first = StationCard::join(&disk, root, Some("B")).unwrap();
        assert!(first.station.is_sound());
        assert_eq!(StationCard::join(&disk, root, None).unwrap(), first);
        assert_eq!(StationCard::read(&disk, root).unwrap(), Some(first.clone()));
        disk.replace(&root.join(STATION), b"{\"station\":\"../x\"}")
            .unwrap();
        assert!(StationCard::read(&disk, root).is_err());
    }

    #[test]
    fn numbers_of_stations_never_meet_and_fit_into_a_page() {
        let ids = (0..1000).map(|n| StationId(format!("{n:032x}")));
        for id in ids {
            let base = base_of(id.place());
            assert!(base >= 1 << NUMBER_BITS);
            assert!(base + (1 << NUMBER_BITS) <= 1 << 53);
            assert_eq!(base_in(base + 7), base);
        }
        assert_eq!(base_in(7), 0);
    }
}
