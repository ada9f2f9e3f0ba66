//! Work whose asker is gone is given up, as long as it has not begun to write.

use std::cell::RefCell;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use benchhand_wire::{Reason, Refusal};

thread_local! {
    /// Becomes true when the asker of this thread's work is gone.
    static GONE: RefCell<Arc<AtomicBool>> = RefCell::default();
}

/// Does work for an asker; `gone` becomes true when it is gone.
pub(crate) fn unless<T>(gone: Arc<AtomicBool>, work: impl FnOnce() -> T) -> T {
    /// Puts back what was there before, however the work ends.
    struct Before(Arc<AtomicBool>);
    impl Drop for Before {
        fn drop(&mut self) {
            GONE.with(|gone| std::mem::swap(&mut *gone.borrow_mut(), &mut self.0));
        }
    }
    let _before = Before(GONE.with(|own| own.replace(gone)));
    work()
}

/// What becomes true when the asker is gone.
pub(crate) fn gone() -> Arc<AtomicBool> {
    GONE.with(|gone| Arc::clone(&gone.borrow()))
}

/// Ends work whose asker is gone. To be called before anything is written.
///
/// # Errors
/// Where the asker is gone.
pub(crate) fn check() -> Result<(), Refusal> {
    if gone().load(Ordering::Relaxed) {
        return Err(Refusal::new(
            Reason::Unavailable,
            "whoever asked is gone; nothing was kept",
        ));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn work_is_given_up_when_its_asker_goes_and_the_next_is_not() {
        let gone = Arc::new(AtomicBool::new(false));
        unless(Arc::clone(&gone), || {
            assert!(check().is_ok());
            gone.store(true, Ordering::Relaxed);
            assert!(check().is_err());
        });
        assert!(check().is_ok());
    }
}
