//! Other stations' lines come in, each journal in order, and own lines that a restored disk lacks.

use crate::line::{JournalLine, before_the_first};
use crate::record::JobId;
use crate::rows::LineRow;

use super::comparing::{PIECE, by_number, sound};
use super::{Exchange, ExchangeEnd, HeldHere, JournalKey};

impl Exchange<'_> {
    /// Fetches a piece of one journal, if any is wanted. Says whether it did.
    pub(super) async fn fetch_some(&mut self) -> Result<bool, ExchangeEnd> {
        // Of a job that is not known here yet its opening comes first.
        let is_next = |key: &&JournalKey| self.known.contains(&key.0) || self.openers.contains(key);
        let Some(key) = self.wanted.iter().find(is_next).cloned() else {
            return Ok(false);
        };
        let (number, hash) = match self.held.get(&key) {
            Some(held) => (held.number, held.hash.clone()),
            None => (0, before_the_first()),
        };
        let until = number + PIECE;
        let rows = self.rows.lines(&key.0, &key.1, number, until).await?;
        let (lines, stopped) = chained(&rows, number, &hash);
        if lines.is_empty() && stopped.is_none() {
            self.wanted.remove(&key);
            return Ok(true);
        }
        if !self.take_in(&key, lines).await? {
            self.wanted.remove(&key);
            return Ok(true);
        }
        match stopped {
            Some(number) => {
                self.wanted.remove(&key);
                let words = format!(
                    "line {number} was changed or taken out in the database; its station adds a good \
                     copy when it is next connected"
                );
                self.trouble(&key, words);
                self.report_bad(&key, number).await?;
            }
            None => self.sound(&key),
        }
        Ok(true)
    }

    /// Has the record keep lines of another station. Says whether it did.
    async fn take_in(
        &mut self,
        key: &JournalKey,
        lines: Vec<JournalLine>,
    ) -> Result<bool, ExchangeEnd> {
        let Some(last) = lines.last() else {
            return Ok(true);
        };
        let held = HeldHere {
            number: last.number,
            hash: last.hash.clone(),
        };
        let taken = lines.len() as u64;
        let (job, station) = key.clone();
        let kept = self
            .ask(move |record| record.take_in(&job, &station, &lines))
            .await?;
        match kept {
            Ok(()) => {
                self.held.insert(key.clone(), held);
                self.known.insert(key.0.clone());
                let count = |state: &mut crate::state::ShopState| {
                    state.taken_in += taken;
                    if let Some(left) = state.unfetched.get_mut(&key.1) {
                        *left = left.saturating_sub(taken);
                    }
                };
                self.memory.state.send_modify(count);
                Ok(true)
            }
            Err(fault) => {
                self.trouble(key, fault.words);
                Ok(false)
            }
        }
    }

    /// Takes up a piece of an own journal of which the shop holds more than this disk does.
    pub(super) async fn take_back_some(&mut self) -> Result<bool, ExchangeEnd> {
        let is_next = |job: &&JobId| {
            self.known.contains(*job) || self.openers.contains(&((*job).clone(), self.me.clone()))
        };
        let Some(job) = self.returning.keys().find(is_next).cloned() else {
            return Ok(false);
        };
        let last = self.returning[&job].head.number;
        let ours = self.memory.kept.end(&job);
        if ours >= last {
            self.returning.remove(&job);
            self.memory.kept.sent_up_to(&job, last);
            return Ok(true);
        }
        let hash = match ours {
            0 => before_the_first(),
            _ => match self.own_piece(&job, ours - 1, ours).await? {
                Some(lines) => lines[0].hash.clone(),
                None => {
                    self.returning.remove(&job);
                    return Ok(true);
                }
            },
        };
        let until = last.min(ours + PIECE);
        let rows = self.rows.lines(&job, &self.me, ours, until).await?;
        let (lines, stopped) = chained(&rows, ours, &hash);
        let Some(reached) = lines.last().map(|line| line.number) else {
            self.returning.remove(&job);
            return self.later_lines_do_not_follow(&job, ours, stopped).await;
        };
        let of = job.clone();
        let taken = lines.len();
        let kept = self
            .ask(move |record| record.take_back(&of, &lines))
            .await?;
        if let Err(fault) = kept {
            self.returning.remove(&job);
            self.set_aside.insert(job.clone());
            self.trouble(&(job, self.me.clone()), fault.words);
            return Ok(true);
        }
        tracing::info!(%job, taken, "own later lines taken up from the shop");
        self.memory.kept.reached(&job, reached);
        self.memory.kept.sent_up_to(&job, reached);
        self.known.insert(job);
        Ok(true)
    }

    /// The shop's next own line does not continue this disk's last one: either this disk's journal
    /// is another one from some line on, or the shop's line was changed.
    async fn later_lines_do_not_follow(
        &mut self,
        job: &JobId,
        ours: u64,
        stopped: Option<u64>,
    ) -> Result<bool, ExchangeEnd> {
        if ours > 0 {
            self.settle(job, ours).await?;
        }
        self.set_aside.insert(job.clone());
        if let Some(number) = stopped {
            let words = format!(
                "line {number} of this station's own journal was changed or taken out in the \
                 database, and this disk, which is older, does not hold it"
            );
            self.trouble(&(job.clone(), self.me.clone()), words);
        }
        Ok(true)
    }
}

/// The lines behind `after` that follow on each other, and the number at which that ends before the
/// rows do.
fn chained(rows: &[LineRow], after: u64, hash: &str) -> (Vec<JournalLine>, Option<u64>) {
    let mut lines: Vec<JournalLine> = Vec::new();
    let mut before = hash.to_owned();
    for (next, (number, copies)) in (after + 1..).zip(by_number(rows)) {
        let line = match number == next {
            true => sound(&copies, &before),
            false => None,
        };
        let Some(line) = line else {
            return (lines, Some(next));
        };
        before.clone_from(&line.hash);
        lines.push(line.clone());
    }
    (lines, None)
}
