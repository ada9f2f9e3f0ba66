//! What every form must have that was sent: a key, and a sender who may ask for what it changes.

use benchhand_wire::{Reason, Refusal};

use crate::api::guard::Door;
use crate::api::passes::Guest;

/// The most letters of a form's key.
const LONGEST_KEY: usize = 200;

/// Refuses a form without a key: its change could count twice.
pub(super) fn has_key(key: &str) -> Result<(), Refusal> {
    if key.is_empty() || key.len() > LONGEST_KEY {
        return Err(Refusal::new(Reason::BadInput, "the form has no key")
            .todo("load the page again and send the form from there"));
    }
    Ok(())
}

/// Refuses a sender who may not ask for `request`; `what` is told of, e.g. `this`.
pub(super) fn may_ask(guest: Guest, request: &str, what: &str) -> Result<(), Refusal> {
    match Door::may_ask(guest, request) {
        true => Ok(()),
        false => Err(not_for_tablets(what)),
    }
}

/// What a device that was let in is told of what stays on the machine itself.
pub(super) fn not_for_tablets(what: &str) -> Refusal {
    Refusal::new(Reason::Unauthorised, format!("{what} is not for a tablet"))
        .todo("do this on the machine that the gauges are plugged into")
}
