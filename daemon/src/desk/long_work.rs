//! How far the long works are that requests began, for whoever waits for them.
//!
//! A request that takes long may carry a name of its asker's own. As long as it is answered, another
//! request tells how far it is. A work without a name is done all the same, and nobody is told.
//! What the works do is not known here.

use std::collections::BTreeMap;
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use benchhand_wire::{HowFar, HowFarAnswer, LONGEST_WORK_NAME, Reason, Refusal, WorkUnderWay};

use super::{Answers, Desk};

/// How many works are followed at once; further ones are done without.
const FOLLOWED: usize = 64;

/// The works that are under way, by their names.
#[derive(Debug, Default)]
pub(super) struct LongWorks {
    by_name: Mutex<BTreeMap<String, Arc<WorkProgress>>>,
}

/// How far one work is.
#[derive(Debug, Default)]
pub(crate) struct WorkProgress {
    doing: Mutex<&'static str>,
    done: AtomicU64,
    total: AtomicU64,
}

/// A work that is under way until this is dropped.
#[derive(Debug)]
pub(super) struct FollowedWork<'a> {
    works: &'a LongWorks,
    name: Option<String>,
    progress: Arc<WorkProgress>,
}

impl LongWorks {
    /// Begins a work. One that has the name of another under way is not followed.
    ///
    /// # Errors
    /// Where it cannot be a name.
    pub(super) fn begin(&self, name: Option<&str>) -> Result<FollowedWork<'_>, Refusal> {
        let progress = Arc::new(WorkProgress::default());
        let mut works = self.works();
        let name = match name {
            Some(name) if name.is_empty() || name.chars().count() > LONGEST_WORK_NAME => {
                let found = format!("the name of the work has {} letters", name.chars().count());
                return Err(Refusal::new(Reason::BadInput, found)
                    .expected(format!("1 to {LONGEST_WORK_NAME}")));
            }
            Some(name) if works.len() < FOLLOWED && !works.contains_key(name) => {
                works.insert(name.to_owned(), Arc::clone(&progress));
                Some(name.to_owned())
            }
            _ => None,
        };
        Ok(FollowedWork {
            works: self,
            name,
            progress,
        })
    }

    fn works(&self) -> MutexGuard<'_, BTreeMap<String, Arc<WorkProgress>>> {
        // The map is whole whatever panicked.
        self.by_name.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl FollowedWork<'_> {
    /// Where the work tells how far it is.
    pub(super) fn progress(&self) -> &WorkProgress {
        &self.progress
    }
}

impl Drop for FollowedWork<'_> {
    fn drop(&mut self) {
        if let Some(name) = &self.name {
            self.works.works().remove(name);
        }
    }
}

impl WorkProgress {
    /// Another part of the work begins, of `total` bytes or pieces; 0 where nobody knows how many.
    pub(super) fn begins(&self, doing: &'static str, total: u64) {
        *self.doing.lock().unwrap_or_else(PoisonError::into_inner) = doing;
        self.done.store(0, Ordering::Relaxed);
        self.total.store(total, Ordering::Relaxed);
    }

    /// So much more is done.
    pub(super) fn add(&self, more: u64) {
        self.done.fetch_add(more, Ordering::Relaxed);
    }

    fn now(&self) -> WorkUnderWay {
        let total = self.total.load(Ordering::Relaxed);
        let done = self.done.load(Ordering::Relaxed);
        let doing = *self.doing.lock().unwrap_or_else(PoisonError::into_inner);
        WorkUnderWay {
            doing: doing.to_owned(),
            // Heads are read more than once.
            done: if total > 0 { done.min(total) } else { done },
            total,
        }
    }
}

/// Counts the bytes that are read from, or written to, what is inside.
#[derive(Debug)]
pub(super) struct Counted<'a, T> {
    inside: T,
    progress: &'a WorkProgress,
}

impl<'a, T> Counted<'a, T> {
    pub(super) fn new(inside: T, progress: &'a WorkProgress) -> Self {
        Counted { inside, progress }
    }
}

impl<T: Read> Read for Counted<'_, T> {
    fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
        let read = self.inside.read(to)?;
        self.progress.add(read as u64);
        Ok(read)
    }
}

impl<T: Write> Write for Counted<'_, T> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = self.inside.write(bytes)?;
        self.progress.add(written as u64);
        Ok(written)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.inside.flush()
    }
}

impl<T: Seek> Seek for Counted<'_, T> {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        self.inside.seek(to)
    }
}

impl Answers<HowFar> for Desk {
    fn answer(&self, ask: HowFar, _: Option<&str>) -> Result<HowFarAnswer, Refusal> {
        let under_way = self.works.works().get(&ask.work).map(|one| one.now());
        Ok(HowFarAnswer { under_way })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(works: &LongWorks, name: &str) -> Option<WorkUnderWay> {
        works.works().get(name).map(|one| one.now())
    }

    #[test]
    fn a_work_is_told_of_as_long_as_it_is_under_way() {
        let works = LongWorks::default();
        let work = works.begin(Some("pack 1")).expect("a name");
        work.progress().begins("writing it", 10);
        let mut file = Counted::new(Vec::new(), work.progress());
        file.write_all(b"abcd").expect("written");
        let now = told(&works, "pack 1").expect("under way");
        assert_eq!((&*now.doing, now.done, now.total), ("writing it", 4, 10));
        drop(work);
        assert_eq!(told(&works, "pack 1"), None);
    }

    #[test]
    fn a_second_work_of_a_name_does_not_end_the_first() {
        let works = LongWorks::default();
        let first = works.begin(Some("pack")).expect("a name");
        first.progress().begins("writing it", 7);
        drop(works.begin(Some("pack")).expect("done all the same"));
        assert_eq!(told(&works, "pack").expect("under way").total, 7);
    }

    #[test]
    fn names_and_their_number_are_bounded() {
        let works = LongWorks::default();
        assert!(works.begin(Some("")).is_err());
        assert!(works.begin(Some(&"a".repeat(65))).is_err());
        let all: Vec<_> = (0..100)
            .map(|n| works.begin(Some(&n.to_string())).expect("done"))
            .collect();
        assert_eq!(works.works().len(), FOLLOWED);
        drop(all);
        assert_eq!(works.works().len(), 0);
    }
}
