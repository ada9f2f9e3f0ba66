//! Own lines that were changed in the database get a good copy as another row.

use crate::record::JobId;

use super::comparing::{PIECE, by_number};
use super::{Exchange, ExchangeEnd, JournalKey};

impl Exchange<'_> {
    /// Adds a good copy of each own line behind `after`, up to `until`, whose last copy in the
    /// database is another one than this disk's, or which is not there any more.
    pub(super) async fn mend(
        &mut self,
        job: &JobId,
        after: u64,
        until: u64,
    ) -> Result<(), ExchangeEnd> {
        let until = until.min(self.memory.kept.end(job));
        let mut after = after;
        let mut mended = Vec::new();
        while after < until {
            let end = until.min(after + PIECE);
            let Some(ours) = self.own_piece(job, after, end).await? else {
                return Ok(());
            };
            let rows = self.rows.lines(job, &self.me, after, end).await?;
            let there = by_number(&rows);
            let mut bad = Vec::new();
            for line in ours {
                let last = there.get(&line.number).and_then(|copies| copies.last());
                // The row's own column may have been changed, and its text not.
                if last.is_some_and(|row| row.line == line) {
                    continue;
                }
                let copy = last.map_or(0, |row| row.copy.saturating_add(1));
                mended.push(line.number);
                bad.push((job.clone(), copy, line));
            }
            if !bad.is_empty() {
                let hint = format!("lines {} {job}", self.me);
                self.rows.add(&self.me, &bad, &hint).await?;
            }
            after = end;
        }
        if !mended.is_empty() {
            let words = format!(
                "changed or taken out in the database: line {} of this station's journal; it has been \
                 given a good copy. Look who may change rows there",
                told(&mended)
            );
            self.trouble(&(job.clone(), self.me.clone()), words);
        }
        Ok(())
    }

    /// Looks through some own lines in the database, round and round.
    pub(super) async fn patrol(&mut self) -> Result<(), ExchangeEnd> {
        let kept = &self.memory.kept;
        let (job, after) = match self.patrolled.take() {
            Some((job, after)) if kept.sent(&job) > after => (job, after),
            other => {
                let behind = other.as_ref().map(|(job, _)| job);
                match kept.next_sent(behind) {
                    Some(job) => (job, 0),
                    None => return Ok(()),
                }
            }
        };
        let sent = kept.sent(&job);
        let until = sent.min(after + self.memory.pace.patrol_lines as u64);
        self.mend(&job, after, until).await?;
        self.patrolled = Some((job, until));
        Ok(())
    }

    /// Tells the station that wrote a journal that a line of it is bad in the database.
    pub(super) async fn report_bad(
        &mut self,
        (job, station): &JournalKey,
        number: u64,
    ) -> Result<(), ExchangeEnd> {
        let hint = format!("bad {station} {job} {number}");
        Ok(self.rows.tell(&hint).await?)
    }
}

/// Line numbers for people, the first few of them.
fn told(numbers: &[u64]) -> String {
    let first: Vec<String> = numbers.iter().take(5).map(u64::to_string).collect();
    let more = numbers.len() - first.len();
    match more {
        0 => first.join(", "),
        more => format!("{} and {more} more", first.join(", ")),
    }
}
