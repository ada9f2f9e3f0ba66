//! Lists without a thread, for a daemon that is stepped.

use std::sync::{Arc, Mutex, PoisonError};

use super::{Keeper, Lists};
use crate::store::changed::ChangedJobs;
use crate::store::index::{Index, MemoryIndex};
use crate::store::reader::Reader;

impl Lists {
    /// The same in memory and without a thread: each message is taken in by who sends it.
    pub(crate) fn inline(reader: Reader) -> Self {
        let notices = Arc::new(Mutex::new(Vec::new()));
        let keeper = Keeper {
            reader: reader.clone(),
            notices: Arc::clone(&notices),
        };
        let mut index = MemoryIndex::default();
        // An index in memory refuses nothing.
        let _ = keeper.reconcile(&mut index);
        let index: Box<dyn Index> = Box::new(index);
        let held = Mutex::new((index, ChangedJobs::default()));
        let take = move |message| {
            let (index, changed) = &mut *held.lock().unwrap_or_else(PoisonError::into_inner);
            keeper.take(index, changed, message);
            keeper.take_in(index, changed);
        };
        Self {
            reader,
            tell: Some(Box::new(take)),
            notices,
            thread: None,
            figuring: None,
        }
    }
}
