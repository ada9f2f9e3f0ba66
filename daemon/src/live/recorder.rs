//! Records what the gauges of running jobs send, in the background.
//!
//! Nobody waits for a recorded stream: the journal line of a reading carries the samples of its
//! window, so the reading can be judged without the stream. Files rotate by size.

use std::collections::BTreeMap;
use std::io::BufWriter;
use std::sync::Arc;

use benchhand_drivers::port::ByteDirection;
use benchhand_drivers::stream::{self, LineEvent, StreamError, StreamHeader, StreamWriter};
use benchhand_drivers::transport::ModemInputs;
use benchhand_wire::{Reason, Refusal};

use super::line::GaugeLine;
use crate::known::keeper::Keeper;
use crate::known::refusals::of_store;
use crate::store::fact::{StreamAt, content_hash};
use crate::store::streams::StreamSink;

/// A file is closed and the next one begun at about this many bytes.
const ROTATE_AT: u64 = 4 << 20;

/// The recorders of all running jobs.
pub(super) struct Recorders {
    keeper: Arc<Keeper>,
    open: BTreeMap<(String, String), Recorder>,
}

struct Recorder {
    job: String,
    file_name: String,
    header: StreamHeader,
    writer: StreamWriter<BufWriter<StreamSink>>,
    /// The gauge's time at which this file began.
    began_us: Option<u64>,
    written: u64,
}

impl Recorders {
    pub(super) fn new(keeper: Arc<Keeper>) -> Recorders {
        Recorders {
            keeper,
            open: BTreeMap::new(),
        }
    }

    /// Begins to record a gauge for a job; nothing happens where the gauge is recorded already.
    pub(super) fn open(&mut self, job: &str, line: &GaugeLine) -> Result<(), Refusal> {
        let key = (job.to_owned(), line.name.clone());
        if self.open.contains_key(&key) {
            return Ok(());
        }
        let header = StreamHeader {
            profile_hash: Some(content_hash(line.profile.text().as_bytes())),
            gauge: Some(line.name.clone()),
            start: Some(self.keeper.clock().now_utc().to_string()),
            ..StreamHeader::new(line.profile.name(), line.profile.line(), line.origin())
        };
        let recorder = Recorder::begin(&self.keeper, job.to_owned(), header)?;
        self.open.insert(key, recorder);
        Ok(())
    }

    /// Records bytes of a gauge for each job that uses it.
    pub(super) fn write(
        &mut self,
        gauge: &str,
        at_us: u64,
        direction: ByteDirection,
        bytes: Vec<u8>,
    ) {
        let what = match direction {
            ByteDirection::Rx => LineEvent::Rx(bytes),
            ByteDirection::Tx => LineEvent::Tx(bytes),
        };
        for ((_, name), recorder) in &mut self.open {
            if name != gauge {
                continue;
            }
            if recorder.written > ROTATE_AT
                && let Err(refusal) = recorder.rotate(&self.keeper)
            {
                tracing::warn!(gauge, %refusal, "the recorded stream goes on in the same file");
            }
            if let Err(error) = recorder.write(at_us, what.clone()) {
                tracing::warn!(gauge, %error, "bytes were not recorded");
            }
        }
    }

    /// The file in which a gauge is being recorded for a job.
    pub(super) fn file(&self, job: &str, gauge: &str) -> Option<String> {
        let recorder = self.open.get(&(job.to_owned(), gauge.to_owned()))?;
        Some(recorder.file_name.clone())
    }

    /// Records that the line of a gauge was opened or lost: its bytes begin anew there.
    pub(super) fn link(&mut self, gauge: &str, at_us: u64, link: stream::LinkChange) {
        for ((_, name), recorder) in &mut self.open {
            if name == gauge
                && let Err(error) = recorder.write(at_us, LineEvent::Link(link))
            {
                tracing::warn!(gauge, %error, "what became of a line was not recorded");
            }
        }
    }

    /// Records the inputs of a gauge's port for each job that uses it.
    pub(super) fn inputs(&mut self, gauge: &str, at_us: u64, inputs: ModemInputs) {
        let change = stream::ModemChange {
            cts: Some(inputs.cts),
            dsr: Some(inputs.dsr),
        };
        for ((_, name), recorder) in &mut self.open {
            if name == gauge
                && let Err(error) = recorder.write(at_us, LineEvent::Line(change))
            {
                tracing::warn!(gauge, %error, "a pedal's contact was not recorded");
            }
        }
    }

    /// The position in the recorded stream of a gauge at a moment.
    pub(super) fn position(&self, job: &str, gauge: &str, at_us: u64) -> Option<StreamAt> {
        let recorder = self.open.get(&(job.to_owned(), gauge.to_owned()))?;
        let at_us = at_us.saturating_sub(recorder.began_us?);
        Some(StreamAt {
            file: recorder.file_name.clone(),
            at_us,
        })
    }

    /// Ends the recording of a gauge for a job.
    pub(super) fn close(&mut self, job: &str, gauge: &str) {
        if let Some(mut recorder) = self.open.remove(&(job.to_owned(), gauge.to_owned())) {
            recorder.flush();
        }
    }

    /// Ends at once: bytes that were not written out are lost.
    pub(super) fn forget(&mut self) {
        for recorder in std::mem::take(&mut self.open).into_values() {
            // Taken apart, the buffer is not written out.
            drop(recorder.writer.into_inner().into_parts());
        }
    }

    /// Hands the recorded bytes to the system.
    pub(super) fn flush(&mut self) {
        self.open.values_mut().for_each(Recorder::flush);
    }
}

impl Recorder {
    fn begin(keeper: &Keeper, job: String, header: StreamHeader) -> Result<Recorder, Refusal> {
        let gauge = header.gauge.clone().unwrap_or_default();
        let stream = keeper.writing("a recorded stream", |store| {
            store.new_stream(&job, &gauge).map_err(|e| of_store(&e))
        })?;
        let writer = StreamWriter::new(BufWriter::new(stream.to), &header).map_err(|e| {
            Refusal::new(
                Reason::Storage,
                format!("the stream of {gauge} cannot be recorded: {e}"),
            )
        })?;
        let file_name = stream.file.name;
        Ok(Recorder {
            job,
            file_name,
            header,
            writer,
            began_us: None,
            written: 0,
        })
    }

    /// Goes on in the next file. Its times count from the same start.
    fn rotate(&mut self, keeper: &Keeper) -> Result<(), Refusal> {
        self.flush();
        let began_us = self.began_us;
        *self = Recorder::begin(keeper, self.job.clone(), self.header.clone())?;
        self.began_us = began_us;
        Ok(())
    }

    fn write(&mut self, at_us: u64, what: LineEvent) -> Result<(), StreamError> {
        let began = *self.began_us.get_or_insert(at_us);
        // About the bytes that a line needs around its payload.
        self.written += 20
            + match &what {
                LineEvent::Rx(bytes) | LineEvent::Tx(bytes) => bytes.len() as u64,
                LineEvent::Line(_) | LineEvent::Link(_) => 0,
            };
        let at_us = at_us.saturating_sub(began);
        self.writer.event(&stream::StreamEvent { at_us, what })
    }

    fn flush(&mut self) {
        if let Err(error) = self.writer.flush() {
            tracing::warn!(file = self.file_name, %error, "the stream was not written out");
        }
    }
}
