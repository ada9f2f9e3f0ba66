//! How a job keeps facts: each gets its place in line, and is acknowledged once it is written.

use std::sync::Arc;

use crate::store::fact::Fact;
use crate::store::fold::Stamp;
use crate::store::job::{Job, WritingBatch, WritingPlace};
use crate::store::job_error::{Ack, JobError};
use crate::store::job_own_lines::said;
use crate::store::journal::{Journal, NewLine};
use crate::store::keys::KeyUse;
use crate::store::station::base_in;
use crate::store::view::JobView;
use crate::store::writing::{MOST, Waiting};

impl Job {
    /// Keeps a fact. When this returns `Ok` the fact is on the disk for good, and so is everything
    /// that was in line before it. A request that is repeated under the same key gets the same
    /// answer and is not kept twice.
    ///
    /// # Errors
    /// When the fact does not fit, the key was used for another fact, or the disk refuses:
    /// nothing is kept then and the view is as it was.
    pub fn append(&mut self, fact: Fact, key: Option<&str>) -> Result<Ack, JobError> {
        // A repetition is answered once what it repeats is decided.
        self.write_line()?;
        let (ack, place) = self.put_in_line(fact, key)?;
        self.write_line()?;
        match self.outcome(place) {
            Some(outcome) => outcome.map(|()| ack),
            None => Err(JobError::Writing),
        }
    }

    /// Keeps several facts as one batch: all of them, or none. `key` is the first one's.
    ///
    /// # Errors
    /// As for [`Job::append`], of the first fact that is refused.
    pub fn append_together(
        &mut self,
        facts: Vec<Fact>,
        key: Option<&str>,
    ) -> Result<Vec<Ack>, JobError> {
        self.write_line()?;
        let mut acks = Vec::new();
        let mut place = WritingPlace(self.line.decided);
        for (nth, fact) in facts.into_iter().enumerate() {
            match self.put_in_line(fact, key.filter(|_| nth == 0)) {
                Ok((ack, at)) => {
                    acks.push(ack);
                    place = at;
                }
                Err(error) => {
                    self.drop_line();
                    return Err(error);
                }
            }
        }
        if !self.line.waiting.is_empty() {
            let mut batch = self.batch_of(usize::MAX)?;
            batch.write();
            self.take_back(batch);
        }
        match self.outcome(place) {
            Some(outcome) => outcome.map(|()| acks),
            None => Err(JobError::Writing),
        }
    }

    /// Forgets what is in line and was not written.
    fn drop_line(&mut self) {
        for waiting in std::mem::take(&mut self.line.waiting) {
            if let Some(key) = &waiting.line.key {
                self.keys.forget(key);
            }
        }
        self.line.said.clear();
        self.line.last = self.line.decided;
        if let Some(journal) = &self.line.journal {
            self.line.next_seq = journal.next_seq();
        }
        self.view = self.line.kept.clone();
    }

    /// Writes all that is in line.
    pub(super) fn write_line(&mut self) -> Result<(), JobError> {
        while !self.line.waiting.is_empty() {
            let mut batch = self.take_batch()?;
            batch.write();
            self.take_back(batch);
        }
        Ok(())
    }

    /// Puts a fact in line. It is not acknowledged before [`Job::outcome`] says so.
    ///
    /// # Errors
    /// When the fact does not fit, the key was used for another fact, or what it repeats is in line
    /// itself ([`JobError::Writing`]).
    pub fn put_in_line(
        &mut self,
        mut fact: Fact,
        key: Option<&str>,
    ) -> Result<(Ack, WritingPlace), JobError> {
        let own = self.own_line(&mut fact)?;
        let print = key.map(|_| own.text.print());
        if let (Some(key), Some(print)) = (key, print)
            && let Some(ack) = self.keys.repeated(key, print)?
        {
            // What this station kept when it was another one is not in line.
            let before = base_in(ack.seq) != self.keys.base;
            return match before || ack.seq <= self.keys.base + self.line.kept_seq {
                true => Ok((ack, WritingPlace(self.line.decided))),
                false => Err(JobError::Writing),
            };
        }
        self.view.fits(&fact)?;
        let (at, seq, numbers) = (self.clock.now_utc(), self.line.next_seq, fact.numbers());
        if let (Some(key), Some(print)) = (key, print) {
            let used = KeyUse {
                print,
                seq,
                base: None,
                numbers,
                at,
            };
            self.keys.keep(key, used);
        }
        let beside = self.beside(&fact, at);
        let text = own.text;
        let touched = match self.speaks(&beside) {
            Some(speaks) => {
                let said = said(speaks, (seq, at), beside.on.clone(), own.names, fact);
                self.take_said(said)
            }
            None => {
                let hash = String::new();
                self.view.apply_fitting(Stamp { seq, at, hash }, fact)
            }
        };
        self.line.next_seq += numbers;
        self.line.last += 1;
        self.line.waiting.push(Waiting {
            line: NewLine {
                at,
                beside,
                key: key.map(str::to_owned),
                text,
                numbers,
            },
            view: self.view.clone(),
        });
        let ack = Ack {
            seq: self.keys.base + seq,
            numbers,
            at,
            repeated: false,
            touched,
        };
        Ok((ack, WritingPlace(self.line.last)))
    }

