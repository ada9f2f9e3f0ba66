//! The heads of all journals, here and there, are held against each other.

use std::collections::{BTreeMap, BTreeSet};

use crate::fault::ShopFault;
use crate::line::{JournalLine, before_the_first};
use crate::record::{JobId, JournalHead, RecordFault};
use crate::rows::{HeadRow, LineRow};

use super::{Exchange, ExchangeEnd, HeldHere, JournalKey};

/// How many lines are looked at at once.
pub(super) const PIECE: u64 = 500;

impl Exchange<'_> {
    /// Looks how far each journal is, here and there, and sets down what is to be done.
    pub(super) async fn compare(&mut self) -> Result<(), ExchangeEnd> {
        let here = self.ask(|record| record.heads()).await?;
        let here = here.map_err(ShopFault::Record)?;
        let there = self.rows.heads().await?;
        self.set_aside.clear();
        self.forked.clear();
        self.take_stock(&here);
        let own: BTreeMap<JobId, JournalHead> = here
            .into_iter()
            .filter(|head| head.station == self.me)
            .map(|head| (head.job.clone(), head))
            .collect();
        let mut unsent: BTreeSet<JobId> = own.keys().cloned().collect();
        let mut unfetched: BTreeMap<_, u64> = BTreeMap::new();
        for row in there {
            let key = (row.head.job.clone(), row.head.station.clone());
            if row.opens {
                self.openers.insert(key.clone());
            }
            if key.1 == self.me {
                unsent.remove(&key.0);
                self.compare_own(own.get(&key.0), row).await?;
            } else {
                let held = self.held.get(&key).map_or(0, |held| held.number);
                *unfetched.entry(key.1.clone()).or_default() +=
                    row.head.number.saturating_sub(held);
                self.compare_held(&key, &row).await?;
            }
        }
        // The shop holds nothing of these: it is new, or was restored from an older copy.
        for job in unsent {
            self.memory.kept.sent_up_to(&job, 0);
        }
        let stations = self.rows.stations().await?;
        self.memory.state.send_if_modified(|state| {
            let waiting = self.memory.kept.waiting();
            let differs = !state.compared
                || state.waiting != waiting
                || state.stations != stations
                || state.unfetched != unfetched;
            state.unfetched = unfetched;
            state.compared = true;
            state.waiting = waiting;
            state.stations = stations;
            differs
        });
        Ok(())
    }

    fn take_stock(&mut self, here: &[JournalHead]) {
        self.known = here.iter().map(|head| head.job.clone()).collect();
        self.held.clear();
        for head in here {
            if head.station == self.me {
                self.memory.kept.reached(&head.job, head.number);
            } else {
                let held = HeldHere {
                    number: head.number,
                    hash: head.hash.clone(),
                };
                self.held
                    .insert((head.job.clone(), head.station.clone()), held);
            }
        }
    }

    /// An own journal: what the shop holds of it may be shorter, longer, or another one.
    async fn compare_own(
        &mut self,
        here: Option<&JournalHead>,
        there: HeadRow,
    ) -> Result<(), ExchangeEnd> {
        let job = there.head.job.clone();
        let ours = here.map_or(0, |head| head.number);
        if there.head.number > ours {
            self.returning.insert(job, there);
            return Ok(());
        }
        self.returning.remove(&job);
        let theirs = there.head.number;
        let same = match here {
            Some(head) if head.number == theirs => head.hash == there.head.hash,
            _ => match self.own_lines(&job, theirs - 1, 1).await? {
                Ok(lines) => lines
                    .first()
                    .is_some_and(|line| line.hash == there.head.hash),
                Err(fault) => {
                    self.set_aside.insert(job.clone());
                    self.trouble(&(job, self.me.clone()), fault.words);
                    return Ok(());
                }
            },
        };
        match same {
            true => self.memory.kept.sent_up_to(&job, theirs),
            false => self.settle(&job, theirs).await?,
        }
        Ok(())
    }

    /// Another station's journal.
    async fn compare_held(&mut self, key: &JournalKey, row: &HeadRow) -> Result<(), ExchangeEnd> {
        let theirs = row.head.number;
        match self.held.get(key) {
            Some(held) if held.number > theirs => {}
            Some(held) if held.number == theirs => {
                if held.hash != row.head.hash {
                    let words = format!(
                        "line {theirs} is another one in the shop than here; here stays what was taken in"
                    );
                    self.trouble(key, words);
                    self.report_bad(key, theirs).await?;
                }
            }
            _ => drop(self.wanted.insert(key.clone())),
        }
        Ok(())
    }

    /// An own journal of which the shop seems to hold other lines, up to `last`: lines that were sent
    /// already, lines that were changed there, or a chain that another wrote under this station's
    /// name.
    pub(super) async fn settle(&mut self, job: &JobId, last: u64) -> Result<(), ExchangeEnd> {
        let mut before = before_the_first();
        let mut after = 0;
        while after < last {
            let until = last.min(after + PIECE);
            let Some(ours) = self.own_piece(job, after, until).await? else {
                return Ok(());
            };
            let rows = self.rows.lines(job, &self.me, after, until).await?;
            let there = by_number(&rows);
            for line in &ours {
                let copies = there.get(&line.number);
                let same = copies
                    .is_some_and(|copies| copies.iter().any(|row| row.line.text == line.text));
                if !same && copies.is_some() {
                    return self.differs(job, line.number, &before, last).await;
                }
                before.clone_from(&line.hash);
            }
            after = until;
        }
        self.mend(job, 0, last).await?;
        self.memory.kept.sent_up_to(job, last);
        Ok(())
    }

    /// Own line `number` is another one in the shop. Where all lines from it on make a chain, another
    /// wrote them under this station's name; otherwise they were changed, and get good copies.
    async fn differs(
        &mut self,
        job: &JobId,
        number: u64,
        before: &str,
        last: u64,
    ) -> Result<(), ExchangeEnd> {
        let mut before = before.to_owned();
        let mut after = number - 1;
        let mut forked = true;
        while forked && after < last {
            let until = last.min(after + PIECE);
            let rows = self.rows.lines(job, &self.me, after, until).await?;
            let there = by_number(&rows);
            for number in after + 1..=until {
                match there.get(&number).and_then(|copies| sound(copies, &before)) {
                    Some(line) => before.clone_from(&line.hash),
                    None => forked = false,
                }
            }
            after = until;
        }
        if !forked {
            self.mend(job, 0, last).await?;
            self.memory.kept.sent_up_to(job, last);
            return Ok(());
        }
        self.forks(job, number - 1);
        Ok(())
    }

    /// Another wrote under this station's name behind line `after` of a journal, which is not sent any
    /// more. This station becomes a new one once the shop holds its other journals.
    pub(super) fn forks(&mut self, job: &JobId, after: u64) {
        self.set_aside.insert(job.clone());
        self.forked.insert(job.clone(), after);
    }

    /// Becomes a new station where another wrote under this one's name. What the shop does not hold
    /// as the old one's by now, this machine alone can have written.
    pub(super) async fn part_ways(&mut self) -> Result<(), ExchangeEnd> {
        let Some((job, after)) = self.forked.first_key_value() else {
            return Ok(());
        };
        let (job, after) = (job.clone(), *after);
        let kept = &self.memory.kept;
        let shared = kept.all().into_iter().map(|own| {
            let forked = self.forked.get(&own).copied();
            let shared = forked.unwrap_or_else(|| kept.sent(&own));
            (own, shared)
        });
        let shared: Vec<(JobId, u64)> = shared.collect();
        match self.ask(move |record| record.part_ways(&shared)).await? {
            Ok(new) => Err(ExchangeEnd::Parted(format!(
                "another machine wrote under this station's name: behind line {after} of its \
                 journal of job {job} the shop holds other lines than this machine. It is a new \
                 station now, {new}; what it alone kept counts as the new station's. Look whether \
                 two machines run from copies of one data folder"
            ))),
            Err(fault) => {
                // Tried again with the next comparison.
                self.forked.clear();
                let words = format!(
                    "another machine wrote under this station's name behind line {after}, and this \
                     one could not become a new station yet: {fault}"
                );
                self.trouble(&(job, self.me.clone()), words);
                Ok(())
            }
        }
    }

    /// Own lines behind `after` up to `until`; `None` where the record could not give them, which is
    /// then shown.
    pub(super) async fn own_piece(
        &mut self,
        job: &JobId,
        after: u64,
        until: u64,
    ) -> Result<Option<Vec<JournalLine>>, ShopFault> {
        let most = usize::try_from(until - after).unwrap_or(usize::MAX);
        let given = self.own_lines(job, after, most).await?;
        let whole = given.and_then(|lines| {
            let whole = lines.len() == most;
            let words = format!("the record gave no line {}", after + lines.len() as u64 + 1);
            whole.then_some(lines).ok_or(RecordFault { words })
        });
        match whole {
            Ok(lines) => Ok(Some(lines)),
            Err(fault) => {
                self.set_aside.insert(job.clone());
                self.trouble(&(job.clone(), self.me.clone()), fault.words);
                Ok(None)
            }
        }
    }
}

/// The copies of each line, in their order.
pub(super) fn by_number(rows: &[LineRow]) -> BTreeMap<u64, Vec<&LineRow>> {
    let mut all: BTreeMap<u64, Vec<&LineRow>> = BTreeMap::new();
    for row in rows {
        all.entry(row.line.number).or_default().push(row);
    }
    all
}

/// The copy that is believed: the last one that follows on the line before.
pub(super) fn sound<'r>(copies: &[&'r LineRow], before: &str) -> Option<&'r JournalLine> {
    let sound = |row: &&&LineRow| row.line.check(before).is_ok();
    copies.iter().rev().find(sound).map(|row| &row.line)
}
