//! What the station itself has kept, told by whoever keeps it, and what of it the shop holds.

use std::collections::BTreeMap;
use std::ops::Bound::{Excluded, Unbounded};
use std::sync::{Mutex, MutexGuard, PoisonError};

use tokio::sync::Notify;

use crate::record::JobId;

/// This station's own journals: how far each goes here, and up to which line the shop is known to
/// hold it.
#[derive(Debug, Default)]
pub(crate) struct KeptLines {
    journals: Mutex<OwnJournals>,
    /// Woken when one goes further.
    pub woken: Notify,
}

#[derive(Debug, Default)]
struct OwnJournals {
    all: BTreeMap<JobId, OwnJournal>,
    waiting: u64,
}

#[derive(Debug, Clone, Copy, Default)]
struct OwnJournal {
    end: u64,
    sent: u64,
}

impl OwnJournals {
    fn change(&mut self, job: &JobId, change: impl FnOnce(&mut OwnJournal)) {
        let mut journal = self.all.get(job).copied().unwrap_or_default();
        self.waiting -= journal.end.saturating_sub(journal.sent);
        change(&mut journal);
        self.waiting += journal.end.saturating_sub(journal.sent);
        match self.all.get_mut(job) {
            Some(known) => *known = journal,
            None => drop(self.all.insert(job.clone(), journal)),
        }
    }
}

impl KeptLines {
    fn journals(&self) -> MutexGuard<'_, OwnJournals> {
        self.journals.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn of(&self, job: &JobId) -> OwnJournal {
        self.journals().all.get(job).copied().unwrap_or_default()
    }

    /// The own journal of a job goes up to that line. A lower number than before changes nothing.
    pub fn reached(&self, job: &JobId, number: u64) {
        let further = |journal: &mut OwnJournal| journal.end = number.max(journal.end);
        self.journals().change(job, further);
        self.woken.notify_one();
    }

    /// The shop holds the own journal of a job up to that line, and no further as far as is known.
    pub fn sent_up_to(&self, job: &JobId, number: u64) {
        self.journals().change(job, |journal| journal.sent = number);
    }

    /// Forgets all journals, as this station is another one now.
    pub fn forget(&self) {
        *self.journals() = OwnJournals::default();
    }

    /// The own journals.
    pub fn all(&self) -> Vec<JobId> {
        self.journals().all.keys().cloned().collect()
    }

    /// Where a journal ends here; 0 where there is none.
    pub fn end(&self, job: &JobId) -> u64 {
        self.of(job).end
    }

    /// Up to which line the shop is known to hold a journal; 0 where it holds nothing.
    pub fn sent(&self, job: &JobId) -> u64 {
        self.of(job).sent
    }

    /// The journals of which lines are unsent, each with the last line that was sent.
    pub fn unsent(&self) -> Vec<(JobId, u64)> {
        let journals = self.journals();
        if journals.waiting == 0 {
            return Vec::new();
        }
        let unsent = |(_, journal): &(&JobId, &OwnJournal)| journal.end > journal.sent;
        let all = journals.all.iter().filter(unsent);
        all.map(|(job, journal)| (job.clone(), journal.sent))
            .collect()
    }

    /// The first journal of which the shop holds lines, behind that of a job.
    pub fn next_sent(&self, behind: Option<&JobId>) -> Option<JobId> {
        let journals = self.journals();
        let from = (behind.map_or(Unbounded, Excluded), Unbounded);
        let mut all = journals.all.range::<JobId, _>(from);
        let sent = all.find(|(_, journal)| journal.sent > 0);
        sent.map(|(job, _)| job.clone())
    }

    /// How many lines the shop is not known to hold.
    pub fn waiting(&self) -> u64 {
        self.journals().waiting
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_waits_is_counted_whatever_is_told_in_which_order() {
        let kept = KeptLines::default();
        let job = |digit: &str| JobId::parse(&digit.repeat(64)).unwrap();
        kept.reached(&job("a"), 5);
        kept.reached(&job("a"), 3);
        kept.reached(&job("b"), 2);
        assert_eq!(kept.waiting(), 7);
        kept.sent_up_to(&job("a"), 4);
        kept.sent_up_to(&job("c"), 9);
        assert_eq!(kept.waiting(), 3);
        assert_eq!(kept.unsent(), [(job("a"), 4), (job("b"), 0)]);
        assert_eq!(kept.next_sent(None), Some(job("a")));
        assert_eq!(kept.next_sent(Some(&job("a"))), Some(job("c")));
        assert_eq!(kept.next_sent(Some(&job("c"))), None);
        // The shop was restored from an older copy.
        kept.sent_up_to(&job("a"), 0);
        assert_eq!(kept.waiting(), 7);
        kept.forget();
        assert_eq!((kept.waiting(), kept.end(&job("a"))), (0, 0));
    }
}
