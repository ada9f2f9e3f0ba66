//! The files of a job's recorded streams, and the place of each reading in them.
//!
//! A gauge's streams are numbered: `streams/depth-2-001.ndjson`, `-002` and so on. The recorder
//! begins a new file when the gauge comes back, or when the file has grown large. The contents of a
//! stream are not known here.

use std::convert::Infallible;
use std::io;
use std::path::PathBuf;

use crate::store::Store;
use crate::store::error::StoreError;
use crate::store::fact::{Fact, Reading, ReadingId, STEP, StreamAt, WindowSample};
use crate::store::following::FollowError;
use crate::store::job::STREAMS;
use crate::store::name::check_name;
use crate::store::reader::Reader;
use benchhand_files::AppendFile;

/// The ending of a stream's file name.
const ENDING: &str = ".ndjson";

/// A file of a gauge's recorded stream.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct StreamFile {
    /// The gauge.
    pub gauge: String,
    /// Which of the gauge's files in this job, counted from 1.
    pub number: u32,
    /// The file's name in the job's `streams/`, as in [`StreamAt`].
    pub name: String,
    /// The file.
    pub path: PathBuf,
}

/// A stream file that was just begun.
#[derive(Debug)]
pub struct NewStream {
    /// Which file it is.
    pub file: StreamFile,
    /// Where its bytes go; nothing is synced.
    pub to: StreamSink,
}

/// Takes the bytes of a recorded stream. Writing is not buffered: put a buffer before it.
#[derive(Debug)]
pub struct StreamSink(Box<dyn AppendFile>);

impl io::Write for StreamSink {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0
            .append(bytes)
            .map_err(|error| io::Error::new(error.source.kind(), error))?;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// What a reading, or a part of one, was made out from.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingEvidence {
    /// The reading.
    pub reading: ReadingId,
    /// The spot as first stated.
    pub spot: String,
    /// The part of the reading; `None` for the reading's own value.
    pub role: Option<String>,
    /// The gauge.
    pub gauge: Option<String>,
    /// The value as kept, in `unit`.
    pub value: f64,
    /// The unit of `value`.
    pub unit: String,
    /// What the gauge showed, in `raw_unit`.
    pub raw: Option<f64>,
    /// The unit that the gauge sent.
    pub raw_unit: Option<String>,
    /// The gauge's step, as the reading states it.
    pub step: Option<f64>,
    /// The samples of the window.
    pub window: Vec<WindowSample>,
    /// The place in the recorded stream.
    pub stream: StreamAt,
    /// The stream's file, where it is still there.
    pub path: Option<PathBuf>,
    /// The station that holds the stream, by its letter or some digits; `None` where it is this one.
    pub held_by: Option<String>,
}

impl Reader {
    /// The files of a job's recorded streams, in the order of the gauges and numbers.
    ///
    /// # Errors
    /// When there is no such job or the disk refuses.
    pub fn streams(&self, job: &str) -> Result<Vec<StreamFile>, StoreError> {
        let folder = self.job_dir(job)?.join(STREAMS);
        let listed = match self.files().list(&folder) {
            Err(error) if error.is_missing() => return Ok(Vec::new()),
            other => other?,
        };
        let files = listed.into_iter().filter(|listed| !listed.is_dir);
        let mut files: Vec<_> = files
            .filter_map(|listed| {
                let (gauge, number) = gauge_and_number(&listed.name)?;
                let path = folder.join(&listed.name);
                Some(StreamFile {
                    gauge: gauge.to_owned(),
                    number,
                    path,
                    name: listed.name,
                })
            })
            .collect();
        files.sort();
        Ok(files)
    }

    /// Everything in a job that was made out from recorded streams, at every station, in the order of
    /// all of them, with what it takes to make each reading out anew and compare. Streams stay with
    /// the station that recorded them.
    ///
    /// # Errors
    /// As for [`Reader::follow`].
    pub fn evidence(&self, job: &str) -> Result<Vec<ReadingEvidence>, StoreError> {
        let files = self.streams(job)?;
        let mut all = Vec::new();
        let followed = self.follow(job, |_, said| {
            if let Fact::Held(reading) | Fact::Revised(reading) | Fact::Final(reading) = said.fact {
                let mut of_reading = evidence_of(said.id, reading.clone());
                for evidence in &mut of_reading {
                    evidence.held_by = said.station.map(str::to_owned);
                }
                all.append(&mut of_reading);
            }
            Ok::<(), Infallible>(())
        });
        if let Err(FollowError::Store(error)) = followed {
            return Err(error);
        }
        // Another station's file of that name is another one.
        for evidence in all.iter_mut().filter(|one| one.held_by.is_none()) {
            let file = files.iter().find(|file| file.name == evidence.stream.file);
            evidence.path = file.map(|file| file.path.clone());
        }
        Ok(all)
    }
}

