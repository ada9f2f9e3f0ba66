//! A power cut in the middle of an evening's work.
//!
//! A builder enters the notebook of a job, value after value; each is answered with its number,
//! and he crosses it out in the notebook. The power goes. What he crossed out must be there when
//! it is back, once, and so must be nothing that he was told had failed. The value that was just
//! on its way may be there or not; entered again by the same request, it must be there once.
//!
//! The daemon is killed with SIGKILL a hundred times at seeded moments while readings are entered
//! over its API. What survives a power cut is the store's own test, on a disk that fails on purpose,
//! and `power_cuts.rs`, on a file system that is cut off.

use std::collections::BTreeSet;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;

use benchhand_tests::notebook::Notebook;
use benchhand_tests::shop::Shop;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

const SEED: u64 = 20260302;

/// How often the daemon is killed: `BENCHHAND_KILLS`, or a hundred times.
fn kills() -> usize {
    let asked = std::env::var("BENCHHAND_KILLS").ok();
    asked.and_then(|n| n.parse().ok()).unwrap_or(100)
}

#[test]
fn a_daemon_killed_at_random_keeps_each_acknowledged_reading_once() {
    let shop = Shop::with_job();
    let mut dice = ChaCha8Rng::seed_from_u64(SEED);
    let mut notebook = Notebook::default();
    let mut when = BTreeSet::new();
    let kills = kills();
    for kill in 0..kills {
        let daemon = shop.program.serve(&[]);
        notebook.ask_again(&daemon.api);
        notebook.hold_against(&daemon, &format!("seed {SEED}, kill {kill}"));
        // After so many more readings, and somewhere within the time that one takes.
        let (readings, moment) = (dice.random_range(0..5), dice.random_range(0..4000));
        when.insert((readings, moment / 1000));
        let (api, count) = (daemon.api.clone(), AtomicUsize::new(0));
        std::thread::scope(|scope| {
            let writer = scope.spawn(|| notebook.write(&api, &count));
            while count.load(Ordering::Acquire) < readings && !writer.is_finished() {
                std::thread::yield_now();
            }
            // Not to wait for anything: this is the random moment.
            std::thread::sleep(Duration::from_micros(moment));
            daemon.kill();
        });
    }
    let daemon = shop.program.serve(&[]);
    notebook.ask_again(&daemon.api);
    notebook.hold_against(&daemon, &format!("seed {SEED}, after all kills"));
    assert!(when.len() > 10, "the moments were all alike: {when:?}");
    assert!(notebook.acknowledged.len() > kills);
}
