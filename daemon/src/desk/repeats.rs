//! A change that is requested again under the same write key is not made again.
//!
//! A client whose connection broke cannot know whether its change was made; it repeats the request
//! under the same key and gets the first answer. A journal knows the keys of its own facts for
//! good. This memory also covers changes that no journal keeps (a control, a route's start), and
//! changes that would come out differently the second time (a zero, read live), as long as the
//! daemon runs.

use std::collections::{HashMap, VecDeque};
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};

use benchhand_wire::{Reason, Refusal};
use serde_json::Value;

/// How many answers are remembered; a client repeats within seconds or never.
const REMEMBERED: usize = 1024;

/// The answers of the last changes, by key.
#[derive(Debug, Default)]
pub(super) struct Repeats {
    known: Mutex<Known>,
    changed: Condvar,
}

#[derive(Debug, Default)]
struct Known {
    by_key: HashMap<String, (blake3::Hash, Option<Value>)>,
    /// Keys of changes that were made, oldest first.
    made: VecDeque<String>,
}

impl Repeats {
    /// Makes the change that a request asks for, of which `print` is the hash (of its path and body), or returns the answer that it
    /// got before. A change that was refused may be requested again.
    ///
    /// # Errors
    /// What `make` refuses, or that the key was used for another request.
    pub(super) fn once(
        &self,
        key: &str,
        print: blake3::Hash,
        make: Box<dyn FnOnce() -> Result<Value, Refusal> + '_>,
    ) -> Result<Value, Refusal> {
        let mut known = self.known();
        loop {
            match known.by_key.get(key) {
                None => break,
                Some((other, _)) if *other != print => {
                    return Err(Refusal::new(
                        Reason::Conflict,
                        format!("the write key {key:?} was used before for another request"),
                    )
                    .todo("give each request a key of its own"));
                }
                Some((_, Some(answer))) => return Ok(answer.clone()),
                // Another thread is making the change just now.
                Some((_, None)) => {
                    known = self
                        .changed
                        .wait(known)
                        .unwrap_or_else(PoisonError::into_inner);
                }
            }
        }
        known.by_key.insert(key.to_owned(), (print, None));
        drop(known);
        let making = Making { repeats: self, key };
        let answer = make();
        if let Ok(answer) = &answer {
            making.made(print, answer.clone());
        }
        answer
    }

    fn known(&self) -> MutexGuard<'_, Known> {
        self.known.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// A change that is being made. However it ends, threads that wait for it are woken.
struct Making<'a> {
    repeats: &'a Repeats,
    key: &'a str,
}

impl Making<'_> {
    fn made(&self, print: blake3::Hash, answer: Value) {
        let mut known = self.repeats.known();
        let key = self.key.to_owned();
        known.by_key.insert(key.clone(), (print, Some(answer)));
        known.made.push_back(key);
        if known.made.len() > REMEMBERED
            && let Some(oldest) = known.made.pop_front()
        {
            known.by_key.remove(&oldest);
        }
    }
}

impl Drop for Making<'_> {
    fn drop(&mut self) {
        let mut known = self.repeats.known();
        if known
            .by_key
            .get(self.key)
            .is_some_and(|(_, answer)| answer.is_none())
        {
            known.by_key.remove(self.key);
        }
        drop(known);
        self.repeats.changed.notify_all();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::{AtomicU32, Ordering};

    #[test]
    fn a_change_asked_for_by_many_at_once_is_made_once() {
        let (repeats, made) = (Repeats::default(), AtomicU32::new(0));
        let answers: Vec<Value> = std::thread::scope(|scope| {
            let ask = || {
                repeats.once(
                    "k",
                    blake3::hash(b"type 64.2 cc"),
                    Box::new(|| Ok(Value::from(made.fetch_add(1, Ordering::Relaxed)))),
                )
            };
            let asking: Vec<_> = (0..8).map(|_| scope.spawn(ask)).collect();
            asking
                .into_iter()
                .map(|a| a.join().unwrap().unwrap())
                .collect()
        });
        assert_eq!(made.into_inner(), 1);
        assert!(answers.iter().all(|a| *a == answers[0]));
    }

    #[test]
    fn a_refused_change_can_be_asked_for_again_and_a_key_is_good_for_one_request() {
        let repeats = Repeats::default();
        let busy = || Err(Refusal::new(Reason::Conflict, "it does not rest"));
        assert!(
            repeats
                .once("k", blake3::hash(b"zero"), Box::new(busy))
                .is_err()
        );
        assert_eq!(
            repeats.once("k", blake3::hash(b"zero"), Box::new(|| Ok(7.into()))),
            Ok(7.into())
        );
        let other = repeats.once("k", blake3::hash(b"check"), Box::new(|| Ok(8.into())));
        assert_eq!(other.unwrap_err().reason, Reason::Conflict);
    }

    #[test]
    fn the_oldest_answers_are_forgotten() {
        let repeats = Repeats::default();
        for n in 0..2 * REMEMBERED {
            repeats
                .once(
                    &n.to_string(),
                    blake3::hash(b"x"),
                    Box::new(|| Ok(n.into())),
                )
                .unwrap();
        }
        assert_eq!(repeats.known().by_key.len(), REMEMBERED);
        assert_eq!(
            repeats.once("0", blake3::hash(b"x"), Box::new(|| Ok(9.into()))),
            Ok(9.into())
        );
    }
}
