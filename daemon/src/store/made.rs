//! A place in a view for one thing that is made of its facts and holds for many of them.
//!
//! What it is, the store does not know. Copies of a view share the place, so the thing is made once
//! for all of them. A fact that it may rest on gives the view a new, empty place.

use std::any::Any;
use std::sync::{Arc, OnceLock};

/// The place; equal to every other, since what it holds follows from the facts.
#[derive(Debug, Clone, Default)]
pub(crate) struct MadeOnce(Arc<OnceLock<Box<dyn Any + Send + Sync>>>);

impl PartialEq for MadeOnce {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

impl MadeOnce {
    /// What is held, if it is of this type.
    pub(super) fn held<T: Any + Clone>(&self) -> Option<T> {
        self.0
            .get()
            .and_then(|held| held.downcast_ref::<T>())
            .cloned()
    }

    /// Holds what was made, where nothing is held yet: another thread may have made the same.
    pub(super) fn hold<T: Any + Send + Sync>(&self, made: T) {
        let _ = self.0.set(Box::new(made));
    }
}
