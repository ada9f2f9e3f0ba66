//! Reads many jobs at once, on as many threads as the machine has cores, and hands on the results
//! one by one.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc::sync_channel;

/// The most threads: reading is the disk's work as much as the cores'.
const MOST: usize = 4;

/// Calls `read` for every name, on several threads, and `take` with every result on this one, in
/// the order in which they come. Few results wait at any moment, so memory does not grow with
/// the number of jobs.
///
/// # Errors
/// The first error of `take`; what is read then already is dropped.
pub(crate) fn each_job<T: Send, E>(
    names: &[String],
    read: impl Fn(&str) -> T + Sync,
    mut take: impl FnMut(&str, T) -> Result<(), E>,
) -> Result<(), E> {
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let threads = cores.min(MOST).min(names.len());
    if threads <= 1 {
        return names.iter().try_for_each(|name| take(name, read(name)));
    }
    let next = AtomicUsize::new(0);
    let (send, read_already) = sync_channel(threads);
    std::thread::scope(|scope| {
        for _ in 0..threads {
            let (send, next, read) = (send.clone(), &next, &read);
            scope.spawn(move || {
                while let Some(name) = names.get(next.fetch_add(1, Ordering::Relaxed)) {
                    // Nobody listens any more where `take` failed.
                    if send.send((name, read(name))).is_err() {
                        break;
                    }
                }
            });
        }
        drop(send);
        read_already
            .into_iter()
            .try_for_each(|(name, one)| take(name, one))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_job_is_taken_once_and_a_failure_ends_it() {
        let names: Vec<String> = (0..50).map(|n| format!("job-{n:02}")).collect();
        let mut taken = Vec::new();
        let done: Result<(), ()> = each_job(&names, str::len, |name, length| {
            assert_eq!(length, 6);
            taken.push(name.to_owned());
            Ok(())
        });
        taken.sort();
        assert_eq!((done, taken), (Ok(()), names.clone()));
        let mut left = 3;
        let failed = each_job(&names, str::len, |_, _| {
            left -= 1;
            if left == 0 {
                Err("the disk is full")
            } else {
                Ok(())
            }
        });
        assert_eq!((failed, left), (Err("the disk is full"), 0));
    }
}