    /// Whether the fact at a place in line was kept; `None` while that is not known. A refusal is
    /// told once.
    pub fn outcome(&mut self, place: WritingPlace) -> Option<Result<(), JobError>> {
        if place.0 > self.line.decided {
            return None;
        }
        let refused = self.line.refused.remove(&place.0);
        Some(refused.map_or(Ok(()), |error| {
            Err(Arc::try_unwrap(error).unwrap_or_else(JobError::Together))
        }))
    }

    /// Takes what is in line, to be written without this job. It must be given back by
    /// [`Job::take_back`] before another batch is taken.
    ///
    /// # Errors
    /// Where another batch has not been given back.
    pub fn take_batch(&mut self) -> Result<WritingBatch, JobError> {
        self.batch_of(MOST)
    }

    fn batch_of(&mut self, most: usize) -> Result<WritingBatch, JobError> {
        let line = &mut self.line;
        let journal = line.journal.take().ok_or(JobError::Writing)?;
        let later = line.waiting.split_off(line.waiting.len().min(most));
        let taken = std::mem::replace(&mut line.waiting, later);
        let view = taken.last().map_or(&line.kept, |last| &last.view).clone();
        Ok(WritingBatch {
            journal: Some(journal),
            last: line.decided + taken.len() as u64,
            lines: taken.into_iter().map(|one| one.line).collect(),
            view,
            written: Ok(()),
        })
    }

    /// Takes a batch back after it was written, or was not.
    pub fn take_back(&mut self, batch: WritingBatch) {
        let line = &mut self.line;
        let hash = batch.journal.as_ref().map(Journal::last_hash);
        let hash = hash.unwrap_or_default().to_owned();
        match batch.written {
            Ok(()) => {
                let next = batch.journal.as_ref().map_or(1, Journal::next_seq);
                line.kept_seq = next - 1;
                let kept = batch.journal.as_ref().map(Journal::kept_len);
                line.kept_len = kept.unwrap_or(line.kept_len);
                let several = self.stations.as_mut().and_then(|s| s.union.as_mut());
                line.kept = match several {
                    Some(union) => {
                        let written = line.said.drain(..batch.lines.len());
                        union.keep(written.collect(), batch.view, &hash);
                        union.view().clone()
                    }
                    None => {
                        let mut view = batch.view;
                        if let Some(head) = &mut view.head {
                            head.hash = hash;
                        }
                        view
                    }
                };
                line.decided = batch.last;
                if line.waiting.is_empty() {
                    self.view = line.kept.clone();
                }
            }
            Err(error) => {
                let error = Arc::new(JobError::Journal(error));
                line.said.clear();
                let behind = std::mem::take(&mut line.waiting);
                let lines = batch.lines.into_iter();
                for new in lines.chain(behind.into_iter().map(|one| one.line)) {
                    if let Some(key) = &new.key {
                        self.keys.forget(key);
                    }
                }
                for place in line.decided + 1..=line.last {
                    line.refused.insert(place, Arc::clone(&error));
                }
                line.decided = line.last;
                line.next_seq = batch
                    .journal
                    .as_ref()
                    .map_or(line.next_seq, Journal::next_seq);
                self.view = line.kept.clone();
            }
        }
        line.journal = batch.journal;
    }

    /// The job as of its last acknowledged fact.
    #[must_use]
    pub fn kept(&self) -> &JobView {
        &self.line.kept
    }
}
