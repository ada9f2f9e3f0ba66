//! Lets a process that runs for weeks keep its memory small.
//!
//! GNU's allocator keeps apart what each thread frees, in up to eight parts for each processor. So a
//! daemon of many threads holds more from hour to hour, though what it uses stays the same. The
//! allocator reads how many parts it may make before `main` begins, so this process starts itself
//! anew, once, under the same number, with that said.

/// How many parts the allocator may make: few enough that memory stays flat over a shift, and one
/// more than one, so that a thread seldom waits for another.
#[cfg(all(target_os = "linux", target_env = "gnu"))]
const MOST: &str = "2";

/// The allocator's own variable.
#[cfg(all(target_os = "linux", target_env = "gnu"))]
const VARIABLE: &str = "MALLOC_ARENA_MAX";

/// Starts this process anew with few parts, where nobody said how many. Where that fails the process
/// goes on as it is.
///
/// Nothing may have been written, and no thread started, before this is called.
pub(crate) fn few() {
    #[cfg(all(target_os = "linux", target_env = "gnu"))]
    {
        use std::os::unix::process::CommandExt as _;

        if std::env::var_os(VARIABLE).is_some() {
            return;
        }
        let Ok(this) = std::env::current_exe() else {
            return;
        };
        let mut args = std::env::args_os();
        let mut anew = std::process::Command::new(this);
        if let Some(name) = args.next() {
            anew.arg0(name);
        }
        let failed = anew.args(args).env(VARIABLE, MOST).exec();
        tracing::debug!("memory may grow over hours: {failed}");
    }
}
