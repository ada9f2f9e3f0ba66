//! Own lines go out, in order, in batches.

use crate::fault::ShopFault;
use crate::line::JournalLine;
use crate::record::{JobId, RecordFault, StationId, StationRecord};

use super::{Exchange, ExchangeEnd};

/// What is sent in one statement, and journals that could not be read.
#[derive(Default)]
struct Batch {
    lines: Vec<(JobId, i16, JournalLine)>,
    bytes: usize,
    unread: Vec<(JobId, RecordFault)>,
    /// Journals that had no further line on the disk, with the line after which none was found.
    at_end: Vec<(JobId, u64)>,
}

impl Exchange<'_> {
    /// Sends one batch, if there is anything to send. Says whether it did.
    pub(super) async fn send_some(&mut self) -> Result<bool, ExchangeEnd> {
        let mut from = self.memory.kept.unsent();
        from.retain(|(job, _)| !self.set_aside.contains(job) && !self.returning.contains_key(job));
        if from.is_empty() {
            return Ok(false);
        }
        let (me, pace) = (self.me.clone(), self.memory.pace);
        let batch = self
            .ask(move |record| gathered(record, &me, &from, pace.batch_lines, pace.batch_bytes))
            .await?;
        for (job, fault) in batch.unread {
            self.set_aside.insert(job.clone());
            self.trouble(&(job, self.me.clone()), fault.words);
        }
        for (job, number) in batch.at_end {
            // What was told as kept is not on the disk after all; the next comparison looks again.
            if self.memory.kept.end(&job) > number {
                self.set_aside.insert(job);
            }
        }
        if batch.lines.is_empty() {
            return Ok(false);
        }
        self.hand_in(batch.lines).await?;
        Ok(true)
    }

    async fn hand_in(&mut self, lines: Vec<(JobId, i16, JournalLine)>) -> Result<(), ExchangeEnd> {
        let added = self.rows.add(&self.me, &lines, &self.hint(&lines)).await?;
        if added == lines.len() as u64 {
            for (job, _, line) in lines {
                self.memory.kept.sent_up_to(&job, line.number);
            }
        } else {
            // Some were there: sent before the last connection broke, or by another under our name.
            let mut jobs: Vec<JobId> = lines.iter().map(|(job, ..)| job.clone()).collect();
            jobs.dedup();
            for job in jobs {
                let ours = lines.iter().filter(|(of, ..)| *of == job);
                let last = ours.map(|(.., line)| line.number).max().unwrap_or_default();
                self.settle(&job, last).await?;
            }
        }
        self.memory.state.send_modify(|state| {
            state.sent += added;
            state.waiting = self.memory.kept.waiting();
        });
        Ok(())
    }

    /// What the others are told of a batch: that there is more of one journal, or of many.
    fn hint(&self, lines: &[(JobId, i16, JournalLine)]) -> String {
        let me = &self.me;
        match lines.first() {
            Some((job, ..)) if lines.iter().all(|(other, ..)| other == job) => {
                format!("lines {me} {job}")
            }
            _ => format!("many {me}"),
        }
    }

    /// Own lines behind `after`, as the record gives them.
    pub(super) async fn own_lines(
        &self,
        job: &JobId,
        after: u64,
        most: usize,
    ) -> Result<Result<Vec<JournalLine>, RecordFault>, ShopFault> {
        let (job, me) = (job.clone(), self.me.clone());
        self.ask(move |record| record.lines(&job, &me, after, most))
            .await
    }
}

fn gathered(
    record: &dyn StationRecord,
    me: &StationId,
    from: &[(JobId, u64)],
    most: usize,
    bytes: usize,
) -> Batch {
    let mut batch = Batch::default();
    for (job, sent) in from {
        if batch.lines.len() >= most || batch.bytes >= bytes {
            break;
        }
        let found = match record.lines(job, me, *sent, most - batch.lines.len()) {
            Ok(found) => found,
            Err(fault) => {
                batch.unread.push((job.clone(), fault));
                continue;
            }
        };
        if found.is_empty() {
            batch.at_end.push((job.clone(), *sent));
        }
        let mut before = None;
        for line in found {
            // What is damaged here is not spread.
            let expected = before.replace(line.hash.clone());
            let expected = expected.or_else(|| line.prev().map(str::to_owned));
            if let Err(unsound) = line.check(&expected.unwrap_or_default()) {
                let words = format!(
                    "line {} of this station's own journal is not sent: {unsound}; see `job verify`",
                    line.number
                );
                batch.unread.push((job.clone(), RecordFault { words }));
                break;
            }
            // A longer line goes alone.
            if !batch.lines.is_empty() && batch.bytes + line.text.len() > bytes {
                return batch;
            }
            batch.bytes += line.text.len();
            batch.lines.push((job.clone(), 0, line));
        }
    }
    batch
}
