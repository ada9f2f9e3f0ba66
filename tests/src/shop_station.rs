//! Stations of a shop, each a data folder with a daemon of its own.

use std::time::{Duration, Instant};

use benchhand_testbed::postgres::PostgresServer;
use serde_json::{Value, json};

use crate::api::Api;
use crate::program::Daemon;
use crate::shop::Shop;

/// How long the stations may take until all have all.
const PATIENCE: Duration = Duration::from_secs(150);

/// A station: its folder and its daemon.
#[derive(Debug)]
pub struct Station {
    /// Its folder.
    pub shop: Shop,
    /// Its daemon; `None` while it is off.
    pub daemon: Option<Daemon>,
}

impl Station {
    /// Starts the daemon of a folder.
    pub fn start(shop: Shop) -> Station {
        let daemon = Some(shop.program.serve(&[]));
        Station { shop, daemon }
    }

    /// Its API.
    ///
    /// # Panics
    /// While it is off.
    #[track_caller]
    pub fn api(&self) -> &Api {
        &self.daemon.as_ref().expect("it runs").api
    }

    /// Joins the shop on a server as a role.
    ///
    /// # Panics
    /// Where it is not let in.
    #[track_caller]
    pub fn join(&self, server: &PostgresServer, role: &str) {
        let body = json!({"url": server.url(role, "shop"), "name": format!("the {role} stand")});
        let joined = self.api().post("shop/join", &format!("join-{role}"), &body);
        let joined = joined.expect("it answers").good();
        assert!(joined["letter"].is_string(), "{joined}");
    }

    /// Kills its daemon and starts it again.
    pub fn kill(&mut self) {
        self.daemon.take().expect("it runs").kill();
        self.daemon = Some(self.shop.program.serve(&[]));
    }

    /// Enters a value that no other has, and gives it once it is acknowledged.
    ///
    /// # Panics
    /// Where it is not.
    #[track_caller]
    pub fn enter(&self, number: usize) -> String {
        assert!(enter(self.api(), number), "{number} is acknowledged");
        value(number)
    }

    /// The job, once it is known here.
    pub fn job(&self) -> Option<Value> {
        let answer = self.api().get("jobs/show?job=v8");
        (answer.status == 200).then(|| answer.json())
    }

    /// Every reading of the job as it stands here, each value as it was entered.
    pub fn values(&self) -> Vec<String> {
        let Some(shown) = self.job() else {
            return Vec::new();
        };
        let all = shown["readings"].as_array().cloned().unwrap_or_default();
        let value = |reading: &Value| reading["figure"]["value"].as_f64().expect("a number");
        all.iter()
            .map(|reading| format!("{:.4} cc", value(reading)))
            .collect()
    }

    /// How it stands to the shop.
    pub fn state(&self) -> Value {
        self.api().get("shop").good()
    }
}

/// The value of a reading, which no other has.
pub fn value(number: usize) -> String {
    format!("{:.4} cc", 64.0 + number as f64 * 1e-4)
}

/// Enters a reading under a key of its own. Says whether it was acknowledged: an answer that did not
/// come may be one to a reading that is kept.
///
/// # Panics
/// Where it was refused.
pub fn enter(api: &Api, number: usize) -> bool {
    let spot = format!("chamber/{}", number % 8 + 1);
    let body = json!({"job": "v8", "spot": spot, "value": value(number), "sure": true});
    let entered = api.post("readings/enter", &format!("entry-{number}"), &body);
    entered.is_ok_and(|answer| {
        assert_eq!(answer.status, 200, "{}", answer.body);
        true
    })
}

/// Asks again and again until it holds; the stations tell nobody when they have all.
/// # Panics
/// Where it does not hold in time.
#[track_caller]
pub fn until(what: &str, stations: &[Station], holds: impl Fn() -> bool) {
    let end = Instant::now() + PATIENCE;
    while !holds() {
        if Instant::now() > end {
            let states: Vec<Value> = stations.iter().map(Station::state).collect();
            panic!("not {what} in time: {states:#?}");
        }
        std::thread::sleep(Duration::from_millis(100));
    }
}
