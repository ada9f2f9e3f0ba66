//! A power cut in the middle of an evening's work.
//!
//! A builder enters the notebook of a job, value after value; each is answered with its number,
//! and he crosses it out in the notebook. The power goes. What he crossed out must be there when
//! it is back, once, and so must be nothing that he was told had failed. The value that was just
//! on its way may be there or not; entered again by the same request, it must be there once.
//!
//! The daemon is killed with SIGKILL fifty times at seeded moments while readings are entered
//! over its API. What survives a real power cut is the store's own test, on a disk that fails on
//! purpose; this one holds the whole executable against the promise.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;

use benchhand_tests::api::Api;
use benchhand_tests::program::Daemon;
use benchhand_tests::shop::Shop;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use serde_json::{Value, json};

const SEED: u64 = 20260302;
const KILLS: usize = 100;

/// A reading that was sent.
#[derive(Debug, Clone, PartialEq)]
struct Sent {
    key: String,
    body: Value,
}

/// The builder: what he sent, what was acknowledged, and what he does not know of.
#[derive(Debug, Default)]
struct Notebook {
    sent: usize,
    /// The number that was answered, by the value, which no two readings share.
    acknowledged: BTreeMap<String, u64>,
    open: Option<Sent>,
}

impl Notebook {
    fn next(&mut self) -> Sent {
        self.sent += 1;
        let n = self.sent;
        Sent {
            key: format!("notebook-{n}"),
            body: json!({
                "job": "v8",
                "spot": format!("chamber/{}", n % 8 + 1),
                // Within a cc of each other: no value looks like a slip of another.
                "value": format!("{:.4} cc", 64.0 + n as f64 * 1e-4),
            }),
        }
    }

    /// Enters readings until the daemon is gone; counts what was acknowledged.
    fn write(&mut self, api: &Api, count: &AtomicUsize) {
        loop {
            let next = self.next();
            self.open = Some(next.clone());
            match api.post("readings/enter", &next.key, &next.body) {
                Ok(answer) => self.cross_out(&next, &answer.good()),
                Err(_) => return,
            }
            count.fetch_add(1, Ordering::Release);
        }
    }

    fn cross_out(&mut self, sent: &Sent, answer: &Value) {
        let id = answer["id"].as_u64().expect("a number");
        let value = sent.body["value"].as_str().expect("text").to_owned();
        self.acknowledged.insert(value, id);
        self.open = None;
    }

    /// Sends once more what he does not know of, by the same key.
    fn ask_again(&mut self, api: &Api) {
        if let Some(open) = self.open.take() {
            let answer = api
                .post("readings/enter", &open.key, &open.body)
                .expect("the daemon answers");
            self.cross_out(&open, &answer.good());
        }
    }

    fn hold_against(&self, daemon: &Daemon, kill: usize) {
        let shown = daemon.api.get("jobs/show?job=v8").good();
        let mut found = BTreeMap::new();
        for reading in shown["readings"].as_array().expect("readings") {
            let value = reading["figure"]["value"].as_f64().expect("a number");
            let id = reading["id"].as_u64().expect("a number");
            let twice = found.insert(format!("{value:.4} cc"), id);
            assert_eq!(
                twice, None,
                "{value} is there twice, seed {SEED}, kill {kill}"
            );
            assert_eq!(reading["state"], "final");
        }
        assert_eq!(found, self.acknowledged, "seed {SEED}, kill {kill}");
        let verified = daemon.api.get("jobs/verify?job=v8").good();
        assert_eq!(verified["broken"], Value::Null, "seed {SEED}, kill {kill}");
    }
}

#[test]
fn a_daemon_killed_fifty_times_keeps_each_acknowledged_reading_once() {
    let shop = Shop::with_job();
    let mut dice = ChaCha8Rng::seed_from_u64(SEED);
    let mut notebook = Notebook::default();
    let mut when = BTreeSet::new();
    for kill in 0..KILLS {
        let daemon = shop.program.serve(&[]);
        notebook.ask_again(&daemon.api);
        notebook.hold_against(&daemon, kill);
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
    notebook.hold_against(&daemon, KILLS);
    assert!(when.len() > 10, "the moments were all alike: {when:?}");
    assert!(notebook.acknowledged.len() > KILLS);
}
