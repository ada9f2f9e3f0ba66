//! A place in a view for one thing that is made of its facts and holds for many of them.
//!
//! What it is, the store does not know. Copies of a view share the place, so the thing is made once
//! for all of them. A fact that it may rest on gives the view a new, empty place.

use std::any::Any;
use std::sync::{Arc, OnceLock};

use crate::store::fact::Fact;
use crate::store::view::JobView;

/// The place; equal to every other, since what it holds follows from the facts.
#[derive(Debug, Clone, Default)]
pub(crate) struct MadeOnce(Arc<OnceLock<Box<dyn Any + Send + Sync>>>);

impl PartialEq for MadeOnce {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

impl JobView {
    /// What `make` makes of the view, made once and then held until a fact other than a reading or
    /// a route's standing is kept. A failure is not held. `make` must look at nothing else, and
    /// every caller must ask for the same type.
    ///
    /// # Errors
    /// As `make`.
    pub(crate) fn made_once<T, E>(&self, make: impl FnOnce() -> Result<T, E>) -> Result<T, E>
    where
        T: Any + Send + Sync + Clone,
    {
        if let Some(held) = self.made.0.get().and_then(|held| held.downcast_ref::<T>()) {
            return Ok(held.clone());
        }
        let made = make()?;
        // Another thread may have made the same meanwhile.
        let _ = self.made.0.set(Box::new(made.clone()));
        Ok(made)
    }

    /// Forgets what was made, where `fact` may change it.
    pub(super) fn make_anew_after(&mut self, fact: &Fact) {
        let changes = match fact {
            Fact::Opened(_)
            | Fact::Input(_)
            | Fact::Zero(_)
            | Fact::Check(_)
            | Fact::Plate(_)
            | Fact::Leak(_)
            | Fact::Cut(_)
            | Fact::Condition(_)
            | Fact::Fitted(_) => true,
            Fact::Held(_)
            | Fact::Revised(_)
            | Fact::Final(_)
            | Fact::Asked(_)
            | Fact::Finalised { .. }
            | Fact::Voided { .. }
            | Fact::Restored { .. }
            | Fact::Kept { .. }
            | Fact::Moved { .. }
            | Fact::Import(_)
            | Fact::RouteStarted(_)
            | Fact::RouteAt(_)
            | Fact::SoFar(_)
            | Fact::RouteEnded { .. }
            | Fact::DamageKnown { .. }
            | Fact::Steered(_)
            | Fact::Stop {} => false,
        };
        if changes {
            self.made = MadeOnce::default();
        }
    }
}
