//! The seam to the station's own record: journals of lines, by job and station.

use std::fmt;

use crate::line::JournalLine;

/// A job, the same at every station: the BLAKE3 hash of its opening line, 64 hexadecimal digits.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct JobId(String);

/// A station, for ever: 32 hexadecimal digits that it drew once.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct StationId(String);

/// Whether a text is so many small hexadecimal digits.
fn is_hex(text: &str, digits: usize) -> bool {
    let small = |byte: &u8| byte.is_ascii_digit() || (b'a'..=b'f').contains(byte);
    text.len() == digits && text.as_bytes().iter().all(small)
}

impl JobId {
    /// The job of that hash; `None` where it is not 64 small hexadecimal digits.
    pub fn parse(text: &str) -> Option<Self> {
        is_hex(text, 64).then(|| Self(text.to_owned()))
    }

    /// The hash, in hexadecimal.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl StationId {
    /// The station of those digits; `None` where they are not 32 small hexadecimal digits.
    pub fn parse(text: &str) -> Option<Self> {
        is_hex(text, 32).then(|| Self(text.to_owned()))
    }

    /// The station of 16 bytes that were drawn.
    pub fn of(drawn: [u8; 16]) -> Self {
        Self(drawn.iter().map(|byte| format!("{byte:02x}")).collect())
    }

    /// The digits.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for JobId {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        to.write_str(&self.0)
    }
}

impl fmt::Display for StationId {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        to.write_str(&self.0)
    }
}

/// How far one journal is known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JournalHead {
    /// The job.
    pub job: JobId,
    /// The station that writes the journal.
    pub station: StationId,
    /// The place of the last line, counted from 1.
    pub number: u64,
    /// The hash of that line, in hexadecimal.
    pub hash: String,
}

/// What is asked about a reading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PieceAbout {
    /// The samples about it.
    Trace,
    /// What it and the station's readings before it come to, made out anew from the recorded streams.
    Recomputed,
    /// What a newer program asks.
    Unknown(String),
}

impl PieceAbout {
    /// The word in the shop's tables.
    pub(crate) fn word(&self) -> &str {
        match self {
            Self::Trace => "trace",
            Self::Recomputed => "recomputed",
            Self::Unknown(word) => word,
        }
    }

    /// What such a word asks.
    pub(crate) fn of(word: &str) -> Self {
        let known = [Self::Trace, Self::Recomputed];
        let known = known.into_iter().find(|one| one.word() == word);
        known.unwrap_or_else(|| Self::Unknown(word.to_owned()))
    }
}

/// About which reading a piece is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PieceKey {
    /// The station that measured and holds the recorded stream.
    pub holder: StationId,
    /// The job.
    pub job: JobId,
    /// The reading, by its number in that station's journal.
    pub seq: u64,
    /// What is asked about it.
    pub about: PieceAbout,
}

/// Why the station's record gave or took nothing: what is wrong, and what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{words}")]
pub struct RecordFault {
    /// For people.
    pub words: String,
}

/// The record of one station. It is called by one task, never twice at a time but for [`piece`], and
/// may wait for its disk.
///
/// [`piece`]: StationRecord::piece
pub trait StationRecord: Send + Sync + 'static {
    /// This station.
    fn station(&self) -> StationId;

    /// Every journal that is held here, this station's and others'.
    ///
    /// # Errors
    /// Where the record cannot be read.
    fn heads(&self) -> Result<Vec<JournalHead>, RecordFault>;

    /// At most `most` lines of a journal behind line `after`, in order; only lines that are on the
    /// disk.
    ///
    /// # Errors
    /// Where the journal cannot be read.
    fn lines(
        &self,
        job: &JobId,
        station: &StationId,
        after: u64,
        most: usize,
    ) -> Result<Vec<JournalLine>, RecordFault>;

    /// Keeps lines of another station's journal, in order and without a gap. Lines that are held
    /// already are passed over. The first lines of an unknown job are those that open it.
    ///
    /// # Errors
    /// Where nothing was kept.
    fn take_in(
        &self,
        job: &JobId,
        station: &StationId,
        lines: &[JournalLine],
    ) -> Result<(), RecordFault>;

    /// What another station is answered that asks about recorded streams of this one: at most
    /// [`PIECE_MOST`](crate::PIECE_MOST) bytes. It may be called beside the others, and takes the time
    /// that it takes.
    ///
    /// # Errors
    /// Where there is no answer, and why.
    fn piece(&self, key: &PieceKey) -> Result<Vec<u8>, RecordFault>;

    /// Takes up later lines of a journal of this station, after its disk was restored from a copy.
    ///
    /// # Errors
    /// Where nothing was taken up.
    fn take_back(&self, job: &JobId, lines: &[JournalLine]) -> Result<(), RecordFault>;

    /// Another machine wrote under this station's name: in a journal of it the shop holds other lines
    /// than this record from some line on. This station becomes another one from here on. `shared`
    /// says for each of its journals up to which line the shop holds it; those lines stay the old
    /// station's, and what stands behind them becomes the new one's. Gives the new station.
    ///
    /// # Errors
    /// Where it stays as it is.
    fn part_ways(&self, shared: &[(JobId, u64)]) -> Result<StationId, RecordFault>;

    /// By this letter the shop names this station to people.
    ///
    /// # Errors
    /// Where it cannot be kept.
    fn take_letter(&self, letter: &str) -> Result<(), RecordFault>;
}
