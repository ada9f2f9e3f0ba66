//! What is made of a view once, and when it is made anew.

use std::any::Any;

use crate::store::fact::Fact;
use crate::store::made::MadeOnce;
use crate::store::view::JobView;

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
        if let Some(held) = self.made.held() {
            return Ok(held);
        }
        let made: T = make()?;
        self.made.hold(made.clone());
        Ok(made)
    }

    /// Forgets what was made, where `fact` may change it.
    pub(super) fn make_anew_after(&mut self, fact: &Fact) {
        let changes = match fact {
            Fact::Opened(_)
            | Fact::Joined(_)
            | Fact::Input(_)
            | Fact::Zero(_)
            | Fact::Check(_)
            | Fact::Plate(_)
            | Fact::Leak(_)
            | Fact::Cut(_)
            | Fact::CutWithdrawn(_)
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
            | Fact::Ordered(_)
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