fn evidence_of(id: ReadingId, reading: Reading) -> Vec<ReadingEvidence> {
    let spot = reading.spot;
    let step = reading.labels.get(STEP).and_then(|step| step.parse().ok());
    let own = reading.stream.map(|stream| ReadingEvidence {
        reading: id,
        spot: spot.clone(),
        role: None,
        gauge: reading.gauge,
        value: reading.value,
        unit: reading.unit,
        raw: reading.raw,
        raw_unit: reading.raw_unit,
        step,
        window: reading.window,
        stream,
        path: None,
        held_by: None,
    });
    let parts = reading.parts.into_iter().filter_map(|part| {
        Some(ReadingEvidence {
            reading: id,
            spot: spot.clone(),
            role: Some(part.role),
            gauge: part.gauge,
            value: part.value,
            unit: part.unit,
            raw: part.raw,
            raw_unit: part.raw_unit,
            step: None,
            window: part.window,
            stream: part.stream?,
            path: None,
            held_by: None,
        })
    });
    own.into_iter().chain(parts).collect()
}

impl Store {
    /// Begins the next file of a gauge's recorded stream in a job.
    ///
    /// # Errors
    /// When the store was opened for reading, there is no such job, or the disk refuses.
    pub fn new_stream(&self, job: &str, gauge: &str) -> Result<NewStream, StoreError> {
        self.may_write()?;
        check_name("gauge", gauge)?;
        let reader = self.reader();
        let folder = reader.job_dir(job)?.join(STREAMS);
        let own = reader
            .streams(job)?
            .into_iter()
            .filter(|file| file.gauge == gauge);
        let number = own.map(|file| file.number).max().unwrap_or(0) + 1;
        let name = format!("{gauge}-{number:03}{ENDING}");
        reader.files().create_dir(&folder)?;
        let path = folder.join(&name);
        let to = StreamSink(reader.files().open_append(&path)?);
        reader.files().sync_dir(&folder)?;
        Ok(NewStream {
            file: StreamFile {
                gauge: gauge.to_owned(),
                number,
                name,
                path,
            },
            to,
        })
    }
}

/// The most that the first line of a stream may have, bytes.
const FIRST_LINE: usize = 1 << 16;

impl Store {
    /// Cuts a recorded stream off behind its first line, which says what it was of. Its name stays
    /// taken: another one of that name would be taken for what readings were made out from. Returns how
    /// many bytes that frees. Nothing is cut off where the first line is not there yet, or is not one that
    /// `may_go`.
    ///
    /// # Errors
    /// When the store was opened for reading, or the disk refuses.
    pub(crate) fn cut_stream(
        &self,
        file: &StreamFile,
        may_go: impl Fn(&[u8]) -> bool,
    ) -> Result<u64, StoreError> {
        self.may_write()?;
        let files = self.reader().files();
        let length = files.len(&file.path)?;
        let begin = files.read_part(&file.path, 0, FIRST_LINE)?;
        let Some(end) = begin.iter().position(|byte| *byte == b'\n') else {
            return Ok(0);
        };
        let (first, _) = begin.split_at(end + 1);
        if !may_go(first) {
            return Ok(0);
        }
        let freed = length.saturating_sub(first.len() as u64);
        if freed > 0 {
            files.replace(&file.path, first)?;
        }
        Ok(freed)
    }
}

/// The gauge and the number that a stream file's name says, where it is the name of one.
pub(crate) fn gauge_and_number(name: &str) -> Option<(&str, u32)> {
    let (gauge, number) = name.strip_suffix(ENDING)?.rsplit_once('-')?;
    let digits = number.len() >= 3 && number.bytes().all(|byte| byte.is_ascii_digit());
    Some((
        gauge,
        number
            .parse()
            .ok()
            .filter(|_| digits && check_name("gauge", gauge).is_ok())?,
    ))
}
