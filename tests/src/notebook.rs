//! A builder who enters values one after the other and crosses out what was answered. What he
//! crossed out must be in the record afterwards, once.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::SystemTime;

use serde_json::{Value, json};

use crate::api::Api;
use crate::program::Daemon;

/// A reading that was sent.
#[derive(Debug, Clone, PartialEq)]
struct Sent {
    key: String,
    body: Value,
}

/// The builder: what he sent, what was acknowledged, and what he does not know of.
#[derive(Debug, Default)]
pub struct Notebook {
    sent: usize,
    /// The number that was answered, by the value, which no two readings share.
    pub acknowledged: BTreeMap<String, u64>,
    /// What he does not know of, in the order in which it was sent.
    open: Vec<Sent>,
    /// What was answered since the last [`Notebook::ask_again`], and when.
    heard: Vec<(SystemTime, Sent)>,
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

    /// Enters readings until the daemon is gone, or cannot keep any more; counts what was
    /// acknowledged.
    pub fn write(&mut self, api: &Api, count: &AtomicUsize) {
        loop {
            let next = self.next();
            self.open.push(next.clone());
            match api.post("readings/enter", &next.key, &next.body) {
                Ok(answer) if answer.status < 500 => {
                    self.heard.push((SystemTime::now(), next.clone()));
                    self.cross_out(&next, &answer.good());
                }
                // He does not know whether it was kept.
                Ok(_) | Err(_) => return,
            }
            count.fetch_add(1, Ordering::Release);
        }
    }

    fn cross_out(&mut self, sent: &Sent, answer: &Value) {
        let id = answer["id"].as_u64().expect("a number");
        let value = sent.body["value"].as_str().expect("text").to_owned();
        self.acknowledged.insert(value, id);
        self.open.retain(|open| open != sent);
    }

    /// Takes back what was answered at this moment or later: nobody was there any more to hear it.
    pub fn heard_nothing_since(&mut self, moment: SystemTime) {
        let late = self.heard.iter().filter(|(at, _)| *at >= moment);
        let late: Vec<Sent> = late.map(|(_, sent)| sent.clone()).collect();
        for sent in &late {
            let value = sent.body["value"].as_str().expect("text");
            self.acknowledged.remove(value);
        }
        self.open.splice(0..0, late);
    }

    /// Sends once more what he does not know of, by the same key.
    ///
    /// # Panics
    /// Where the daemon does not keep it.
    pub fn ask_again(&mut self, api: &Api) {
        self.heard.clear();
        for open in self.open.clone() {
            let answer = api
                .post("readings/enter", &open.key, &open.body)
                .expect("the daemon answers");
            self.cross_out(&open, &answer.good());
        }
    }

    /// Holds the job against what was crossed out; `when` says which time it is.
    ///
    /// # Panics
    /// Where a reading that was acknowledged is not there once, or one is there that was not sent.
    #[track_caller]
    pub fn hold_against(&self, daemon: &Daemon, when: &str) {
        let shown = daemon.api.get("jobs/show?job=v8").good();
        let mut found = BTreeMap::new();
        for reading in shown["readings"].as_array().expect("readings") {
            let value = reading["figure"]["value"].as_f64().expect("a number");
            let id = reading["id"].as_u64().expect("a number");
            let twice = found.insert(format!("{value:.4} cc"), id);
            assert_eq!(twice, None, "{value} is there twice, {when}");
            assert_eq!(reading["state"], "final");
        }
        assert_eq!(found, self.acknowledged, "{when}");
        let verified = daemon.api.get("jobs/verify?job=v8").good();
        assert_eq!(verified["broken"], Value::Null, "{when}");
    }
}
