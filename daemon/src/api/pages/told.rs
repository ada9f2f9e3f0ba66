//! What became of a form, told on the page that comes after it.

use std::collections::VecDeque;
use std::sync::{Mutex, PoisonError};

use benchhand_pages::FormOutcome;

/// So many sentences wait at a time; the oldest goes first.
const MOST: usize = 64;

/// Sentences that wait for the page after a form, by the form's key. Text in an address could be
/// made up by whoever wrote a link, so the address carries the key alone.
#[derive(Debug, Default)]
pub(in crate::api) struct ToldLater {
    waiting: Mutex<VecDeque<(String, FormOutcome)>>,
}

impl ToldLater {
    /// Keeps a sentence for the page after the form with `key`.
    pub(super) fn put(&self, key: &str, told: FormOutcome) {
        let mut waiting = self.waiting.lock().unwrap_or_else(PoisonError::into_inner);
        waiting.retain(|(of, _)| of != key);
        waiting.push_back((key.to_owned(), told));
        if waiting.len() > MOST {
            waiting.pop_front();
        }
    }

    /// The sentence of the form with `key`, once.
    pub(super) fn take(&self, key: &str) -> Option<FormOutcome> {
        let mut waiting = self.waiting.lock().unwrap_or_else(PoisonError::into_inner);
        let at = waiting.iter().position(|(of, _)| of == key)?;
        waiting.remove(at).map(|(_, told)| told)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sentence_is_told_once_and_old_ones_make_room() {
        let later = ToldLater::default();
        for n in 0..=MOST {
            later.put(
                &n.to_string(),
                FormOutcome {
                    text: n.to_string(),
                },
            );
        }
        assert_eq!(later.take("0"), None, "the oldest made room");
        assert_eq!(later.take("5").map(|told| told.text).as_deref(), Some("5"));
        assert_eq!(later.take("5"), None);
    }
}
