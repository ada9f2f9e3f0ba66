//! Which requests were kept, so that a repeated one is not kept twice.

use std::collections::HashMap;

use jiff::Timestamp;

use crate::store::job_error::{Ack, JobError, LONGEST_KEY};
use crate::store::line::JournalEntry;

/// The facts that were kept, by the key of their request.
#[derive(Debug, Default)]
pub(crate) struct Keys {
    uses: HashMap<String, KeyUse>,
    /// The number before the journal's first one in the view.
    pub(crate) base: u64,
}

/// What a key was used for.
#[derive(Debug, Clone)]
pub(crate) struct KeyUse {
    /// BLAKE3 of the fact.
    pub print: blake3::Hash,
    /// Its number in the journal.
    pub seq: u64,
    /// The number before the first one of that journal in the view, where it is of a station that this
    /// one was before.
    pub base: Option<u64>,
    /// How many numbers it took.
    pub numbers: u64,
    /// When it was written.
    pub at: Timestamp,
}

impl Keys {
    /// Takes in an entry as it is read from a journal.
    pub(crate) fn note(&mut self, entry: &JournalEntry) {
        self.note_of(None, entry);
    }

    /// Takes in an entry of a station that this one was before: `base` is the number before that
    /// station's first one in the view. What this station kept itself comes first.
    pub(crate) fn note_before(&mut self, base: u64, entry: &JournalEntry) {
        let own = entry
            .key
            .as_ref()
            .is_some_and(|key| self.uses.contains_key(key));
        if !own {
            self.note_of(Some(base), entry);
        }
    }

    fn note_of(&mut self, base: Option<u64>, entry: &JournalEntry) {
        if let (Some(key), Some(print)) = (&entry.key, entry.print) {
            let (seq, at) = (entry.seq, entry.at);
            self.keep(
                key,
                KeyUse {
                    print,
                    seq,
                    base,
                    numbers: entry.fact.numbers(),
                    at,
                },
            );
        }
    }

    /// Takes in what was kept just now.
    pub(crate) fn keep(&mut self, key: &str, used: KeyUse) {
        self.uses.insert(key.to_owned(), used);
    }

    /// Forgets a key whose fact was not kept after all.
    pub(crate) fn forget(&mut self, key: &str) {
        self.uses.remove(key);
    }

    /// The number of the fact that was kept under a key.
    pub(crate) fn seq(&self, key: &str) -> Option<u64> {
        self.uses.get(key).map(|used| self.number(used))
    }

    fn number(&self, used: &KeyUse) -> u64 {
        used.base.unwrap_or(self.base) + used.seq
    }

    /// The acknowledgement that the same request got before.
    pub(crate) fn repeated(&self, key: &str, print: blake3::Hash) -> Result<Option<Ack>, JobError> {
        if key.is_empty() || key.len() > LONGEST_KEY {
            return Err(JobError::BadKey(key.len()));
        }
        match self.uses.get(key) {
            None => Ok(None),
            Some(used) if used.print == print => Ok(Some(Ack {
                seq: self.number(used),
                numbers: used.numbers,
                at: used.at,
                repeated: true,
                touched: Vec::new(),
            })),
            Some(used) => Err(JobError::KeyReused {
                key: key.to_owned(),
                seq: self.number(used),
            }),
        }
    }
}
